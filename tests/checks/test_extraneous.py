"""Is a part to be bonded at all: thresholds below, at and above, the state, PME, plastic, owner, supplementary bonds.

Thresholds: 230 V / 30 mA less 1 kΩ is 6 667 Ω; 10 mA 22 kΩ; 5 mA 45 kΩ.
"""

from __future__ import annotations

import datetime as dt

import pytest

from earthwright.assess import assess
from earthwright.outcomes.assessment import PartJudged
from earthwright.site.events import Event
from earthwright.site.installation import Bond, Device, Link, Part, Supply
from earthwright.site.visit import Choices, Visit

from .made import bond, circuit, found, isolated, off, on, read, visit

PIPE = Part("water", "water", "water pipe")
TN_S = Supply("TN-S", False, line_csa_mm2=25.0)


def ohms(shown: str, **more: object) -> Event:
    return read("extraneous", "water", shown, leads="", **more)


def part(*events: Event, bonds: tuple[Bond, ...] = (), the: Part = PIPE, **more: object) -> PartJudged:
    (judged,) = assess(visit(*events, bonds=bonds, parts=(the,), **more)).parts  # type: ignore[arg-type]
    return judged


@pytest.mark.parametrize(
    ("shown", "ma", "verdict"),
    [
        ("6660", 30.0, "bond"), ("6670", 30.0, "leave"),
        ("21990", 10.0, "bond"), ("22000", 10.0, "bond"), ("22010", 10.0, "leave"),
        ("44990", 5.0, "bond"), ("45000", 5.0, "bond"), ("45010", 5.0, "leave"),
        ("22 kΩ", 10.0, "bond"), ("over-range", 10.0, "leave"), ("0.00", 10.0, "bond"),
    ],
)  # fmt: skip
def test_the_chosen_threshold(shown: str, ma: float, verdict: str) -> None:
    judged = part(*isolated(), ohms(shown), choices=Choices(extraneous_ma=ma))
    assert judged.verdict == verdict
    assert "411.3.1.2" in judged.rule


def test_seven_kilohms_depends_on_the_threshold_and_all_three_are_shown() -> None:
    v = visit(*isolated(), ohms("7000"), parts=(PIPE,))
    (judged,) = assess(v).parts
    assert [(t.body_ma, t.extraneous, t.chosen) for t in judged.thresholds] == [
        (30.0, False, False),
        (10.0, True, True),
        (5.0, True, False),
    ]
    assert "extraneous.depends" in {f.family for f in judged.findings}
    assert "230 V / 10 mA less 1000 Ω of the body is 22000 Ω" in judged.rule
    assert "could flow through a person" in judged.words


def test_the_guarded_rule_decides_nothing_that_straddles() -> None:
    guarded = Choices(decision="guarded")
    assert part(*isolated(), ohms("22000"), choices=guarded).verdict == "not decided"
    assert part(*isolated(), ohms("20000"), choices=guarded).verdict == "bond"
    assert part(*isolated(), ohms("24000"), choices=guarded).verdict == "leave"


def test_a_current_of_ones_own_is_reckoned_the_same_way() -> None:
    judged = part(*isolated(), ohms("14300"), choices=Choices(extraneous_ma=15.0))  # 230 V / 15 mA less 1 kΩ: 14 333 Ω
    assert judged.verdict == "bond"
    assert part(*isolated(), ohms("14400"), choices=Choices(extraneous_ma=15.0)).verdict == "leave"
    assert any(t.chosen and "not a customary one" in t.limit.note for t in judged.thresholds)
    assert (
        part(*isolated(), ohms("10"), choices=Choices(extraneous_ma=300.0)).verdict == "leave"
    )  # the body alone is enough


@pytest.mark.parametrize("how", ["bond", "link"])
def test_a_low_reading_with_something_joined_decides_nothing(how: str) -> None:
    more = {"bonds": (bond("water", 10.0),)} if how == "bond" else {"links": (Link("boiler", "water", "MET"),)}
    low = part(*isolated(), ohms("0.05"), **more)  # type: ignore[arg-type]
    assert low.verdict == "not decided"
    assert low.joined == (("water",) if how == "bond" else ("boiler",))
    assert "extraneous.state" in {f.family for f in low.findings}
    high = part(*isolated(), ohms("60000"), **more)  # type: ignore[arg-type]
    assert high.verdict == "leave"  # what joins the two can only lower the reading


def test_with_the_bond_off_it_counts() -> None:
    b = (bond("water", 10.0),)
    judged = part(*isolated(), off("water"), ohms("300"), on("water"), bonds=b)
    assert judged.verdict == "bond"
    assert judged.state is not None
    assert judged.state.off == {"water"}
    assert judged.findings == ()


