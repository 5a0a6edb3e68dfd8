"""Visits whose leads nobody shorted after the readings: nothing read with them is proved, and the check is the next step."""

from __future__ import annotations

from pathlib import Path

import pytest

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.visitbook import read_text

HERE = Path(__file__).parent
CHECK = '[[step]]\ncheck = "shorted"\nshown = 0.00\n'


def judged(name: str, *, checked: bool) -> Assessment:
    """A visit up to its last shorted check, with it or without."""
    text = (HERE / name).read_text(encoding="utf-8")
    before, _, _ = text.rpartition('[[step]]\ncheck = "shorted"')
    book = read_text(before + CHECK if checked else before)
    assert book.visit is not None
    return assess(book.visit)


def test_a_sound_bond_is_proved_by_the_check_after_its_readings_and_not_before() -> None:
    (b,) = judged("00-control.toml", checked=False).bonds
    assert (b.verdict, b.joint.outcome, b.continuity.outcome) == ("not shown", "not decided", "not decided")
    assert b.evidence.if_checked is not None
    assert b.evidence.if_checked.verdict == "proved"
    assert "with the null of another set" in b.words
    assert b.next is not None
    assert b.next.test == "lead check"
    assert b.next.do.startswith("Short the tips of short + 20 m of 2.5 mm², just as used")
    assert "0.00 Ω lets the readings count" in b.next.do
    (b,) = judged("00-control.toml", checked=True).bonds
    assert (b.verdict, b.joint.outcome, b.continuity.outcome) == ("proved", "meets", "meets")
    assert b.next is None


def test_a_null_of_the_long_lead_read_with_the_short_one_is_not_proved() -> None:
    """0.81 Ω nulled out, never shorted: a crimp of 0.75 Ω would show the same 0.03 Ω."""
    book = read_text((HERE / "practice" / "g01-nulled-long-measured-short.toml").read_text(encoding="utf-8"))
    assert book.visit is not None
    a = assess(book.visit)
    assert [b.verdict for b in a.bonds] == ["not shown"]
    assert a.bonds[0].next is not None
    assert a.bonds[0].next.test == "lead check"


def test_a_check_that_is_not_good_makes_the_series_suspect_as_before() -> None:
    text = (HERE / "00-control.toml").read_text(encoding="utf-8")
    before, _, _ = text.rpartition('[[step]]\ncheck = "shorted"')
    book = read_text(before + CHECK.replace("0.00", "0.75"))
    assert book.visit is not None
    (b,) = assess(book.visit).bonds
    assert b.verdict == "not shown"
    assert not any(x.used for x in b.readings)


@pytest.mark.parametrize(("checked", "verdict"), [(False, "not shown"), (True, "disproved")])
def test_a_poor_joint_wants_the_check_too(checked: bool, verdict: str) -> None:
    """03: a clamp on paint. What reads high may be leads that were not taken out."""
    (b,) = judged("03-paint.toml", checked=checked).bonds
    assert b.verdict == verdict


HEAD = """
[visit]
place = "7 Invented Row"
date = 2026-11-20
kind = "periodic"
temp_c = 20
[supply]
system = "TN-S"
[[leads]]
id = "long"
allowed = "nulled"
null_ohm = 0.4
[[board]]
id = "db1"
"""


def circuits(offset: float, checked: bool) -> Assessment:
    """Five radials, R1+R2 of their copper and an offset."""
    text, steps = HEAD, CHECK
    for number, length in enumerate((8, 13, 19, 27, 36)):
        text += f"""
[[circuit]]
id = "c{number}"
board = "db1"
use = "sockets"
device = "BS EN 60898 B20"
line_mm2 = 2.5
cpc_mm2 = 1.5
length_m = {length}
length_tol_m = 1
"""
        shown = length * (7.41 + 12.1) / 1000 * 0.97 + offset
        steps += f'[[step]]\nread = "r1r2"\nof = "c{number}"\nshown = {shown:.2f}\n'
    book = read_text(text + steps + (CHECK if checked else ""))
    assert book.visit is not None, book.findings
    return assess(book.visit)


def test_a_column_that_is_high_by_one_offset_is_one_question_about_the_leads() -> None:
    a = circuits(0.6, checked=False)
    (said,) = [f for f in a.findings if f.family == "leads.column"]
    assert "All 5 circuits read R1+R2 high by the same" in said.what
    assert not [f for f in a.findings if f.family == "continuity.high"]
    assert all(c.cpc is None or c.cpc.verdict == "not shown" for board in a.boards for c in board.circuits)


def test_a_sound_column_says_nothing_of_the_kind_and_its_conductors_wait_for_the_check() -> None:
    after, before = circuits(0.0, checked=True), circuits(0.0, checked=False)
    for a in (after, before):
        assert not [f for f in a.findings if f.family in ("leads.column", "continuity.high")]
    verdicts = [[c.cpc.verdict for b in a.boards for c in b.circuits if c.cpc] for a in (after, before)]
    assert "proved" in verdicts[0]
    assert set(verdicts[1]) == {"not shown"}
    held = next(
        c.cpc for b in before.boards for c in b.circuits if c.cpc and c.cpc.evidence and c.cpc.evidence.held_by_leads
    )
    assert "the leads were not shorted afterwards" in held.words
