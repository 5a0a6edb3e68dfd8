"""What clamp currents and voltages say before something is opened; of one that could not be read no earlier one takes the place."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from ..base.digits import Kind, Shown
from ..site.events import ClampCurrent, Volts
from ..site.ledger import newest_currents
from ..site.visit import Unread, Visit

CLAMP, VOLTS = "clamp", "volts"  # the keys of such steps


def over_limit(visit: Visit, on: str) -> ClampCurrent | None:
    """The clamp current that forbids opening a conductor: the newest of all, or the newest of either state."""
    before, after = newest_currents(visit.events, on)
    stop = visit.choices.clamp_stop_a
    for event in sorted((e for e in (before, after) if e is not None), key=lambda e: -e.seq):
        if event.shown.value > stop:
            return event
    return None


def dropped_current(visit: Visit, on: str) -> Unread | None:
    """A current of a conductor that could not be read and that no later one, in the same state, stands in for."""
    for u in _dropped(visit, CLAMP):
        if u.of in ("", on):
            lost = ClampCurrent(seq=u.step, on=on, shown=Shown("", Decimal(0), Decimal(1), "A", Kind.OVER))
            events = [*visit.events[: u.step - 1], lost, *visit.events[u.step - 1 :]]
            if any(e is lost for e in newest_currents(events, on)):
                return u
    return None


def dropped_volts(visit: Visit) -> Unread | None:
    """A voltage that could not be read and that was not measured again since."""
    for u in _dropped(visit, VOLTS):
        again = (e for e in visit.events if isinstance(e, Volts) and e.seq >= u.step)
        if not any(e.between.casefold() == u.of.casefold() for e in again):
            return u
    return None


def _dropped(visit: Visit, key: str) -> Iterator[Unread]:
    """Such steps up to now: a visit may hold only what was done before some moment."""
    return (u for u in visit.unread if u.key == key and 0 < u.step <= len(visit.events) + 1)
