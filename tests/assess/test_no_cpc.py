"""A circuit entered as having no protective conductor: lighting with Class II fittings is C3 by custom, metal is C2."""

from __future__ import annotations

from typing import Any

import pytest
from attrs import evolve

from earthwright.report.coding import of_tests
from earthwright.rules import RuleBook
from earthwright.site.installation import Board, Circuit, Device, Electrode, Supply

from .live_visit import row, rows, visit

TEST = "protective conductor"
OLD = Circuit("c1", "db1", use="lighting", device=Device("BS EN 60898", "B", 6.0), line_mm2=1.0, cpc="none")


def of(circuit: Circuit, **more: Any) -> Any:
    return row(visit(circuits=(circuit,), **more), "c1", TEST)


@pytest.mark.parametrize(
    ("use", "fittings", "code", "says"),
    [
        ("lighting", "", "C3", "C2"),
        ("lighting", "class II", "C3", "notice"),
        ("lighting", "class I", "C2", "Class I fitting"),
        ("sockets", "", "C2", "Class I"),
        ("fixed", "", "C2", "Class I"),
        ("fixed", "class II", "C3", "Class II"),
        ("heating", "class I", "C2", "Class I"),
    ],
)
def test_the_code_hangs_on_what_is_connected(use: str, fittings: str, code: str, says: str) -> None:
    t = of(evolve(OLD, use=use, fittings=fittings))
    assert t.outcome == "fails"
    (proposed,) = (p.cited(RuleBook.load().wiring_for(visit().date)) for p in of_tests((t,), "there"))
    assert (proposed.code, proposed.clause) == (code, "411.3.1.1")
    assert says in t.words
    assert [f.family for f in t.findings] == ["cpc.none"]


def test_nothing_is_said_where_there_is_one() -> None:
    assert rows(visit(circuits=(evolve(OLD, cpc="core"),)), "c1", TEST) == []


@pytest.mark.parametrize(("volts", "asked"), [(12.0, 0), (50.0, 0), (55.0, 1), (230.0, 1)])
def test_extra_low_voltage_needs_none(volts: float, asked: int) -> None:
    assert len(rows(visit(circuits=(OLD,), supply=Supply("TN-S", u0_v=volts)), "c1", TEST)) == asked


def test_the_feeder_of_a_tt_island_brings_none_on_purpose() -> None:
    feeder = evolve(OLD, use="distribution")
    boards = (Board("db1"), Board("shed", fed_by="c1"))
    island = {"boards": boards, "electrodes": (Electrode("rod"),), "supply": Supply("TN-C-S", True)}
    assert rows(visit(circuits=(feeder,), **island), "c1", TEST) == []
    assert of(feeder, boards=boards).outcome == "fails"


def test_without_an_edition_there_is_no_rule() -> None:
    assert of(OLD, date=visit().date.replace(year=1990)).outcome in ("no rule", "fails")
