"""A bond that reads high: a thinner conductor is looked at first, and a reading that moves is no thinner conductor."""

from __future__ import annotations

import pytest

from earthwright.assess import assess
from earthwright.outcomes.assessment import BondJudged
from earthwright.visitbook import read_text

BOOK = """
[visit]
place = "An invented house"
date = 2026-11-20
kind = "bonding"
[supply]
system = "TN-C-S"
pme = true
line_mm2 = 25
neutral_at_most_mm2 = 35
earthing_mm2 = 16
[[leads]]
id = "long"
allowed = "nulled"
null_ohm = 0.2
[[part]]
id = "water"
kind = "water"
[[bond]]
part = "water"
csa_mm2 = 10
length_m = 20
length_tol_m = 1
[[step]]
check = "shorted"
shown = "0.00"
[[step]]
read = "joint"
bond = "water"
shown = "0.00"
[[step]]
off = "water"
read = "conductor"
bond = "water"
shown = DIGITS
[[step]]
read = "path"
bond = "water"
shown = "over-range"
[[step]]
on = "water"
read = "together"
bond = "water"
shown = "0.10"
[[step]]
check = "shorted"
shown = "0.00"
"""


def bond(digits: str) -> BondJudged:
    book = read_text(BOOK.replace("DIGITS", digits))
    assert book.visit is not None
    return assess(book.visit).bonds[0]


def test_the_customary_4_mm2_is_looked_at_before_any_damage_is_looked_for() -> None:
    """20 m of 4 mm² is 0.086 to 0.10 Ω, of 10 mm² 0.034 to 0.037 Ω."""
    b = bond('["0.10", "0.09"]')
    assert (b.verdict, b.explanations[0].kind) == ("disproved", "size")
    assert b.next is not None
    assert b.next.do.startswith("Count and measure the strands first: the digits fit 4 mm²")


@pytest.mark.parametrize(("digits", "kind"), [('["0.10", "0.11"]', "size"), ('["0.10", "0.18", "0.08"]', "contact")])
def test_a_reading_that_moves_is_no_thinner_conductor(digits: str, kind: str) -> None:
    """Two digits and 3 % either way, and the rounding, leave 0.057 Ω between honest repeats near 0.12 Ω."""
    b = bond(digits)
    assert b.explanations[0].kind == kind
    assert (kind == "contact") is not any(x.kind == "size" for x in b.explanations)
    assert b.next is not None
    assert ("Press the probes on bare metal" in b.next.do) is (kind == "contact")


@pytest.mark.parametrize(
    ("digits", "told"), [('["0.06", "0.05"]', True), ('["0.05", "0.04"]', False), ('"0.05"', False)]
)
def test_a_whole_bond_whose_digits_all_fit_the_next_smaller_size_is_asked_about(digits: str, told: bool) -> None:
    """18 m of 10 mm² and its joint is 0.044 Ω at most; together reads as the conductor does, since no path is there."""
    text = BOOK.replace("length_m = 20", "length_m = 18").replace('"0.10"', '"0.05"').replace("DIGITS", digits)
    book = read_text(text)
    assert book.visit is not None
    a = assess(book.visit)
    assert a.bonds[0].verdict == "proved"
    assert any(f.family == "size.digits" and "6 mm²" in f.what for f in a.findings) is told