def test_a_high_reading_says_nothing_while_the_terminal_is_not_at_earth() -> None:
    judged = part(*isolated(), off("earthing"), ohms("60000"), on("earthing"))
    assert judged.verdict == "not decided"
    assert "earthing conductor" in judged.unknown[0]
    assert part(*isolated(), off("earthing"), ohms("300"), on("earthing")).verdict == "bond"


def test_the_lowest_of_several_counts() -> None:
    judged = part(*isolated(), ohms("60000"), ohms("9000"))
    assert judged.verdict == "bond"
    assert len(judged.readings) == 2


def test_an_extraneous_part_without_a_bond_is_an_alarm() -> None:
    v = visit(*isolated(), ohms("300"), parts=(PIPE,))
    assert [f.severity.value for f in found(v, "extraneous.unbonded")] == ["warning"]


@pytest.mark.parametrize(
    ("supply", "said"),
    [(Supply("TN-C-S", True), True), (Supply("TN-C-S"), True), (TN_S, False), (Supply("TT", False), False)],
)
def test_pme_warns_against_a_needless_bond(supply: Supply, said: bool) -> None:
    judged = part(*isolated(), ohms("60000"), supply=supply)
    assert any(w.startswith("PME:") for w in judged.warnings) is said
    assert not any(w.startswith("PME:") for w in part(*isolated(), ohms("300"), supply=supply).warnings)


def test_a_needless_bond_is_a_note() -> None:
    judged = part(*isolated(), off("water"), ohms("60000"), on("water"), bonds=(bond("water", 10.0),))
    assert [(f.family, f.severity.value) for f in judged.findings] == [("extraneous.needless", "note")]


def test_metal_rather_than_soil() -> None:
    assert any("metal rather than soil" in w for w in part(*isolated(), ohms("0.50")).warnings)
    assert not any("metal rather than soil" in w for w in part(*isolated(), ohms("30")).warnings)


def test_a_part_of_somebody_else_is_not_clamped_without_them() -> None:
    judged = part(*isolated(), ohms("300"), the=Part("water", "gas", "gas service", owner="gas transporter"))
    assert any("gas transporter" in w for w in judged.warnings)


@pytest.mark.parametrize(("metres", "words"), [(1.5, "about 150 kΩ"), (0.05, "shorter than the 0.1 m")])
def test_what_plastic_does(metres: float, words: str) -> None:
    judged = part(the=Part("water", "water", plastic_section_m=metres))
    assert any(words in w for w in judged.warnings)
    assert judged.verdict == "not decided"


def test_plastic_pipe_is_left_by_definition_and_silence_is_not_decided() -> None:
    assert part(the=Part("water", "water", material="MDPE")).verdict == "leave"
    bare = part()
    assert bare.verdict == "not decided"
    assert bare.unknown
    assert {f.family for f in bare.findings} == {"extraneous.unknown"}
    assert part(bonds=(bond("water", 10.0),)).findings == ()


def test_without_an_edition_there_is_no_verdict() -> None:
    judged = part(*isolated(), ohms("300"), date=dt.date(1999, 1, 1))
    assert judged.verdict == "not decided"
    assert judged.unknown == ("No edition of the wiring rules covers the day",)


def supplementary(shown: str, *devices: Device, place: str = "") -> str:
    b = (bond("water", 3.0, csa_mm2=4.0, supplementary=True),)
    rows = tuple(circuit(f"c{i}", device=d, location="bathroom" if i == 0 else "hall") for i, d in enumerate(devices))
    events = (off("water"), read("conductor", "water", shown), on("water"))
    judged = part(*events, bonds=b, the=Part("water", "water", entry=place), circuits=rows)
    return judged.supplementary[0].outcome


B32, RCD = Device("BS EN 60898", "B", 32.0), Device("BS EN 61009", "B", 32.0, rcd_ma=30.0)


@pytest.mark.parametrize(
    # 50 V / 160 A = 0.3125 Ω for B32 (5 s); 50 V / 30 mA = 1 667 Ω.
    ("shown", "devices", "outcome"),
    [
        ("0.31", (B32,), "meets"),
        ("0.32", (B32,), "fails"),
        ("0.32", (RCD,), "meets"),
        ("0.32", (RCD, B32), "fails"),
        ("0.31", (), "not decided"),
        ("0.31", (Device(),), "not decided"),
    ],
)
def test_supplementary_bonding_by_50_v_over_ia(shown: str, devices: tuple[Device, ...], outcome: str) -> None:
    assert supplementary(shown, *devices) == outcome


def test_only_circuits_of_the_place_count_when_it_is_known() -> None:
    assert supplementary("0.32", RCD, B32, place="bathroom") == "meets"
    assert supplementary("over-range", RCD, B32, place="bathroom") in ("fails", "not decided")


def test_no_reading_between_the_parts() -> None:
    v: Visit = visit(
        bonds=(bond("water", 3.0, csa_mm2=4.0, supplementary=True),), circuits=(circuit("c1", device=B32),)
    )
    assert assess(v).parts[0].supplementary[0].outcome == "not decided"
