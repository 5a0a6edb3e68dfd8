"""What rests on particulars alone: overload, additional protection, kinds of residual current devices. Below, at, above."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from attrs import evolve
from live_visit import judge, read, row, rows, visit

from earthwright.outcomes.circuits import TestJudged
from earthwright.site.installation import Board, Circuit, Device, Supply
from earthwright.site.particulars import Paperwork, Particulars
from earthwright.site.visit import Visit

RCBO = Device("BS EN 61009", "B", 20.0, rcd_type="A", rcd_ma=30.0)
B = Device("BS EN 60898", "B", 32.0)
SOCKETS = Circuit("c1", "db1", use="sockets", device=RCBO, line_mm2=2.5, cpc_mm2=1.5)


def site(circuit: Circuit = SOCKETS, *events: Any, premises: str = "", kind: str = "periodic", **more: Any) -> Visit:
    paper = Paperwork(report=Particulars(premises=premises))
    return evolve(visit(*events, circuits=(circuit,), **more), kind=kind, paperwork=paper)


def of(test: str, circuit: Circuit, **more: Any) -> TestJudged:
    """The row of the circuit where it is decided, else the one of its board that says what is missing."""
    v = site(circuit, **more)
    return (rows(v, "c1", test) or rows(v, "db1", test))[0]


def none_of(test: str, circuit: Circuit, **more: Any) -> bool:
    v = site(circuit, **more)
    return not rows(v, "c1", test) and not rows(v, "db1", test)


def rated(rating: float, **more: Any) -> Circuit:
    return evolve(SOCKETS, device=evolve(RCBO, rating_a=rating), **more)


# ---- overload ----


@pytest.mark.parametrize(
    ("amps", "reference", "wiring", "outcome"),
    [
        (26.0, "C", "A", "meets"),
        (27.0, "C", "A", "meets"),  # table 4D5: 27 A
        (28.0, "C", "A", "fails"),
        (20.0, "A", "A", "not decided"),  # flat 20 A, round 18.5 A
        (18.5, "A", "A", "meets"),
        (21.0, "A", "A", "fails"),
        (13.5, "", "", "meets"),  # the worst of all methods
        (13.6, "", "", "not decided"),
        (31.0, "", "", "not decided"),
        (32.0, "", "", "fails"),  # more than the best of all methods
        (24.0, "B", "B", "meets"),  # table 4D1A, in conduit
        (25.0, "B", "B", "fails"),
        (29.0, "D", "F", "meets"),  # table 4D4A
        (30.0, "D", "F", "fails"),
        (33.0, "D", "G", "meets"),  # table 4E4A
        (34.0, "D", "G", "fails"),
    ],
)
def test_the_device_against_the_cable(amps: float, reference: str, wiring: str, outcome: str) -> None:
    found = of("overload", rated(amps, reference=reference, wiring=wiring))
    assert found.outcome == outcome
    assert found.of == ("db1" if outcome == "not decided" else "c1")


def test_a_32_a_device_on_2_5_mm2_warns_and_is_c2() -> None:
    found = of("overload", rated(32.0))
    assert "433.1.1" in found.words
    assert "from memory" in found.words
    assert [f.family for f in found.findings] == ["overload.cable"]
    assert found.findings[0].severity.value == "warning"


@pytest.mark.parametrize(
    ("more", "amps", "outcome"),
    [
        ({"grouped": 2}, 21.0, "meets"),  # 27 × 0.8 = 21.6
        ({"grouped": 2}, 21.6, "meets"),
        ({"grouped": 2}, 21.7, "fails"),
        ({"grouped": 1}, 27.0, "meets"),
        ({"ambient_c": 40.0}, 23.49, "meets"),  # 27 × 0.87
        ({"ambient_c": 40.0}, 23.5, "fails"),
        ({"in_insulation_mm": 100.0}, 21.06, "meets"),  # 27 × 0.78
        ({"in_insulation_mm": 100.0}, 21.1, "fails"),
        ({"grouped": 2, "ambient_c": 40.0, "in_insulation_mm": 100.0}, 14.6, "meets"),  # 14.66
        ({"grouped": 2, "ambient_c": 40.0, "in_insulation_mm": 100.0}, 14.7, "fails"),
    ],
)
def test_factors_as_entered(more: dict[str, Any], amps: float, outcome: str) -> None:
    assert of("overload", rated(amps, reference="C", wiring="A", **more)).outcome == outcome


def test_thermosetting_cable_bears_warm_air_better() -> None:
    swa = rated(44.5, line_mm2=4.0, wiring="G", reference="C", ambient_c=40.0)  # 49 × 0.91 = 44.59
    assert of("overload", swa).outcome == "meets"
    assert of("overload", evolve(swa, device=evolve(RCBO, rating_a=44.7))).outcome == "fails"
    by_heat = evolve(swa, wiring="", cpc="armour", conductor_c=90.0)
    assert of("overload", by_heat).outcome == "meets"


@pytest.mark.parametrize(("amps", "outcome"), [(19.0, "meets"), (19.575, "meets"), (19.6, "fails")])
def test_a_rewirable_fuse_takes_0_725_of_the_cable(amps: float, outcome: str) -> None:
    fuse = evolve(SOCKETS, device=Device("BS 3036", "", amps), reference="C", wiring="A")  # 27 × 0.725 = 19.575
    assert of("overload", fuse).outcome == outcome


@pytest.mark.parametrize(
    ("device", "line_mm2", "reference", "outcome"),
    [
        (B, 2.5, "C", "meets"),
        (B, 2.5, "A", "not decided"),  # round cable 18.5 A, flat 20 A
        (B, 2.5, "101", "fails"),  # 17 A
        (B, 2.5, "100", "meets"),  # 21 A
        (B, 2.5, "", "not decided"),
        (B, 1.5, "C", "fails"),
        (evolve(B, rating_a=33.0), 2.5, "C", "fails"),
        (Device("BS 3036", "", 30.0), 2.5, "C", "meets"),
        (evolve(B, rating_a=16.0), 1.5, "C", "meets"),  # one leg carries it all
    ],
)
def test_a_ring(device: Device, line_mm2: float, reference: str, outcome: str) -> None:
    ring = evolve(SOCKETS, kind="ring", device=device, line_mm2=line_mm2, reference=reference, wiring="A")
    assert of("overload", ring).outcome == outcome


@pytest.mark.parametrize(
    ("use", "design_a", "outcome", "said"),
    [
        ("sockets", None, "fails", "above it"),
        ("lighting", None, "fails", "above it"),
        ("distribution", None, "fails", "above it"),
        ("cooker", None, "not decided", "433.3.1"),
        ("shower", 27.0, "meets", "433.3.1"),
        ("shower", 27.1, "fails", "design current"),
        ("final", None, "not decided", "what the circuit serves"),
    ],
)
def test_a_load_of_its_own_may_keep_the_current_down(use: str, design_a: float | None, outcome: str, said: str) -> None:
    found = of("overload", rated(40.0, reference="C", wiring="A", use=use, design_a=design_a))
    assert found.outcome == outcome
    assert said in found.words


def test_a_design_current_between_the_methods_is_not_decided() -> None:
    assert "reference method" in of("overload", rated(40.0, wiring="A", use="shower", design_a=25.0)).words


def test_the_rated_current_of_an_adjustable_breaker_is_not_its_setting() -> None:
    mccb = evolve(SOCKETS, device=Device("BS EN 60947-2", "", 40.0), use="distribution", reference="C", wiring="A")
    assert "release" in of("overload", mccb).words


@pytest.mark.parametrize(
    "more",
    [
        {"wiring": "H"},
        {"material": "aluminium"},
        {"cpc": "sheath"},
        {"reference": "D", "wiring": "F", "ambient_c": 30.0},
    ],
)
def test_cables_that_are_not_in_the_data_are_said_once_for_the_board(more: dict[str, Any]) -> None:
    found = of("overload", rated(20.0, **more))
    assert (found.of, found.outcome) == ("db1", "not decided")
    assert "not in the data" in found.words
    assert not found.findings


def test_one_line_names_every_circuit_that_lacks_the_same() -> None:
    three = tuple(evolve(SOCKETS, id=f"c{n}") for n in (1, 2, 3))
    v = evolve(visit(circuits=(*three, evolve(SOCKETS, id="c4", line_mm2=None))), kind="periodic")
    (line,) = rows(v, "db1", "overload")
    assert "the reference method and the kind of wiring are not entered (c1, c2 and c3)" in line.words
    assert "the size of its line conductor is not entered (c4)" in line.words
    assert not line.findings
    words = [c.words for b in judge(v).boards for c in b.circuits]
    assert all("verload" in w for w in words)  # each circuit says it on its own page


def test_a_circuit_keeps_what_is_left_open_and_fails_are_no_line_of_the_board() -> None:
    v = site(rated(20.0))
    (board,) = judge(v).boards
    (circuit,) = board.circuits
    assert [t.test for t in circuit.left_open] == ["overload"]
    assert "overload" not in [t.test for t in circuit.tests]
    (board,) = judge(site(rated(32.0))).boards
    assert not board.tests
    assert not board.circuits[0].left_open


def test_nothing_entered_or_a_visit_that_tests_no_circuits_has_no_line() -> None:
    assert none_of("overload", Circuit("c1", "db1"))
    assert none_of("additional protection", Circuit("c1", "db1"))
    assert none_of("overload", rated(32.0), kind="bonding")
    assert not rows(site(supply=Supply("TN-S", line_csa_mm2=16.0, fuse_a=100.0), kind="bonding"), "origin", "overload")


@pytest.mark.parametrize(
    ("mm2", "fuse", "phases", "outcome"),
    [
        (16.0, 87.0, 1, "meets"),
        (16.0, 88.0, 1, "fails"),
        (16.0, 80.0, 3, "fails"),  # 79 A
        (25.0, 100.0, 1, "meets"),
        (25.0, 100.0, 3, "meets"),  # 104 A
        (0.5, 60.0, 1, "no rule"),
    ],
)
def test_tails_against_the_supply_fuse(mm2: float, fuse: float, phases: int, outcome: str) -> None:
    supply = Supply("TN-S", line_csa_mm2=mm2, fuse_a=fuse, phases=phases)
    found = row(site(supply=supply), "origin", "overload")
    assert found.outcome == outcome
    assert [f.severity.value for f in found.findings] == (["note"] if outcome == "fails" else [])
    new = row(site(supply=supply, kind="initial"), "origin", "overload")
    assert [f.severity.value for f in new.findings] == (["warning"] if outcome == "fails" else [])


def test_tails_without_their_fuse_are_not_held_against_anything() -> None:
    assert not rows(site(supply=Supply("TN-S", line_csa_mm2=16.0)), "origin", "overload")


# ---- additional protection ----

ADDITIONAL = "additional protection"


def guarded(ma: float | None, delay: str = "", **more: Any) -> Circuit:
    device = evolve(RCBO, rcd_ma=ma, rcd_type="A" if ma else "", rcd_delay=delay)
    return evolve(SOCKETS, device=device, **more)


@pytest.mark.parametrize(
    ("ma", "delay", "outcome"),
    [
        (10.0, "", "meets"),
        (30.0, "", "meets"),
        (30.1, "", "fails"),
        (100.0, "S", "fails"),
        (30.0, "150 ms", "fails"),
        (None, "", "fails"),
    ],
)
def test_30_ma_without_delay_for_sockets(ma: float | None, delay: str, outcome: str) -> None:
    found = of(ADDITIONAL, guarded(ma, delay))
    assert found.outcome == outcome
    assert "411.3.3" in found.words


@pytest.mark.parametrize(("amps", "asked"), [(32.0, True), (33.0, False), (63.0, False)])
def test_sockets_above_32_a_are_not_asked(amps: float, asked: bool) -> None:
    circuit = evolve(guarded(None), device=Device("BS EN 60898", "C", amps))
    assert none_of(ADDITIONAL, circuit) is not asked


def test_a_device_for_the_whole_board_counts_unless_it_is_delayed() -> None:
    v = site(guarded(None), boards=(Board("db1", rcd=Device(rcd_type="A", rcd_ma=30.0)),))
    assert row(v, "c1", ADDITIONAL).outcome == "meets"
    v = site(guarded(None), boards=(Board("db1", rcd=Device(rcd_type="A", rcd_ma=100.0, rcd_delay="S")),))
    assert "delayed (S)" in row(v, "c1", ADDITIONAL).words
    v = site(guarded(30.0), boards=(Board("db1", rcd=Device(rcd_type="A", rcd_ma=100.0, rcd_delay="S")),))
    assert row(v, "c1", ADDITIONAL).outcome == "meets"


@pytest.mark.parametrize(("kind", "loud"), [("periodic", "note"), ("initial", "warning"), ("minor works", "warning")])
def test_new_work_is_warned_of_and_old_noted(kind: str, loud: str) -> None:
    found = of(ADDITIONAL, guarded(None), kind=kind)
    assert [f.severity.value for f in found.findings] == [loud]


@pytest.mark.parametrize(
    ("premises", "outcome"),
    [
        ("domestic, rented", "fails"),
        ("flat above a shop", "fails"),
        ("HMO", "fails"),
        ("", "not decided"),
    ],
)
def test_lighting_in_dwellings(premises: str, outcome: str) -> None:
    lights = guarded(None, use="lighting", line_mm2=1.5)
    found = of(ADDITIONAL, lights, premises=premises)
    assert found.outcome == outcome
    assert ("411.3.4" in found.words) is (outcome == "fails")
    assert of(ADDITIONAL, evolve(lights, device=RCBO), premises=premises).outcome == "meets"


@pytest.mark.parametrize("premises", ["shop", "office", "public house", "care home", "non-domestic"])
def test_lighting_elsewhere_is_not_asked(premises: str) -> None:
    assert none_of(ADDITIONAL, guarded(None, use="lighting"), premises=premises)


@pytest.mark.parametrize(
    ("in_wall", "outcome"),
    [("under 50 mm", "fails"), ("50 mm or deeper", ""), ("behind earthed metal", ""), ("not in a wall", "")],
)
def test_cables_in_walls(in_wall: str, outcome: str) -> None:
    cooker = guarded(None, use="cooker", in_wall=in_wall, reference="102")
    if not outcome:
        assert none_of(ADDITIONAL, cooker)
    else:
        found = of(ADDITIONAL, cooker)
        assert found.outcome == outcome
        assert "522.6" in found.words


def test_a_cable_that_lies_in_a_wall_by_its_method_is_asked_about_once() -> None:
    assert "how deep" in of(ADDITIONAL, guarded(None, use="cooker", reference="A")).words
    assert none_of(ADDITIONAL, guarded(None, use="cooker", reference="C"))


@pytest.mark.parametrize("more", [{"location": "outdoors"}, {"name": "Garage sockets"}, {"name": "outside socket"}])
def test_sockets_for_equipment_outdoors_are_c2(more: dict[str, Any]) -> None:
    from earthwright.assess import assess
    from earthwright.report.observations import propose

    (found,) = (p for p in propose(assess(site(guarded(None, **more)))) if p.name == "test.additional protection")
    assert (found.code, found.clause) == ("C2", "411.3.3")
    (inside,) = (p for p in propose(assess(site(guarded(None)))) if p.name == "test.additional protection")
    assert inside.code == "C3"


@pytest.mark.parametrize(
    ("premises", "reason", "outcome"),
    [
        ("office", "risk assessment 12 of 2026", "meets"),
        ("office", "", "fails"),
        ("office", "client does not want one", "fails"),
        ("domestic", "risk assessment 12 of 2026", "fails"),
        ("", "risk assessment 12 of 2026", "not decided"),
    ],
)
def test_a_risk_assessment_replaces_it_outside_dwellings_only(premises: str, reason: str, outcome: str) -> None:
    found = of(ADDITIONAL, guarded(None, rcd_reason=reason), premises=premises)
    assert found.outcome == outcome
    assert reason in found.words or outcome == "not decided"


def test_what_the_circuit_serves_and_its_device_are_asked_for() -> None:
    assert "serves" in of(ADDITIONAL, guarded(None, use="final")).words
    assert "device is not entered" in of(ADDITIONAL, evolve(SOCKETS, device=Device())).words
    assert of(ADDITIONAL, guarded(30.0, use="final")).outcome == "meets"


@pytest.mark.parametrize(
    ("name", "use", "case"),
    [
        ("Skts kitchen", "final", "411.3.3"),
        ("Cooker and socket", "cooker", "411.3.3"),
        ("Lights up", "final", "411.3.4"),
        ("Cooker", "cooker", ""),
    ],
)
def test_a_name_tells_what_the_use_leaves_open(name: str, use: str, case: str) -> None:
    circuit = guarded(None, name=name, use=use)
    if not case:
        assert none_of(ADDITIONAL, circuit, premises="domestic")
    else:
        found = of(ADDITIONAL, circuit, premises="domestic")
        assert found.outcome == "fails"
        assert case in found.words


@pytest.mark.parametrize(("ms", "outcome"), [("299.0", "meets"), ("300.0", "meets"), ("301.0", "not decided")])
def test_a_device_that_failed_its_own_test_protects_nobody(ms: str, outcome: str) -> None:
    v = site(SOCKETS, read("rcd", "c1", ms, method="x1"))
    found = (rows(v, "c1", ADDITIONAL) or rows(v, "db1", ADDITIONAL))[0]
    assert found.outcome == outcome
    stuck = site(SOCKETS, read("rcd", "c1", "24.0", method="x1"), read("rcd button", "c1", outcome="bad"))
    assert "did not pass its own test" in row(stuck, "db1", ADDITIONAL).words


def test_sub_mains_and_reduced_voltage_are_not_asked() -> None:
    assert none_of(ADDITIONAL, guarded(None, use="distribution"))
    assert none_of(ADDITIONAL, guarded(None), supply=Supply("TN-S", u0_v=63.5))


def test_an_edition_without_the_rule_says_so_once() -> None:
    v = site(guarded(None), date=dt.date(2019, 6, 1))
    found = rows(v, "c1", ADDITIONAL) or rows(v, "db1", ADDITIONAL)
    assert found[0].outcome in ("fails", "not decided")
    assert none_of(ADDITIONAL, evolve(SOCKETS, use="shower"), date=dt.date(2019, 6, 1))


# ---- kinds of residual current devices ----

TYPE = "rcd type"


@pytest.mark.parametrize(
    ("rcd_type", "use", "kind", "outcome"),
    [
        ("AC", "sockets", "initial", "fails"),
        ("AC", "sockets", "minor works", "fails"),
        ("AC", "final", "initial", "fails"),
        ("AC", "heating", "initial", "not decided"),
        ("AC", "sockets", "periodic", ""),
        ("A", "sockets", "initial", ""),
        ("F", "sockets", "initial", ""),
        ("B", "sockets", "initial", ""),
        ("", "sockets", "initial", ""),
    ],
)
def test_type_ac_in_new_work(rcd_type: str, use: str, kind: str, outcome: str) -> None:
    circuit = evolve(SOCKETS, use=use, device=evolve(RCBO, rcd_type=rcd_type))
    if not outcome:
        assert none_of(TYPE, circuit, kind=kind)
    else:
        found = of(TYPE, circuit, kind=kind)
        assert found.outcome == outcome
        assert "531.3.3" in found.words


def test_before_2022_no_edition_asked_for_a_type() -> None:
    circuit = evolve(SOCKETS, device=evolve(RCBO, rcd_type="AC"))
    assert none_of(TYPE, circuit, kind="initial", date=dt.date(2019, 6, 1))


def test_type_ac_with_a_reason_is_for_the_inspector_to_judge() -> None:
    circuit = evolve(SOCKETS, device=evolve(RCBO, rcd_type="AC"), rcd_reason="only a resistive heater is plugged in")
    found = of(TYPE, circuit, kind="initial")
    assert (found.of, found.outcome) == ("db1", "not decided")
    assert "resistive heater" in found.words


@pytest.mark.parametrize("name", ["PV inverter", "Solar", "Battery storage", "generator"])
@pytest.mark.parametrize(("direction", "outcome"), [("", "not decided"), ("either way", "meets"), ("one way", "fails")])
def test_power_from_both_sides(name: str, direction: str, outcome: str) -> None:
    circuit = evolve(SOCKETS, use="fixed", name=name, device=evolve(RCBO, direction=direction))
    found = of(TYPE, circuit)
    assert found.outcome == outcome
    assert "530.3.201" in found.words
    assert none_of(TYPE, circuit, date=dt.date(2023, 5, 1))  # amendment 3 brought the rule


@pytest.mark.parametrize("name", ["Storage heater", "Night storage", "solar thermal pump", "Kitchen"])
def test_what_only_sounds_like_a_source_is_not_asked(name: str) -> None:
    assert none_of(TYPE, evolve(SOCKETS, use="heating", name=name))


def test_two_in_series_without_delay_are_noted_once() -> None:
    two = tuple(evolve(SOCKETS, id=f"c{n}") for n in (1, 2))
    front = Device(rcd_type="A", rcd_ma=100.0)

    def series(rcd: Device) -> list[str]:
        found = judge(visit(circuits=two, boards=(Board("db1", rcd=rcd),))).findings
        return [f.what for f in found if f.family == "rcd.series"]

    (said,) = series(front)
    assert "c1 and c2" in said
    assert not series(evolve(front, rcd_delay="S"))
    assert not series(evolve(front, rcd_delay="150 ms"))
    assert not series(Device())


def test_breakers_whose_operation_only_the_maker_knows_are_named_once() -> None:
    mccb = Device("BS EN 60947-2", "", 100.0)
    two = tuple(evolve(SOCKETS, id=f"c{n}", device=mccb) for n in (1, 2))

    def makers(*circuits: Circuit) -> list[str]:
        return [f.what for f in judge(visit(circuits=circuits)).findings if f.family == "rules.maker"]

    (said,) = makers(*two)
    assert "c1 and c2" in said
    assert not makers(evolve(two[0], device=evolve(mccb, curve=((500.0, 5.0), (1000.0, 0.1)))))
    assert not makers(SOCKETS)


@pytest.mark.parametrize(("ms", "slow"), [("199.0", False), ("200.0", False), ("201.0", True), ("299.6", True)])
def test_a_device_that_keeps_its_time_only_just_is_named(ms: str, slow: bool) -> None:
    v = site(SOCKETS, read("rcd", "c1", ms, method="x1"))
    assert ("rcd.slow" in {f.family for f in row(v, "c1", "rcd").findings}) is slow
    delayed = evolve(SOCKETS, device=evolve(RCBO, rcd_ma=100.0, rcd_delay="S"))
    v = site(delayed, read("rcd", "c1", "450.0", method="x1"))
    assert "rcd.slow" not in {f.family for f in row(v, "c1", "rcd").findings}


def test_a_delayed_device_is_not_the_30_ma_that_a_bathroom_asks_for() -> None:
    delayed = evolve(SOCKETS, location="bathroom", use="shower", device=evolve(RCBO, rcd_delay="150 ms"))
    found = row(site(delayed), "c1", "special location")
    assert found.outcome == "fails"
    assert "delayed" in found.words
    assert row(site(evolve(delayed, device=RCBO)), "c1", "special location").outcome == "meets"
