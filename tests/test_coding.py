"""Which code a finding gets, just below, at and above what it turns on: parts, bond sizes, polarity, loops."""

from __future__ import annotations

import pytest

from earthwright.assess import assess
from earthwright.base.errors import Severity
from earthwright.outcomes.assessment import Assessment
from earthwright.report.observations import overall, propose
from earthwright.visitbook import read_text

HEAD = "[visit]\nplace = 'Nowhere'\ndate = 2026-11-20\nkind = 'periodic'\n[supply]\nsystem = 'TN-C-S'\npme = true\n{supply}\n"
DEAD = "".join(
    f"[[step]]\nisolated = '{stage}'\n" + ("pairs = 'L-N, L-E, N-E'\n" if stage == "dead" else "")
    for stage in ("locked", "tester proved", "dead", "tester proved again")
)


def judged(more: str, supply: str = "neutral_at_most_mm2 = 35") -> Assessment:
    book = read_text(HEAD.format(supply=supply) + more)
    assert book.visit is not None
    assert [f.sentence() for f in book.findings if f.severity is Severity.ERROR] == []
    return assess(book.visit, found=book.findings)


def codes(a: Assessment) -> dict[str, str]:
    return {p.name: p.code for p in propose(a)}


# ---- extraneous and unbonded ----

PIPE = "[[part]]\nid = 'p'\nkind = '{kind}'\n{more}"
OHMS = "[[step]]\nread = 'extraneous'\nof = 'p'\nshown = '{shown}'\n"


@pytest.mark.parametrize(
    ("kind", "shown", "found"),
    [
        ("gas", "12", {"part.unbonded": "C2"}),
        ("oil", "22000", {"part.unbonded": "C2"}),
        ("oil", "22010", {}),
        ("oil", "180000", {}),
        ("ducting", "300", {"part.unbonded": "C2"}),  # a kind that is not asked about, but it was measured
        ("ducting", "", {}),
        ("gas", "", {"part.unsettled": "FI"}),
    ],
)
def test_a_part_without_a_bond_is_coded_by_its_reading(kind: str, shown: str, found: dict[str, str]) -> None:
    a = judged(PIPE.format(kind=kind, more="") + DEAD + (OHMS.format(shown=shown) if shown else ""))
    assert codes(a) == found
    if found.get("part.unbonded"):
        assert overall(a).proposed == "unsatisfactory"
        assert "Read to the MET" in propose(a)[0].because[0]


def test_plastic_gets_no_code_and_metal_of_the_transporter_says_whose_it_is() -> None:
    assert codes(judged(PIPE.format(kind="water", more="material = 'MDPE'\n"))) == {}
    owned = judged(PIPE.format(kind="gas", more="owner = 'gas transporter'\n") + DEAD + OHMS.format(shown="300"))
    assert codes(owned) == {"part.unbonded": "C2"}
    assert any("gas transporter" in line for line in propose(owned)[0].because)


def test_metal_that_still_joins_the_two_leaves_it_open() -> None:
    """Under 1 Ω is metal, not soil: a boiler's protective conductor answers, so nothing is shown about the ground."""
    for shown, found in (("0.50", {"part.unsettled": "FI"}), ("3", {"part.unbonded": "C2"})):
        assert codes(judged(PIPE.format(kind="gas", more="") + DEAD + OHMS.format(shown=shown))) == found


def test_a_supplementary_bond_is_no_main_bond() -> None:
    bond = "[[bond]]\npart = 'p'\ncsa_mm2 = 4\nlength_m = 3\nlength_tol_m = 0.5\nsupplementary = true\n"
    a = judged(PIPE.format(kind="gas", more="") + bond + DEAD + "[[step]]\noff = 'p'\n" + OHMS.format(shown="300"))
    assert codes(a)["part.unbonded"] == "C2"


# ---- bonds too small: C3 is one standard size short and not below 6 mm² ----

BOND = "[[part]]\nid = 'p'\nkind = 'water'\n[[bond]]\npart = 'p'\ncsa_mm2 = {csa}\nlength_m = 8\nmaterial = '{of}'\n"


@pytest.mark.parametrize(
    ("neutral", "csa", "of", "code"),
    [
        (35, 4, "copper", "C2"),
        (35, 6, "copper", "C3"),
        (35, 10, "copper", None),
        (50, 6, "copper", "C2"),  # 16 asked
        (50, 10, "copper", "C3"),
        (240, 10, "copper", "C2"),  # 50 asked
        (240, 25, "copper", "C2"),
        (240, 35, "copper", "C3"),
        (240, 50, "copper", None),
        (35, 10, "aluminium", "C2"),  # like 5.9 mm² of copper
        (35, 16, "aluminium", "C3"),  # like 9.6 mm²
        (35, 25, "aluminium", None),  # like 15.1 mm²
    ],
)
def test_the_code_of_a_bond_by_how_far_it_is_short(neutral: int, csa: float, of: str, code: str | None) -> None:
    a = judged(BOND.format(csa=csa, of=of), f"neutral_mm2 = {neutral}")
    assert codes(a).get("bond.size") == code


def test_aluminium_is_said_to_be_aluminium() -> None:
    (size,) = (p for p in propose(judged(BOND.format(csa=16, of="aluminium"))) if p.name == "bond.size")
    assert "16 mm² of aluminium, which conducts like 9.6 mm² of copper; 10 mm² of copper is asked for" in size.what


# ---- polarity ----

BOARD = "[[board]]\nid = 'db1'\n[[circuit]]\nid = 'c1'\ndevice = 'BS EN 60898 B20'\nline_mm2 = 2.5\ncpc_mm2 = 1.5\n"


@pytest.mark.parametrize(("of", "code"), [("origin", "C1"), ("db1", "C1"), ("c1", "C2")])
def test_reversed_polarity_of_a_supply_is_danger_now(of: str, code: str) -> None:
    a = judged(BOARD + f"[[step]]\nread = 'polarity'\nof = '{of}'\noutcome = 'bad'\n")
    assert codes(a)["test.polarity"] == code
