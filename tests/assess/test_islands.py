"""A TT outbuilding or charging point on a PME house: its own electrode, device and limits, and the boundary."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve

from earthwright.evidence.graph import earth_network
from earthwright.site.events import Event
from earthwright.site.installation import MET, Board, Bond, Circuit, Device, Electrode, Link, Part, Supply
from earthwright.site.islands import joins, own_earths, things_of
from earthwright.site.visit import Visit
from earthwright.visitbook import read_text

from .live_visit import B32, judge, off, on, read, row, rows, visit

PME = Supply("TN-C-S", True, neutral_csa_mm2=35)
RCD = Device(rcd_type="A", rcd_ma=30.0)
F1 = Circuit("f1", "db1", use="distribution", device=B32, line_mm2=6, cpc="none")
C1 = Circuit("c1", "shed", use="sockets", device=Device("BS EN 60898", "B", 16.0, 6.0), line_mm2=2.5, cpc_mm2=1.5)
C2 = Circuit("c2", "db1", use="sockets", device=B32, line_mm2=2.5, cpc_mm2=1.5)
TRIPS = read("rcd", "shed", "24.0", method="x1")


def book(*events: Event, feeder: Circuit = F1, shed: Board | None = None, **site: Any) -> Visit:
    v = visit(
        *events,
        supply=site.pop("supply", PME),
        boards=(Board("db1"), shed or Board("shed", fed_by="f1", rcd=RCD)),
        circuits=(feeder, C1, C2),
        electrodes=site.pop("electrodes", (Electrode("rod"),)),
    )
    return evolve(v, site=evolve(v.site, **site))


def said(v: Visit) -> list[tuple[str, str]]:
    return [(f.family, f.found or "") for f in judge(v).findings if f.family.startswith("island")]


# 50 V / 30 mA = 1667 Ω (table 41.5): the limit of the island; the house's B32 keeps its own 1.37 Ω.
@pytest.mark.parametrize(("zs", "outcome"), [("1665", "meets"), ("1667", "meets"), ("1669", "fails")])
def test_the_island_has_the_limit_of_its_own_device(zs: str, outcome: str) -> None:
    v = book(TRIPS, read("zs", "c1", zs), read("zs", "c2", "45"), read("ze", "origin", "0.25"))
    assert row(v, "c1", "zs").outcome == outcome
    assert row(v, "c2", "zs").outcome == "fails"  # an electrode in the shed excuses no open cpc in the house


def test_without_the_test_of_its_device_the_island_is_not_decided() -> None:
    assert row(book(read("zs", "c1", "86")), "c1", "zs").outcome == "not decided"


def test_its_board_is_read_as_an_origin_of_its_own() -> None:
    assert row(book(TRIPS, read("zdb", "shed", "85")), "shed", "zdb").outcome == "meets"
    assert row(book(TRIPS, read("zdb", "shed", "1700")), "shed", "zdb").outcome == "fails"


def test_the_loop_of_the_house_is_no_part_of_it() -> None:
    with_cpc = evolve(F1, cpc="armour", cpc_mm2=17)
    v = book(TRIPS, read("zs", "c1", "86"), read("ze", "origin", "0.25"), read("r1r2", "f1", "0.30"), feeder=with_cpc)
    entered = evolve(v, site=evolve(v.site, boards=(v.site.boards[0], evolve(v.site.boards[1], electrode="rod"))))
    assert row(entered, "c1", "zs").outcome == "meets"
    house = evolve(v, site=evolve(v.site, electrodes=()))
    assert row(house, "c1", "zs").outcome == "fails"  # nothing says that the shed has an earth of its own


@pytest.mark.parametrize(
    ("changed", "earths"),
    [
        ({}, {"shed": "rod"}),
        ({"electrodes": ()}, {}),
        ({"electrodes": (Electrode("rod"), Electrode("mat"))}, {}),
        ({"supply": Supply("TT")}, {}),
        ({"feeder": evolve(F1, cpc="armour")}, {}),
        ({"shed": Board("shed", fed_by="f1", electrode="mat")}, {"shed": "mat"}),
    ],
)
def test_which_board_stands_on_which_electrode(changed: Any, earths: dict[str, str]) -> None:
    assert own_earths(book(**changed).site) == earths


def test_the_boundary_is_named_once() -> None:
    assert said(book()) == [("island.boundary", "")]
    assert said(book(electrodes=())) == []
    assert said(book(supply=Supply("TT"))) == []


@pytest.mark.parametrize(
    ("changed", "by"),
    [
        ({"shed": Board("shed", fed_by="f1", electrode="rod"), "feeder": evolve(F1, cpc="armour")}, "the armour of f1"),
        (
            {"shed": Board("shed", fed_by="f1", electrode="rod"), "feeder": evolve(F1, cpc="core")},
            "the protective conductor",
        ),
        ({"links": (Link("pipe", MET, "shed"),)}, "link pipe"),
        ({"links": (Link("pipe", "c1@far", "c2"),)}, "link pipe"),
        (
            {
                "parts": (Part("water", "water"),),
                "bonds": (Bond("water", "water", 10, 9, 1),),
                "links": (Link("p", "c1", "water"),),
            },
            "link p",
        ),
    ],
)
def test_what_joins_the_two_earths_is_a_warning(changed: Any, by: str) -> None:
    ((family, found),) = said(book(**changed))
    assert family == "island.joined"
    assert by in found


@pytest.mark.parametrize(
    "changed",
    [
        {"links": (Link("frame", "shed", "c1"),)},
        {"parts": (Part("pipe", "water"),), "links": (Link("p", "shed", "pipe"),)},
        {"links": (Link("house", MET, "c2"),)},
    ],
)
def test_what_stays_on_one_side_joins_nothing(changed: Any) -> None:
    assert joins(book(**changed).site, "shed") == ()


def test_boards_below_an_island_belong_to_it() -> None:
    v = book()
    loft = evolve(
        v.site, boards=(*v.site.boards, Board("loft", fed_by="c1")), circuits=(*v.site.circuits, Circuit("c9", "loft"))
    )
    assert things_of(loft, "shed") == {"shed", "c1", "loft", "c9"}


def test_in_the_network_its_electrode_earths_the_island_and_not_the_house() -> None:
    (piece,) = [p for p in earth_network(book().site).pieces if p.of == "rod"]
    assert piece.a == "shed"
    (piece,) = [
        p for p in earth_network(book(electrodes=(Electrode("rod"), Electrode("mat"))).site).pieces if p.of == "rod"
    ]
    assert piece.a == MET


def test_the_electrode_is_held_against_its_own_devices_only() -> None:
    steps = (off("rod"), read("electrode", "rod", "200", method="rod alone"), on("rod"))
    v = book(*steps)
    house = evolve(v.site.boards[0], rcd=Device(rcd_type="AC", rcd_ma=500.0))  # 100 Ω
    v = evolve(v, site=evolve(v.site, boards=(house, v.site.boards[1])))
    assert row(v, "rod", "electrode").outcome == "meets"


def test_a_charging_point_may_be_an_island_by_itself() -> None:
    ev = Circuit("ev", "db1", use="charging point", device=evolve(B32, rcd_type="B", rcd_ma=30.0), electrode="rod")
    v = visit(
        read("zs", "ev", "120"),
        read("rcd", "ev", "22", method="x1"),
        supply=PME,
        circuits=(ev,),
        electrodes=(Electrode("rod"),),
    )
    assert row(v, "ev", "zs").outcome == "meets"
    assert row(v, "ev", "special location").outcome == "meets"  # its own electrode is the guard against a lost PEN
    on_pme = evolve(v, site=evolve(v.site, circuits=(evolve(ev, electrode=""),)))
    assert row(on_pme, "ev", "special location").outcome == "not decided"


def test_an_electrode_that_is_not_there_is_told() -> None:
    text = "[visit]\nplace='x'\ndate=2026-11-20\n[[board]]\nid='shed'\nelectrode='rod'\n[[circuit]]\nid='c1'\nelectrode='mat'\n"
    assert [f.what for f in read_text(text).findings if "no electrode" in f.what] == [
        "There is no electrode 'rod'.",
        "There is no electrode 'mat'.",
    ]


# ---- a board behind a transformer ----

LOW = Board("rlv", fed_by="f1", u0_v=55.0)
L1 = Circuit("l1", "rlv", use="sockets", device=Device("BS EN 60898", "C", 16.0, 6.0), line_mm2=2.5, cpc_mm2=2.5)


def test_a_110_v_board_in_a_230_v_house_is_never_judged_by_230_v() -> None:
    v = visit(
        read("zs", "l1", "0.42"),
        read("zs", "c2", "0.42"),
        read("ze", "origin", "0.25"),
        supply=PME,
        boards=(Board("db1", rcd=RCD), LOW),
        circuits=(evolve(F1, cpc="core", cpc_mm2=6), L1, C2),
    )
    zs = row(v, "l1", "zs")
    assert zs.outcome == "no rule"
    assert "55 V" in zs.words
    assert row(v, "c2", "zs").outcome == "meets"
    assert rows(v, "l1", "special location") == []


def test_insulation_behind_a_transformer_has_the_minimum_of_its_voltage() -> None:
    # Table 64: 0.5 MΩ at 250 V for SELV and PELV, 1 MΩ at 500 V up to 500 V.
    selv = evolve(LOW, u0_v=12.0)
    reading = read("insulation", "l1", "0.6", between="L-N", test_v=250.0)
    v = visit(reading, supply=PME, boards=(Board("db1"), selv), circuits=(F1, L1, C2))
    assert row(v, "l1", "insulation").outcome == "meets"
    assert (
        row(evolve(v, site=evolve(v.site, boards=(Board("db1"), evolve(LOW, u0_v=None)))), "l1", "insulation").outcome
        != "meets"
    )


# 55 V / 0.20 Ω = 0.275 kA; by 230 V it would have to be 1.08 kA or more, and the two readings would not belong together.
@pytest.mark.parametrize(("shown", "good"), [("0.28", True), ("1.15", False)])
def test_a_fault_current_behind_a_transformer_belongs_to_its_own_voltage(shown: str, good: bool) -> None:
    readings = (read("zdb", "rlv", "0.20"), read("fault current", "rlv", shown, between="L-E"))
    v = visit(*readings, supply=PME, boards=(Board("db1"), LOW), circuits=(evolve(F1, cpc="core", cpc_mm2=6), L1))
    assert row(v, "rlv", "fault current").inside is good
