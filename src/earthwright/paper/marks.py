"""Which results of a circuit fail or are not decided: they bear a sign in print, so that none is told by colour alone."""

from __future__ import annotations

from collections.abc import Iterable

from ..evidence.bond import DISPROVED
from ..outcomes.circuits import CircuitJudged, TestJudged
from ..outcomes.verdict import FAILS, NOT_DECIDED
from ..site.needs import LIVE_TO_LIVE, TO_EARTH
from .circuits import RESULTS, RESULTS_READ

FAILED, OPEN = "✗", "?"
SIGNS = {FAILS: FAILED, NOT_DECIDED: OPEN}
# What proves continuity is a verdict on the conductor, not an ohm figure: left open there, it stands in the remarks.
_BY_VERDICT = ("r1 Ω", "rn Ω", "r2 Ω", "R1+R2 Ω", "R2 Ω")
_INSULATION = {"L–L, L–N MΩ": LIVE_TO_LIVE, "L–E MΩ": TO_EARTH}


def sign_of(outcome: str) -> str:
    """The sign of an outcome; empty where there is nothing to be marked."""
    return SIGNS.get(outcome, "")


def told(value: str, outcomes: Iterable[str]) -> str:
    """A value outside a schedule with its sign and the word for it; as it is where nothing fails or is left open."""
    found = set(outcomes)
    outcome = next((o for o in (FAILS, NOT_DECIDED) if o in found), "")
    return f"{value} {SIGNS[outcome]} {outcome}" if value and outcome else value


def marks(c: CircuitJudged) -> tuple[str, ...]:
    """A sign for each column of the results, or nothing; a failure goes before what is left open."""
    return tuple(_mark(c, column) for column in RESULTS)


def marked(value: str, sign: str) -> str:
    """A value as printed with its sign."""
    return f"{value} {sign}" if value and sign else value


def _mark(c: CircuitJudged, column: str) -> str:
    if column in _INSULATION:
        wanted = _INSULATION[column]
        return _worst(t for t in c.tests if t.test == "insulation" and any(r.between in wanted for r in t.readings))
    test = RESULTS_READ[column][0] if column in RESULTS_READ and column != "Test V" else ""
    if column == "AFDD button" and not c.circuit.device.afdd:
        return ""
    if column in ("r1 Ω", "rn Ω", "r2 Ω") and c.ring is not None and c.ring.verdict == DISPROVED:
        return FAILED
    sign = _worst(t for t in c.tests if t.test == test)
    return "" if sign == OPEN and column in _BY_VERDICT else sign


def _worst(tests: Iterable[TestJudged]) -> str:
    found = {sign_of(t.outcome) for t in tests if not t.absent}
    return next((s for s in (FAILED, OPEN) if s in found), "")
