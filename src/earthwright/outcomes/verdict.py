"""A value against a limit: *meets*, *fails*, *not decided*, *no rule*, by a stated decision rule."""

from __future__ import annotations

from typing import Protocol

from attrs import frozen

from ..base.errors import UnitError
from ..base.quantity import Band, Limit, Quantity

MEETS, FAILS, NOT_DECIDED, NO_RULE = "meets", "fails", "not decided", "no rule"
SIMPLE, GUARDED = "simple", "guarded"
DECISIONS = {
    SIMPLE: "the corrected value is compared with the limit",
    GUARDED: "the whole 95 % interval must lie on one side of the limit",
}


@frozen
class Judged:
    """The outcome of one comparison, with all that is needed to print it.

    outcome     by the decision rule that was chosen;  simple, guarded  by each of the two
    difference  limit minus value for a maximum, value minus limit for a minimum: how much is left [unit of the limit]
    why         one sentence
    """

    outcome: str
    limit: Limit | None
    decision: str = SIMPLE
    simple: str = NO_RULE
    guarded: str = NO_RULE
    difference: float | None = None
    why: str = ""

    @property
    def differ(self) -> bool:
        """Whether the two decision rules come to different outcomes, which is then printed."""
        return self.simple != self.guarded


def no_rule(why: str) -> Judged:
    """No rule covers the case; ``why`` is what the look-up said."""
    return Judged(NO_RULE, None, why=why)


def not_decided(limit: Limit | None, why: str) -> Judged:
    """There is a rule, but something needed to apply it is missing."""
    return Judged(NOT_DECIDED, limit, simple=NOT_DECIDED, guarded=NOT_DECIDED, why=why)


def judge(value: Quantity, limit: Limit, decision: str = SIMPLE) -> Judged:
    """Hold a quantity against a limit; a value exactly at the limit meets it."""
    interval = value.interval()
    return _both(value.value, interval.low, interval.high, value.unit, limit, decision)


def judge_band(band: Band, limit: Limit, decision: str = GUARDED) -> Judged:
    """Hold a band against a limit: decided only when the whole band lies on one side (for inequalities)."""
    low, high = _side(band.low, limit), _side(band.high, limit)
    outcome = low if low == high else NOT_DECIDED
    return Judged(outcome, limit, decision, outcome, outcome)


def _side(value: float, limit: Limit) -> str:
    inside = value <= limit.value if limit.side == "max" else value >= limit.value
    return MEETS if inside else FAILS


def _both(value: float, low: float, high: float, unit: str, limit: Limit, decision: str) -> Judged:
    if unit != limit.unit:
        raise UnitError(f"a value in {unit} cannot be held against a limit in {limit.unit}")
    if decision not in DECISIONS:
        raise ValueError(f"decision rule is one of {sorted(DECISIONS)}, not {decision!r}")
    simple = _side(value, limit)
    edges = {_side(low, limit), _side(high, limit)}
    guarded = edges.pop() if len(edges) == 1 else NOT_DECIDED
    difference = limit.value - value if limit.side == "max" else value - limit.value
    return Judged(simple if decision == SIMPLE else guarded, limit, decision, simple, guarded, difference)


class Named(Protocol):
    """A verdict on a conductor, and the fault that it names."""

    @property
    def verdict(self) -> str: ...
    @property
    def named(self) -> str: ...


def with_named(judged: Named) -> str:
    """The verdict with what it names: ``disproved: open``."""
    return f"{judged.verdict}: {judged.named}" if judged.named else judged.verdict
