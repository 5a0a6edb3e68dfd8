"""Notes of one family said once for the whole visit: a page of ten like notes is not read, and the eleventh may matter.

Only notes, and only of families that ask for one thing in many places; what is louder keeps its own place.
"""

from __future__ import annotations

from collections.abc import Iterable

from attrs import evolve

from ...base.errors import Finding, Severity

# What can be read in one way only asks nothing of the inspector: told where it is entered, and the row shows what was read.
SPELLING = "input.spelling"
FAMILIES = ("input.unit", "tests.missing", "ring.not_read", "path.parallel", "resolution.below", "rules.conductor")


def folded(findings: Iterable[Finding]) -> list[Finding]:
    """The findings in their order, the notes of each of these families as one, at the place of the first."""
    some = [f for f in dict.fromkeys(findings) if (f.family, f.severity) != (SPELLING, Severity.NOTE)]
    by_family = {name: [f for f in some if f.family == name and f.severity is Severity.NOTE] for name in FAMILIES}
    several = {name: mine for name, mine in by_family.items() if len(mine) > 1}
    first = {id(mine[0]): _one(mine) for mine in several.values()}
    rest = {id(f) for mine in several.values() for f in mine[1:]}
    return [first.get(id(f), f) for f in some if id(f) not in rest]


def _one(some: list[Finding]) -> Finding:
    """Like notes as one: the places together where they say the same, else each place with what it says."""
    one = some[0]
    if all(f.what == one.what for f in some):
        found = "; ".join(f"{f.where}: {f.found}" for f in some if f.found)
        return evolve(one, where=", ".join(f.where for f in some), entry="", found=found, expected="")
    what = "; ".join(f"{f.where}: {_short(f)}" for f in some)
    return evolve(one, where=f"{len(some)} entries", what=f"{what}.", entry="", found="", expected=_same(some))


def _short(f: Finding) -> str:
    text = f.what.rstrip(".")
    return f"{f.found}: {text[:1].lower()}{text[1:]}" if f.family == "input.unit" else text[:1].lower() + text[1:]


def _same(some: list[Finding]) -> str:
    """What was expected, where it was the same everywhere."""
    return some[0].expected if all(f.expected == some[0].expected for f in some) else ""
