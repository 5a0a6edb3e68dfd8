"""What was off at any moment, and what must still go back: worked out from the events, never typed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from itertools import takewhile

from attrs import frozen

from ..base.digits import Kind
from .events import (
    EARTHING,
    JOINT,
    PATH,
    TOGETHER,
    ClampCurrent,
    Event,
    Isolation,
    Look,
    Off,
    On,
    Reading,
    Repair,
    State,
)
from .tests import proving

# Ends that are switched or unplugged in the course of testing and leave nothing open that anybody relies on.
SWITCHED = ("loads", "device", "switch", "spd")
_CHANGING = frozenset((Off, On, Isolation))  # the steps that change what is connected
_ENDS, _FAULTS, _CURRENTS = frozenset((Off, On)), frozenset((Look, Repair)), frozenset((Isolation, ClampCurrent))
FAR_END = "@part"  # suffix of the far end of a bond
# The stages of proving a circuit dead, in the order in which they count.
STAGES = ("tester proved", "dead", "tester proved again")


def after(state: State, *events: Event) -> State:
    """The state once events have happened, in order; most events change nothing."""
    off, isolated = set(state.off), state.isolated
    for event in events:
        if isinstance(event, Off):
            off.add(event.what)
        elif isinstance(event, On):
            off.discard(event.what)
        elif isinstance(event, Isolation):
            isolated = {"dead": True, "restored": False}.get(event.stage, isolated)
    return State(frozenset(off), isolated)


def of_kinds(events: Iterable[Event], kinds: Collection[type[Event]]) -> list[Event]:
    """The events of some kinds, which have no kinds below them, in order: few among many readings, and asked for often."""
    return [e for e in events if type(e) in kinds]


def state_at(events: Iterable[Event], seq: int) -> State:
    """The state that held when the event of that place in the order happened (earlier events and itself)."""
    changing = of_kinds(events, _CHANGING)  # few, and the others change nothing
    return after(State(), *takewhile(lambda e: e.seq <= seq, changing))


def state_now(events: Sequence[Event]) -> State:
    """The state after the last event."""
    return state_at(events, events[-1].seq) if events else State()


def still_off(events: Sequence[Event]) -> tuple[Off, ...]:
    """The disconnections that nothing has put back, in the order they were made."""
    open_ones: dict[str, Off] = {}
    for event in of_kinds(events, _ENDS):
        if isinstance(event, Off):
            open_ones[event.what] = event
        elif isinstance(event, On):
            open_ones.pop(event.what, None)
    return tuple(open_ones.values())


def readings(events: Iterable[Event], of: str = "", test: str = "") -> tuple[Reading, ...]:
    """The readings of one thing, or of one test, that were not refused, in order."""
    every = [e for e in events if type(e) is Reading]
    mine = [e for e in every if e.of == of] if of else every
    return tuple(e for e in mine if (not test or e.test == test) and not e.refused)


@frozen
class Disconnection:
    """One line of the ledger: what was taken off, why, when and by whom; how it went back; what then showed it.

    on        None while it is off;  verified  the reading or the look that found it in place, None if there is none
    """

    off: Off
    on: On | None = None
    verified: Reading | Look | None = None

    @property
    def what(self) -> str:
        """The conductor or the end that was taken off."""
        return self.off.what


def disconnections(events: Sequence[Event]) -> tuple[Disconnection, ...]:
    """The ledger: every disconnection in order, each with its reconnection and what verified it."""
    found: list[Disconnection] = []
    paths = {e.of: e for e in readings(events, test=PATH)}
    for place, event in enumerate(events):
        if not isinstance(event, Off):
            continue
        back = None
        verified: Reading | Look | None = None
        for later in events[place + 1 :]:
            if isinstance(later, Off) and later.what == event.what:
                break
            if back is None:
                back = later if isinstance(later, On) and later.what == event.what else None
                if back is not None and not held(event.what):
                    break
            elif verifies(later, event.what, paths.get(event.what.removesuffix(FAR_END))):
                assert isinstance(later, Reading | Look)
                verified = later
                break
        found.append(Disconnection(event, back, verified))
    return tuple(found)


def verifies(event: Event, what: str, path: Reading | None = None) -> bool:
    """Whether an event shows that a conductor is back in its place: a reading through it, or a look that found it so.

    path  the reading of the path without it: digits with all connected that are no lower show the path alone
    """
    base = what.removesuffix(FAR_END)
    if isinstance(event, Look):
        return bool(event.holds) and event.what.removesuffix(FAR_END) == base
    if not isinstance(event, Reading) or event.refused:
        return False
    thing, _, end = base.rpartition(":")
    good = event.outcome == "good" if event.shown is None else event.shown.kind is not Kind.OVER
    if (thing or base == EARTHING) and event.test in proving(end) and event.of == (thing or event.of):
        return good
    if not good or event.shown is None:
        return False
    if event.of != base or event.test not in (TOGETHER, JOINT) or (event.test == JOINT and what == base):
        return False
    return event.test == JOINT or path is None or path.shown is None or event.shown.value < path.shown.value


def found_faulty(events: Sequence[Event]) -> tuple[Look, ...]:
    """Looks that found a fault, with no repair of the same thing and no look since that found it in order."""
    found: dict[str, Look] = {}
    for event in of_kinds(events, _FAULTS):
        if isinstance(event, Look):
            base = event.what.removesuffix(FAR_END)
            if event.holds is False:
                found[base] = event
            elif event.holds:
                found.pop(base, None)
        elif isinstance(event, Repair):
            mended = event.what.removesuffix(FAR_END)
            found = {k: v for k, v in found.items() if k != mended and not k.startswith(f"{mended}:")}
    return tuple(found.values())


def held(what: str) -> bool:
    """Whether somebody relies on this end being connected: a bond, the earthing conductor, a core; not a load or a switch."""
    return what.rpartition(":")[2] not in SWITCHED


def missing_stages(events: Sequence[Event]) -> tuple[str, ...]:
    """The stages of isolation that are not noted since the supply was last on, in their order."""
    since: list[str] = []
    for event in [e for e in events if isinstance(e, Isolation)]:
        since = [] if event.stage == "restored" else [*since, event.stage]
    missing = [] if "locked" in since else ["locked"]
    place = 0
    for stage in STAGES:
        if stage in since[place:]:
            place = since.index(stage, place) + 1
        else:
            missing.append(stage)
    return tuple(missing)


def newest_currents(events: Sequence[Event], on: str) -> tuple[ClampCurrent | None, ClampCurrent | None]:
    """The newest clamp current of a conductor before isolation, and the newest after it."""
    before: ClampCurrent | None = None
    after: ClampCurrent | None = None
    isolated = False
    for event in of_kinds(events, _CURRENTS):
        if isinstance(event, Isolation):
            if event.stage == "restored":
                isolated, before, after = False, None, None
            elif event.stage in ("locked", "dead"):
                isolated = True
        elif isinstance(event, ClampCurrent) and event.on == on:
            if isolated or _switched_off(event.load):
                after = event
            else:
                before = event
    return before, after


def _switched_off(load: str) -> bool:
    words = load.lower()
    return "isolat" in words or ("off" in words.split() and "switch" in words)
