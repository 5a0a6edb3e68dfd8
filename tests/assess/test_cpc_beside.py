"""R2 where other metal lies beside a sub-main as well, or comes in before the end of a cable: sums by hand.

20 °C. f1 60 m of 6 mm² is 60 × 3.08 = 0.185 Ω, c7 20 m of 2.5 mm² is 20 × 7.41 = 0.148 Ω, the bond 9 m of 10 mm² is
9 × 1.83 = 0.016 Ω and joins c7 at the bed through the frame.
"""

from __future__ import annotations

import pytest

from earthwright.assess import assess
from earthwright.base.errors import Severity
from earthwright.outcomes.assessment import Assessment
from earthwright.outcomes.circuits import CpcJudged, TestJudged
from earthwright.outcomes.verdict import NOT_DECIDED
from earthwright.visitbook import read_text

HEAD = """
[visit]
place = "9 Tenter Row, Harle"
date = 2026-11-20
kind = "periodic"
temp_c = 20
whole_site = true
[supply]
system = "TN-S"
[[leads]]
id = "long"
allowed = "nulled"
null_ohm = 0.2
[[part]]
id = "steel"
kind = "steel"
[[bond]]
part = "steel"
csa_mm2 = 10
length_m = 9
length_tol_m = 1
[[board]]
id = "db1"
[[board]]
id = "db2"
fed_by = "f1"
[[circuit]]
id = "f1"
board = "db1"
use = "distribution"
line_mm2 = 10
cpc_mm2 = 6
length_m = 60
length_tol_m = 1
[[circuit]]
id = "c7"
board = "db2"
use = "fixed"
line_mm2 = 2.5
cpc_mm2 = 2.5
length_m = 20
length_tol_m = 1
points = { bed = 20 }
[[circuit]]
id = "c8"
board = "db2"
use = "fixed"
line_mm2 = 2.5
cpc_mm2 = 2.5
length_m = 30
length_tol_m = 1
points = { bed = 29 }
"""
FRAME = """
[[link]]
id = "frame"
between = ["steel", "c7@bed"]
low_ohm = 0.0
high_ohm = 0.02
"""
GOOD = """
[[step]]
check = "shorted"
leads = "long"
shown = 0.00
"""


def r2(shown: object, of: str = "c7", between: str = "MET", point: str = "bed", test: str = "r2") -> str:
    where = f'between = "{between}"\n' if between else ""
    at = f'point = "{point}"\n' if point else ""
    digits = f'"{shown}"' if isinstance(shown, str) else f"{shown:.2f}"
    return f'\n[[step]]\nread = "{test}"\nof = "{of}"\n{at}{where}leads = "long"\nshown = {digits}\n'


def bond(test: str, shown: float) -> str:
    return f'\n[[step]]\nread = "{test}"\nbond = "steel"\nleads = "long"\nshown = {shown:.2f}\n'


OFF, ON = '\n[[step]]\noff = "steel"\n', '\n[[step]]\non = "steel"\n'


def judged(steps: str, head: str = HEAD + FRAME) -> Assessment:
    book = read_text(head + GOOD + steps + GOOD)
    assert book.visit is not None
    assert not [f for f in book.findings if f.severity is Severity.ERROR]
    return assess(book.visit, found=book.findings)


def row(a: Assessment, circuit: str = "c7", test: str = "r2") -> TestJudged:
    return next(
        t
        for b in a.boards
        for c in b.circuits
        for t in c.tests
        if c.circuit.id == circuit and t.test == test and t.readings
    )


def cpc(a: Assessment, circuit: str = "c7") -> CpcJudged:
    found = next(c.cpc for b in a.boards for c in b.circuits if c.circuit.id == circuit)
    assert found is not None
    return found


def families(a: Assessment) -> set[str]:
    return {f.family for f in a.findings if f.severity is Severity.WARNING}


def test_metal_beside_circuit_and_sub_main_is_beside_both() -> None:
    """Low: (59 × 3.08 + 19 × 7.41) × 0.93 mΩ = 0.300 Ω beside 8 × 1.83 × 0.93 mΩ = 0.0136 Ω is 0.0130 Ω.

    High: 0.02 + 61 × 3.08 mΩ + 21 × 7.41 mΩ = 0.3635 Ω beside 0.0183 + 0.01 + 0.02 = 0.0483 Ω is 0.0426 Ω, and 0.025 Ω
    of connections.
    """
    a = judged(r2(0.03))
    found = row(a)
    assert found.expected is not None
    assert found.expected.low == pytest.approx(0.0130, abs=5e-5)
    assert found.expected.high == pytest.approx(0.0676, abs=5e-5)
    assert found.inside is True
    assert found.outcome == NOT_DECIDED  # the metal answers by itself
    assert families(a) == set()
    assert cpc(a).verdict == "not shown"
    assert "Length that the reading stands for" not in " ".join(found.sums)


def test_with_the_other_metal_parted_the_sub_main_is_in_series() -> None:
    """From the MET with the bond off: 0.02 + 0.185 + 0.148 Ω; over-range is a break in c7 or in the sub-main before it."""
    a = judged(OFF + r2(0.33))
    found = row(a)
    assert found.expected is not None
    assert found.expected.low == pytest.approx(0.300, abs=1e-3)
    assert found.inside is True
    weighed = cpc(a).evidence
    assert weighed is not None
    assert weighed.whole_over_open > 1.0
    lengths = next(s for s in found.sums if s.startswith("Length that the reading stands for"))
    assert lengths == "Length that the reading stands for: 12 to 29 m"  # 0.30 to 0.36 Ω less 0.17 to 0.21 Ω
    open_ = cpc(judged(OFF + r2("over-range")))
    assert (open_.verdict, open_.named) == ("disproved", "open")
    assert "the protective conductor of c7 to bed, or that of f1 before it, is not continuous" in open_.words


