"""Visits that an experienced inspector would try, each with what he concludes from it.

The visit books and the conclusions come from the trade (common practice where no clause is named); where a conclusion
was disputed, ``expected.txt`` says who is right and why.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.report.observations import overall, propose, urgency
from earthwright.report.record import as_text
from earthwright.visitbook import read_text

FOLDER = Path(__file__).parent / "practice"
LINES = [line.split(": ", 1) for line in (FOLDER / "expected.txt").read_text("utf-8").splitlines() if line[:1] != "#"]
EXPECTED = {name: [c.strip() for c in conditions.split(";")] for name, conditions in LINES}
NOT_YET = set((FOLDER / "not-yet.txt").read_text("utf-8").splitlines())
CASES = [(name, condition) for name, conditions in EXPECTED.items() for condition in conditions]


@cache
def judged(name: str) -> Assessment:
    book = read_text((FOLDER / f"{name}.toml").read_text("utf-8"))
    assert book.visit is not None
    return assess(book.visit, found=book.findings, broken=book.broken)


def rows(a: Assessment) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    circuits = [c for b in a.boards for c in b.circuits]
    for t in (*a.origin, *(t for b in a.boards for t in b.tests), *(t for c in circuits for t in c.tests)):
        found.setdefault(f"{t.of}.{t.test}", set()).add(t.outcome)
    return found


def verdict(a: Assessment, kind: str, name: str) -> str:
    circuits = {c.circuit.id: c for b in a.boards for c in b.circuits}
    if kind in ("bond", "size"):
        bond = next(b for b in a.bonds if b.bond.id == name)
        return bond.verdict if kind == "bond" else bond.size.judged.outcome
    thing = circuits[name].ring if kind == "ring" else circuits[name].cpc
    return thing.verdict if thing else "nothing"


def said(a: Assessment) -> str:
    return as_text(a) + "\n".join(" ".join((p.code, p.what, *p.because, p.clause)) for p in propose(a))


def holds(a: Assessment, condition: str) -> tuple[bool, object]:
    """Whether a condition of ``expected.txt`` holds, and what was found."""
    codes = sorted({p.code for p in propose(a)}, key=urgency)
    if condition == "no codes":
        return not codes, codes
    if condition == "quiet":
        loud = [f.sentence() for f in a.findings if f.severity.value != "note"]
        return not loud, loud
    if condition.startswith("no code "):
        return condition[8:] not in codes, codes
    if condition.startswith("code "):
        return bool(set(condition[5:].split("|")) & set(codes)), codes
    if condition.startswith("at most "):
        return all(urgency(c) >= urgency(condition[8:]) for c in codes), codes
    if condition.startswith("says "):
        return bool(re.search(condition[5:], said(a))), "the record"
    if condition.startswith("never "):
        return not re.search(condition[6:], said(a)), "the record"
    what, _, wanted = (part.strip() for part in condition.partition("="))
    if what == "overall":
        found = overall(a).proposed
        return found == wanted, found
    kind, _, name = what.partition(" ")
    if kind == "row":
        outcomes = rows(a).get(name, set())
        right = wanted[1:] not in outcomes if wanted.startswith("!") else bool(outcomes & set(wanted.split("|")))
        return right and bool(outcomes), outcomes
    found = verdict(a, kind, name)
    return found in wanted.split("|"), found


@pytest.mark.parametrize(("name", "condition"), CASES, ids=[f"{n}: {c}" for n, c in CASES])
def test_what_an_experienced_inspector_concludes(name: str, condition: str) -> None:
    right, found = holds(judged(name), condition)
    assert right or f"{name}: {condition}" in NOT_YET, found


def test_every_visit_of_the_folder_has_a_conclusion() -> None:
    assert {p.stem for p in FOLDER.glob("*.toml")} == set(EXPECTED)
