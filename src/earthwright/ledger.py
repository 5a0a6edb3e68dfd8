"""What was off at any moment, and what must still go back: worked out from the events, never typed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from .events import Event, Isolation, Off, On, Reading, State


def state_at(events: Iterable[Event], seq: int) -> State:
    """The state that held when the event of that place in the order happened (earlier events and itself)."""
    off: set[str] = set()
    isolated: bool | None = None
    for event in events:
        if event.seq > seq:
            break
        if isinstance(event, Off):
            off.add(event.what)
        elif isinstance(event, On):
            off.discard(event.what)
        elif isinstance(event, Isolation):
            isolated = {"dead": True, "restored": False}.get(event.stage, isolated)
    return State(frozenset(off), isolated)


def still_off(events: Sequence[Event]) -> tuple[Off, ...]:
    """The disconnections that nothing has put back, in the order they were made."""
    open_ones: dict[str, Off] = {}
    for event in events:
        if isinstance(event, Off):
            open_ones[event.what] = event
        elif isinstance(event, On):
            open_ones.pop(event.what, None)
    return tuple(open_ones.values())


def readings(events: Iterable[Event], of: str = "", test: str = "") -> tuple[Reading, ...]:
    """The readings of one thing, or of one test, that were not refused, in order."""
    return tuple(
        e for e in events if isinstance(e, Reading) and not e.refused and of in ("", e.of) and test in ("", e.test)
    )
