"""Values equal to those of the last visit: the same circuit over years moves by a few digits, and rarely by none."""

from __future__ import annotations

from ...base.errors import Finding
from . import chance
from .series import Series, key_of, latest, rows_of, severity_of

# Readings of one sound conductor on two days: even a very steady instrument rounds one time in two to another digit.
SAME = 0.5
# Below five digits there is little room to move.
SMALL, SAME_SMALL = 5.0, 0.8


def from_last_visit(series: Series) -> list[Finding]:
    """More readings equal to the last digit, by thing and test, than chance allows."""
    if series.previous is None:
        return []
    before = {key_of(r.reading): r for r in latest(rows_of(series.previous))}
    both = [(r, before[key_of(r.reading)]) for r in latest(series.rows) if key_of(r.reading) in before]
    if not both:
        return []
    chances = [SAME_SMALL if r.value < SMALL * r.accuracy.step else SAME for r, _ in both]
    same = [r for r, old in both if r.shown.digits == old.shown.digits and r.shown.unit == old.shown.unit]
    p = chance.corrected(chance.at_least(len(same), chances), 1)
    severity = severity_of(p)
    if severity is None:
        return []
    return [
        Finding(
            "readings",
            f"{len(same)} of {len(both)} readings are those of {series.previous.date.isoformat()}, to the last digit.",
            severity,
            "rows.carried_over",
            "",
            "digits that moved by one or two on many rows",
            f"{len(same)} of {len(both)} the same",
            "Read a few of them again; enter results only from a display of this visit.",
            "The old report may have been taken as a form to write over, with rows that nobody got to. "
            + chance.sentence(
                "An honest second reading shows the same digits one time in two at the most; if so", p, 1, "rows"
            ),
        )
    ]
