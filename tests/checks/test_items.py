"""Inspection items that are called acceptable beside readings that say otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from earthwright.assess import assess
from earthwright.base.errors import Finding, Severity
from earthwright.paper.requirements import missing_fields
from earthwright.site.inspection import lines_of
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


OBSERVED = "\n[[observation]]\nid = '7'\nwhat = '{what}'\nwhere = '{where}'\ncode = '{code}'\nclause = '{clause}'\n"


@pytest.mark.parametrize(
    ("item", "what", "where", "clause"),
    [
        ("board-surge", "No surge protection is fitted", "consumer unit", ""),
        ("board-surge", "Not there though the cable comes overhead", "consumer unit", "443.4"),
        ("circuit-joints", "A joint outside any enclosure", "loft", ""),
        ("circuit-joints", "Conductors twisted and taped", "loft", "526.5"),
        ("circuit-buried", "Cables run hidden outside the zones", "hall", ""),
        ("circuit-buried", "Run slantwise in plaster", "hall", "522.6.202"),
        ("bath-bonding", "No supplementary bonding, and the conditions for leaving it out are not met", "bathroom", ""),
        ("bath-bonding", "Pipes not joined", "en suite", "701.415.2"),
        ("earthing-label", "No label at the bonding clamp", "meter box", ""),
    ],
)
@pytest.mark.parametrize("outcome", ["acceptable", "N/A"])
def test_an_observation_beside_an_item_called_fine(item: str, what: str, where: str, clause: str, outcome: str) -> None:
    more = OBSERVED.format(what=what, where=where, code="C3", clause=clause)
    (finding,) = said(BOOK + f'\n[inspected]\n{item} = "{outcome}"\n' + more)
    assert finding.entry == lines_of(item)[0]
    assert "observation 7, C3" in finding.found
    coded = said(BOOK + f'\n[inspected]\n{item} = "C3: as observed"\n' + more)
    assert coded == []


@pytest.mark.parametrize(
    ("item", "what", "clause", "code"),
    [
        ("circuit-joints", "The joint of the gas bond is poor", "526.1", "C2"),  # a bond's, not a cable's
        ("board-rcd", "Sockets have no RCD", "411.3.3", "C3"),  # the item on sockets is meant
        ("board-surge", "No surge protection", "443.4", "none"),  # turned down
        ("circuit-apart", "Something else", "", "C3"),
        ("board-fixed", "A cracked cover", "134.1.1", "C3"),  # a clause that two items share tells nothing
    ],
)
def test_an_observation_of_something_else_contradicts_nothing(item: str, what: str, clause: str, code: str) -> None:
    more = OBSERVED.format(what=what, where="here", code=code, clause=clause) + "reason = 'seen'\n"
    assert said(BOOK + f'\n[inspected]\n{item} = "acceptable"\n' + more) == []


def test_an_observation_that_names_its_item_speaks_of_that_one_alone() -> None:
    more = OBSERVED.format(what="Surge device spent", where="board", code="C3", clause="") + "about = 'board-devices'\n"
    found = said(BOOK + '\n[inspected]\nboard-surge = "acceptable"\nboard-devices = "acceptable"\n' + more)
    assert [f.entry for f in found] == [lines_of("board-devices")[0]]


def test_a_report_is_not_issued_over_it() -> None:
    whole = (Path(__file__).parents[1] / "paper" / "complete.toml").read_text(encoding="utf-8")
    book = read_text(whole + OBSERVED.format(what="No surge protection", where="board", code="C3", clause="443.4"))
    assert book.visit is not None
    asked = [m.sentence() for m in missing_fields(assess(book.visit), "condition report")]
    assert any("[inspected] board-surge-there" in line and "No surge protection" in line for line in asked)
