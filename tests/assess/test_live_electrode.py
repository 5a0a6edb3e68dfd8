"""Electrodes: what is the electrode's own value, the sum with bonds, three stakes, both limits."""

from __future__ import annotations

import datetime as dt

import pytest
from live_visit import families, judge, off, on, read, row, rows, visit

from earthwright.site.installation import Board, Circuit, Device, Electrode, Supply

BOARD = Board("db1", rcd=Device(rcd_type="A", rcd_ma=100.0, rcd_delay="S"))
CIRCUIT = Circuit("c1", "db1", device=Device("BS EN 61009", "B", 32.0, rcd_type="A", rcd_ma=30.0))


def electrode_visit(*events, **more):
    return visit(
        *events,
        supply=Supply("TT"),
        boards=more.pop("boards", (BOARD,)),
        circuits=more.pop("circuits", (CIRCUIT,)),
        electrodes=(Electrode("rod"),),
        **more,
    )


def alone(digits: str):
    return off("earthing"), read("electrode", "rod", digits, method="rod alone"), on("earthing")


def test_the_rod_alone_is_held_against_every_rated_current() -> None:
    found = row(electrode_visit(*alone("180")), "rod", "electrode")
    assert found.outcome == "meets"
    assert [j.limit.value for j in found.judged if j.limit] == [1667.0, 500.0]
    between = row(electrode_visit(*alone("900")), "rod", "electrode")
    assert [j.outcome for j in between.judged] == ["meets", "fails"]
    assert between.outcome == "fails"
    (finding,) = [f for f in between.findings if f.family == "electrode.limit"]
    assert "100 mA" in finding.expected
    assert "30 mA" not in finding.what
    assert finding.expected.startswith("at most 500 Ω")
    assert finding.found == "900 Ω"


def test_alone_without_a_step_that_took_it_off_is_no_evidence() -> None:
    v = electrode_visit(read("electrode", "rod", "20.0", method="rod alone"))
    found = row(v, "rod", "electrode")
    assert found.outcome == "not decided"
    assert "electrode.state" in families(found)
    own = electrode_visit(off("rod"), read("electrode", "rod", "20.0", method="rod alone"))
    assert row(own, "rod", "electrode").outcome == "meets"


def test_only_with_bonds_the_electrode_is_not_known() -> None:
    judged = judge(electrode_visit(read("electrode", "rod", "8.0", method="with bonds")))
    (e,) = judged.electrodes
    assert e.tests[0].outcome == "not decided"
    assert "electrode.alone" in {f.family for f in e.findings}
    assert "not known" in e.words


def test_three_that_do_not_add_up_are_told() -> None:
    three = (
        read("electrode", "rod", "20.0", method="with bonds"),
        off("earthing"),
        read("electrode", "rod", "100", method="rod alone"),
        read("electrode", "rod", "50.0", method="other part alone"),
    )
    (e,) = judge(electrode_visit(*three)).electrodes
    # 100 beside 50 is 33.3 Ω
    assert {f.family for f in e.findings} == {"electrode.sum"}
    assert "33.3 Ω" in next(f.expected for f in e.findings)


def test_over_range_fails_every_limit() -> None:
    found = row(electrode_visit(*alone("over-range")), "rod", "electrode")
    assert found.outcome == "fails"
    assert "electrode.unstable" in families(found)


def stakes(near: str, middle: str, far: str, points=("nearer", "middle", "farther")):
    values = zip((near, middle, far), points, strict=True)
    return off("earthing"), *(read("electrode", "rod", d, method="stakes", point=p) for d, p in values)


def test_three_stakes_that_agree_give_their_mean() -> None:
    found = row(electrode_visit(*stakes("98.0", "100", "102")), "rod", "electrode")
    assert found.outcome == "meets"
    assert found.value is not None
    assert found.value.value == pytest.approx(100.0)
    assert any("2.0 %" in line for line in found.sums)


def test_three_stakes_that_disagree_decide_nothing() -> None:
    found = row(electrode_visit(*stakes("80.0", "100", "120")), "rod", "electrode")
    assert found.outcome == "not decided"
    assert "electrode.stakes" in families(found)


def test_stakes_may_be_placed_in_metres() -> None:
    v = electrode_visit(*stakes("102", "98.0", "100", ("26 m", "20 m", "23 m")))
    assert row(v, "rod", "electrode").outcome == "meets"


@pytest.mark.parametrize("points", [("nearer", "middle", "middle"), ("", "middle", "farther")])
def test_fewer_than_three_positions_decide_nothing(points) -> None:
    found = row(electrode_visit(*stakes("98.0", "100", "102", points)), "rod", "electrode")
    assert found.outcome == "not decided"
    assert "three positions" in found.words


def test_stakes_with_the_earthing_conductor_on_measure_the_bonds_too() -> None:
    events = stakes("98.0", "100", "102")[1:]
    found = row(electrode_visit(*events), "rod", "electrode")
    assert found.outcome == "not decided"
    assert "electrode.state" in families(found)


def test_without_devices_or_edition_there_is_no_rule() -> None:
    bare = row(electrode_visit(*alone("20.0"), boards=(Board("db1"),), circuits=()), "rod", "electrode")
    assert bare.outcome == "no rule"
    early = row(electrode_visit(*alone("20.0"), date=dt.date(1999, 1, 1)), "rod", "electrode")
    assert early.outcome == "no rule"


def test_nothing_read_is_nothing_said() -> None:
    (e,) = judge(electrode_visit()).electrodes
    assert e.tests == ()
    assert e.findings == ()


def test_a_reason_for_no_reading_is_kept() -> None:
    v = electrode_visit(read("electrode", "rod", absent="LIM", note="concreted over", method="rod alone"))
    (found,) = rows(v, "rod", "electrode")
    assert (found.absent, found.reason) == ("LIM", "concreted over")


def planned(**size) -> str:
    from earthwright.assess.circuits.electrode import planned as words

    return words(Electrode("e", **size))


def test_planning_figures_stand_beside_and_never_instead() -> None:
    """Published: rod 55 Ω·m, 3 m, 25 mm: 17.12 Ω; plate 100 Ω·m, 1 m²: 44.3 Ω."""
    assert "about 17.1 Ω in even soil of 55 Ω·m" in planned(length_m=3.0, diameter_mm=25.0, soil_ohm_m=55.0)
    assert "about 44.3 Ω" in planned(kind="plate", area_m2=1.0, soil_ohm_m=100.0)
    assert "For planning" in planned(kind="tape", length_m=20.0, width_mm=25.0, depth_m=0.6, soil_ohm_m=100.0)
    two = planned(length_m=3.0, diameter_mm=25.0, soil_ohm_m=55.0, count=2, spacing_m=3.0)
    # a = 55/(2π·17.12·3) = 0.170; 17.12/2 · 1.170
    assert "17.1 Ω each, 10 Ω both" in two
    many = planned(length_m=3.0, diameter_mm=25.0, soil_ohm_m=55.0, count=5, spacing_m=3.0)
    assert "not worked out" in many
    assert "nothing can be said" in planned(length_m=0.02, diameter_mm=25.0, soil_ohm_m=55.0)
    assert planned(length_m=3.0, diameter_mm=25.0) == ""
    assert planned(length_m=3.0, soil_ohm_m=55.0) == ""
    (e,) = judge(
        visit(electrodes=(Electrode("rod", length_m=3.0, diameter_mm=25.0, soil_ohm_m=55.0),), supply=Supply("TT"))
    ).electrodes
    assert e.tests == ()
    assert "For planning" in e.words
