"""What is said of a ring: one verdict in words, the figures it rests on, and something to do unless it is proved."""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path

import pytest

from earthwright.assess.circuits.words_ring import fault_finding, named, ring_sums, ring_words
from earthwright.base.errors import Severity
from earthwright.evidence.ring import fit_ring
from earthwright.evidence.ring.faults import FAULTS
from earthwright.site.assumptions import USUAL
from earthwright.site.installation import Circuit

RING = Circuit("r", "db1", kind="ring")
SPEC = importlib.util.spec_from_file_location("ring_study", Path(__file__).parents[2] / "benchmarks" / "ring_study.py")
assert SPEC is not None
assert SPEC.loader is not None
STUDY = importlib.util.module_from_spec(SPEC)
sys.modules["ring_study"] = STUDY
SPEC.loader.exec_module(STUDY)

WORD = {
    "proved": "Proved: the ring is whole.",
    "disproved": "Disproved: the ring is not whole.",
    "not shown": "Not shown: whether",
}


@pytest.mark.parametrize("seed", range(300, 345))
def test_one_verdict_its_figures_and_what_to_do(seed: int) -> None:
    case = STUDY.invent(seed)
    fit = fit_ring(case.test)
    words = ring_words(RING, case.test, fit, ())
    assert [v for v, said in WORD.items() if said in words] == [fit.verdict]
    assert words.startswith("r1 ")
    assert not re.search(r"\b(safe|nan|inf|None)\b", words)
    assert ".." not in words
    assert words.endswith(".")
    finding = fault_finding("circuit r, ring", RING, case.test, fit)
    if fit.verdict == "proved":
        assert "is not told from a whole ring" in words
    else:
        assert finding is not None
        assert finding.do
        assert finding.severity in (Severity.WARNING, Severity.NOTE)
    if fit.named and fit.verdict == "disproved":
        assert finding is not None
        assert named(fit.named) in finding.what
    if fit.where_m is not None and fit.named not in ("", "bridge"):
        assert f"{round(fit.where_m.low)} to {round(fit.where_m.high)} m" in words
    sums = ring_sums(case.test, fit, USUAL.make)
    assert any("2 is asked for" in line for line in sums)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda f: f.name)
def test_every_wiring_has_a_name_that_fits_into_a_sentence(fault: object) -> None:
    words = named(getattr(fault, "name", ""))
    assert words.split()[0] in ("a", "legs")
    assert "cross-linked" not in words
