"""Ends of links, ids and digits as somebody may type them: each fault named, nothing lost and nothing guessed."""

from __future__ import annotations

import pytest

from earthwright.base.errors import Finding, Severity
from earthwright.evidence.graph import earth_network
from earthwright.visitbook import read_text
from earthwright.visitbook.read import Book

HEAD = """
[visit]
place = "9 Tenter Row, Harle"
date = 2026-11-20
[supply]
system = "TN-S"
[[part]]
id = "steel"
kind = "steel"
[[bond]]
part = "steel"
csa_mm2 = 10
length_m = 9
[[board]]
id = "db1"
[[board]]
id = "db2"
fed_by = "f1"
[[circuit]]
id = "f1"
board = "db1"
use = "distribution"
device = "B40"
[[circuit]]
id = "c7"
board = "db2"
device = "B16"
points = { bed = 20 }
"""
LINK = '[[link]]\nid = "frame"\nbetween = {}\n{}'


def link(between: str, more: str = "", head: str = HEAD) -> Book:
    return read_text(head + LINK.format(between, more))


def errors(book: Book) -> list[Finding]:
    return [f for f in book.findings if f.severity is Severity.ERROR]


@pytest.mark.parametrize("end", ["c7@bed", "c7 @ bed", " c7@ bed "])
def test_blanks_round_the_mark_mean_nothing(end: str) -> None:
    book = link(f'["steel", "{end}"]')
    assert not errors(book)
    assert book.visit is not None
    assert book.visit.site.links[0].b == "c7@bed"
    assert {n.id for n in earth_network(book.visit.site).nodes if n.kind == "part"} == {"steel"}


@pytest.mark.parametrize(
    "between", ['["", "steel"]', '["steel", "steel"]', '["db2", "f1"]', '["c7"]', "[]", '["a", "b", "c"]']
)
def test_a_link_has_two_places(between: str) -> None:
    found = errors(link(between))
    assert [f.what for f in found] == ["A link joins two different places."]
    assert "[" not in found[0].found


def test_an_end_whose_entry_is_broken_says_so() -> None:
    found = errors(link('["steel", "c7@bed"]', head=HEAD.replace('device = "B16"', 'colour = "?"')))
    assert [f.what for f in found][-1] == "The entry of circuit 'c7' is broken, so this cannot be judged either."


@pytest.mark.parametrize(
    ("low", "high", "band"),
    [("low_ohm = 0.5", "", (0.5, None)), ("", "high_ohm = 0.2", (0.0, 0.2)), ("", "", (1e-3, None))],
)
def test_one_edge_of_a_resistance_is_not_lost(low: str, high: str, band: tuple[float, float | None]) -> None:
    book = link('["steel", "c7@bed"]', f"{low}\n{high}\n")
    assert book.visit is not None
    piece = next(p for p in earth_network(book.visit.site).pieces if p.kind == "link")
    assert (piece.low_ohm, piece.high_ohm if piece.known else None) == band


def test_a_size_that_cannot_be_read_is_told_once() -> None:
    found = errors(link('["steel", "c7@bed"]', 'csa_mm2 = "4"\nlength_m = 3\n'))
    assert len(found) == 1


@pytest.mark.parametrize("old", ['"c7"', '"db2"', '"steel"', '"frame"'])
def test_nothing_is_called_like_the_means_of_earthing(old: str) -> None:
    """The earth network has one place of that name; a circuit so called would stand for it."""
    text = (HEAD + LINK.format('["MET", "db1"]', "")).replace(f"id = {old}", 'id = "earth"')
    assert any(f.where.endswith("id") and f.found == "earth" for f in errors(read_text(text)))


@pytest.mark.parametrize("name", ["c7@bed", "c7:cpc", "a,b"])
@pytest.mark.parametrize("old", ['id = "frame"', 'id = "steel"', 'part = "steel"\ncsa'])
def test_ids_hold_no_mark_that_parts_a_thing_from_its_end(old: str, name: str) -> None:
    text = HEAD + LINK.format('["MET", "db1"]', "")
    new = old.replace("csa", f'id = "{name}"\ncsa') if old.endswith("csa") else f'id = "{name}"'
    found = errors(read_text(text.replace(old, new)))
    assert any(f.what == "An id has no colon, no comma and no @." for f in found)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('device = "B16"', 'device = "B١٦"'),
        ('device = "B16"', 'device = "B1６"'),
        ('device = "B16"', 'device = "B16"\nrcd_delay = "1５0 ms"'),
        ("{ bed = 20 }", '["２０ m"]'),
        ("{ bed = 20 }", '{ "bed ٣" = 20 }'),
    ],
)
def test_digits_of_other_scripts_are_refused(old: str, new: str) -> None:
    found = errors(read_text(HEAD.replace(old, new)))
    assert [f.where for f in found if f.where.startswith("circuit c7")]
