"""Inspection items that are called acceptable beside readings that say otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from earthwright.assess import assess
from earthwright.errors import Finding, Severity
from earthwright.visitbook import read_text

BOOK = (Path(__file__).parents[1] / "visits" / "30-one-graph.toml").read_text(encoding="utf-8")
OPEN = BOOK.replace(
    'point = "boiler"\nleads = "long"\nshown = 0.17', 'point = "boiler"\nleads = "long"\nshown = "over-range"'
)


def said(text: str) -> list[Finding]:
    book = read_text(text)
    assert book.visit is not None
    assert not [f for f in book.findings if f.severity is Severity.ERROR]
    return [f for f in assess(book.visit).findings if f.family == "inspection.contradicted"]


def test_a_bond_that_is_disproved_beside_joints_called_acceptable() -> None:
    (finding,) = said(BOOK + '\n[inspected]\nbonding-joints = "acceptable"\n')
    assert (finding.entry, finding.severity) == ("bonding-joints", Severity.WARNING)
    assert finding.found == "The bond to the gas pipe is impaired"


def test_a_conductor_that_read_open_beside_an_acceptable_cpc() -> None:
    found = said(OPEN + '\n[inspected]\ncircuit-cpc = "acceptable"\nbonding-joints = "acceptable"\n')
    assert {f.entry for f in found} == {"bonding-joints", "circuit-cpc"}


@pytest.mark.parametrize("outcome", ["C2", "FI", "LIM: no access", "not verified"])
def test_any_other_outcome_contradicts_nothing(outcome: str) -> None:
    assert said(BOOK + f'\n[inspected]\nbonding-joints = "{outcome}"\n') == []


def test_items_that_nothing_measured_speaks_of_are_left_alone() -> None:
    assert said(BOOK + '\n[inspected]\nbonding-size = "acceptable"\nboard-reach = "acceptable"\n') == []
    assert said(BOOK) == []


def test_what_the_inspector_decided_otherwise_says_nothing() -> None:
    answered = (
        "\n[[observation]]\nwhat = 'bond'\nwhere = 'meter'\nabout = 'gas'\ncode = 'C3'\n"
        "reason = 'read with the wrong lead, to be read again'\n"
    )
    assert said(BOOK + '\n[inspected]\nbonding-joints = "acceptable"\n' + answered) == []
    assert said(BOOK + '\n[inspected]\nbonding-joints = "acceptable"\n' + answered.replace("C3", "C2"))