def test_the_whole_network_counts_the_sub_main_once() -> None:
    a = judged(OFF + bond("conductor", 0.02) + bond("path", 0.34) + r2(0.33) + ON + r2(0.03))
    assert a.site_evidence is not None
    assert not a.site_evidence.misfits
    assert a.site_evidence.of("c7:cpc").evidence.posterior["whole"] > 0.7


def test_two_circuits_of_one_sub_main_do_not_double_its_copper() -> None:
    """f1 and then c7 and c8 side by side are 0.185 + 0.088 Ω; counted twice f1 would make a path of 0.17 Ω of it."""
    second = FRAME.replace('id = "frame"', 'id = "second"').replace("c7@", "c8@")
    a = judged(OFF + bond("conductor", 0.02) + bond("path", 0.28), HEAD + FRAME + second)
    assert a.site_evidence is not None
    assert [b.bond for b in a.site_evidence.bonds] == ["steel", "c7:cpc"]
    to_board = FRAME.replace('id = "frame"', 'id = "second"').replace('"c7@bed"', '"db2"')
    a = judged(OFF + bond("conductor", 0.02) + bond("path", 0.20), HEAD + FRAME + to_board)
    assert a.site_evidence is not None
    assert [b.bond for b in a.site_evidence.bonds] == ["steel", "f1:cpc"]
    assert not a.site_evidence.misfits


def test_an_end_of_a_sub_main_takes_the_conductor_off_that_leads_over_it() -> None:
    """With f1 off the frame alone is left: bond and frame, 0.02 Ω, and nothing of c7 beside it."""
    off = '\n[[step]]\noff = "f1:cpc"\n' + r2(0.03) + bond("together", 0.02)
    a = judged(off)
    assert a.site_evidence is not None
    assert not a.site_evidence.misfits
    found = cpc(a)
    assert found.verdict == "not shown"
    assert any("of all but it" in line for line in found.sums)


def test_metal_that_comes_in_before_the_end_leaves_the_rest_in_series() -> None:
    """From the bar of db2 to the far end, metal at 10 m of 30: (10 m beside f1 and the bond) and 20 m after it.

    Low: 9 × 7.41 × 0.93 = 0.062 Ω beside 0.169 + 0.0136 Ω is 0.0463 Ω, and (29 − 9) × 7.41 × 0.93 = 0.1378 Ω: 0.184 Ω.
    Taken as if it joined the end it would be 0.122 Ω at the least, and 0.16 at the most.
    """
    head = HEAD.replace("points = { bed = 29 }", "points = { bed = 10 }") + FRAME.replace("c7@", "c8@")
    a = judged(r2(0.20, "c8", "", ""), head)
    found = row(a, "c8")
    assert found.expected is not None
    assert found.expected.low == pytest.approx(0.184, abs=1e-3)
    assert found.inside is True
    assert families(a) == set()
    assert cpc(a, "c8").verdict == "not shown"
    assert set(cpc(a, "c8").others) == {"frame", "the protective conductor of f1", "the bond steel"}
    open_ = cpc(judged(r2("over-range", "c8", "", ""), head), "c8")
    assert open_.verdict == "disproved"


def test_only_what_would_explain_the_digits_is_named_and_no_length_beside_other_metal() -> None:
    """From the bar 0.15 Ω is c7 alone: the frame, the bond or f1 must be open, and no route of other metres explains it."""
    a = judged(r2(0.15, between=""))
    finding = next(f for f in a.findings if f.family == "continuity.alone")
    assert "do not all help as entered" in finding.what
    assert "frame" in finding.what
    assert "the bond steel" in finding.what
    assert "the protective conductor of c7" not in finding.what
    high = judged(r2(0.40, between=""))
    said = next(f for f in high.findings if f.family == "continuity.high")
    assert "a route of" not in said.sentence()
    assert "cpc of" not in said.sentence()


def test_the_free_end_proves_the_conductor_although_the_furthest_point_was_read_too() -> None:
    """0.17 Ω from the free end to the bed, the end of the cable, and 0.02 Ω to the furthest point with the metal beside it."""
    free = '\n[[step]]\noff = "c7:cpc"\n' + r2(0.15, between="free end") + '\n[[step]]\non = "c7:cpc"\n'
    found = cpc(judged(free + r2(0.06, between="", point="")))
    assert found.verdict == "proved"
    assert len(found.used) == 2
    lone = cpc(judged(r2(0.06, between="", point="")))
    assert lone.verdict == "not shown"


def test_a_free_end_that_no_step_took_off_is_a_contradiction() -> None:
    a = judged(r2(0.15, between="free end"))
    found = row(a)
    assert found.outcome == NOT_DECIDED
    said = next(f for f in a.findings if f.family == "state.contradiction")
    assert said.where == "circuit c7, reading r1"
    assert said.expected == "'off = \"c7:cpc\"' in a step before it"
    assert cpc(a).verdict == "not shown"
    assert cpc(a).used == ()


def test_a_link_of_a_size_that_is_not_in_the_data_is_said() -> None:
    odd = FRAME.replace("low_ohm = 0.0\nhigh_ohm = 0.02", "csa_mm2 = 4.7\nlength_m = 3")
    a = judged(r2(0.03), HEAD + odd)
    said = next(f for f in a.findings if f.family == "rules.conductor")
    assert said.where == "link frame: csa_mm2"
    assert not [f for f in judged(r2(0.03)).findings if f.family == "rules.conductor"]
