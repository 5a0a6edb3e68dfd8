"""Two visits to one site side by side: what changed in the building, and which readings moved beyond their instruments."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from attrs import frozen

from ..base.digits import Kind
from ..base.quantity import Band
from ..records.replay import Replayed
from ..site.correction import Corrector, function_of
from ..site.events import OUTCOMES, Reading
from ..site.tables import SINGLE
from ..site.visit import Visit
from .next_visit import BUILDING

ADDED, REMOVED, CHANGED = "added", "removed", "changed"
SAME, MOVED, UNCLEAR = "within the instruments", "beyond the instruments", "cannot be compared"
ONE_ONLY = "measured at one visit only"
AGAIN, OTHER = "the same outcome", "another outcome"  # of tests whose outcome is a word
PARTS = ("switch", "rcd")  # tables inside the entry of a board


@frozen
class Change:
    """One difference in the building.

    what  added, removed or changed;  kind, name  which entry;  key, old, new  what of it, empty for a whole entry
    """

    what: str
    kind: str
    name: str
    key: str = ""
    old: str = ""
    new: str = ""


@frozen
class Side:
    """One visit's side of a row: the digits of each reading in order, and the band of the last one [unit of the reading]."""

    shown: tuple[str, ...]
    band: Band | None
    assumed: bool


@frozen
class TestPair:
    """The same test of the same thing at both visits.

    verdict  within the instruments, beyond the instruments, cannot be compared, measured at one visit only; of a test
             whose outcome is a word: the same outcome, another outcome
    why      one sentence
    """

    test: str
    of: str
    point: str
    method: str
    between: str
    old: Side | None
    new: Side | None
    verdict: str
    why: str


@frozen
class Comparison:
    """Everything that two visits say differently."""

    changes: tuple[Change, ...]
    rows: tuple[TestPair, ...]
    temp_c: tuple[float | None, float | None]

    @property
    def moved(self) -> tuple[TestPair, ...]:
        """The rows that differ by more than both instruments allow."""
        return tuple(r for r in self.rows if r.verdict == MOVED)


def compare(old: Replayed, new: Replayed) -> Comparison:
    """Compare two visits to a site. Readings are held against each other by the limits of error of both instruments.

    Two bands that do not touch differ beyond the instruments; a warmer conductor or another route may be the reason.
    """
    a, b = old.book.visit, new.book.visit
    temps = (a.temp_c if a else None, b.temp_c if b else None)
    return Comparison(_changes(old.tables, new.tables), _rows(a, b), temps)


def _changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[Change, ...]:
    found: list[Change] = []
    for kind, drop in BUILDING.items():
        before, after = _named(kind, old), _named(kind, new)
        for name in [*before, *(n for n in after if n not in before)]:
            if name not in after:
                found.append(Change(REMOVED, kind, name))
            elif name not in before:
                found.append(Change(ADDED, kind, name))
            else:
                was, now = _flat(before[name]), _flat(after[name])
                for key in [*was, *(k for k in now if k not in was)]:
                    if key not in drop and was.get(key) != now.get(key):
                        found.append(Change(CHANGED, kind, name, key, _said(was.get(key)), _said(now.get(key))))
    return tuple(found)


def _flat(entry: Mapping[str, Any]) -> dict[str, Any]:
    """An entry with the devices that stand in tables of their own key by key: ``switch.poles``."""
    found: dict[str, Any] = {}
    for key, value in entry.items():
        if key in PARTS and isinstance(value, Mapping):
            found |= {f"{key}.{inner}": v for inner, v in value.items()}
        else:
            found[key] = value
    return found


def _named(kind: str, tables: Mapping[str, Any]) -> dict[str, Mapping[str, Any]]:
    if kind in SINGLE:
        return {kind: tables[kind]} if kind in tables else {}
    entries: Iterable[Mapping[str, Any]] = tables.get(kind, ())
    return {str(e.get("id") or e.get("part") or number): e for number, e in enumerate(entries, 1)}


def _said(value: object) -> str:
    return "" if value is None else str(value).lower() if isinstance(value, bool) else str(value)


_Key = tuple[str, str, str, str, str]


def _rows(old: Visit | None, new: Visit | None) -> tuple[TestPair, ...]:
    before, after = _sides(old), _sides(new)
    found = []
    for key in [*before, *(k for k in after if k not in before)]:
        a, b = before.get(key), after.get(key)
        verdict, why = _held(a, b)
        found.append(TestPair(*key, a, b, verdict, why))
    return tuple(found)


def _held(a: Side | None, b: Side | None) -> tuple[str, str]:
    if a is None or b is None:
        return ONE_ONLY, "There is nothing to hold it against."
    if a.shown[-1] in OUTCOMES and b.shown[-1] in OUTCOMES:
        words = f"{a.shown[-1]} then, {b.shown[-1]} now."
        return (AGAIN if a.shown[-1] == b.shown[-1] else OTHER), words[0].upper() + words[1:]
    if a.band is None or b.band is None:
        return UNCLEAR, "One of the readings has no band: its leads are not known or not trusted, or it has no digits."
    said = " Limits of error are assumed where they were not entered." if a.assumed or b.assumed else ""
    if a.band.unit == b.band.unit and not a.band.touches(b.band):
        return MOVED, f"The bands of the two readings do not touch.{said}"
    return SAME, f"Both instruments together allow the difference.{said}"


def _sides(visit: Visit | None) -> dict[_Key, Side]:
    found: dict[_Key, Side] = {}
    if visit is None:
        return found
    corrector = Corrector(visit)
    for event in visit.events:
        if isinstance(event, Reading) and (event.shown is not None or event.outcome) and not event.refused:
            key = (event.test, event.of, event.point, event.method, event.between)
            before = found[key].shown if key in found else ()
            shown = event.outcome if event.shown is None else event.shown.as_shown
            band, assumed = _band(visit, event, corrector)
            found[key] = Side((*before, shown), band, assumed)
    return found


def _band(visit: Visit, reading: Reading, corrector: Corrector) -> tuple[Band | None, bool]:
    """What the true value may have been by the limits of error of the instrument and what the leads add."""
    shown = reading.shown
    if shown is None or any(reading.seq in u.readings or 0 < u.since <= reading.seq for u in visit.unread):
        return None, False
    if not function_of(reading):
        return None, False
    corrected = corrector.corrected(reading)
    assumed = not corrected.accuracy.stated
    if shown.kind is Kind.OVER:
        return Band(float(shown.digits) or corrected.accuracy.top, float("inf"), shown.unit), assumed
    return (None if corrected.trust.suspect else corrected.band), assumed
