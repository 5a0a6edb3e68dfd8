"""What undo may take back: the newest thing of whoever asks, unless the record would then say less danger than there is.

A disconnection says that an end is off in somebody's hand. Taking the entry back puts nothing back, so undo stops there: the
end is put back and that is written down, or the entry is struck with its reason. The same holds for a supply that was
restored and for a reading that raised an alarm. Nothing older is taken back past such an entry.
"""

from __future__ import annotations

from attrs import evolve, frozen

from ..assess.precautions import alarms_now
from ..records.event import CORRECT, ERASE, FILE, FOLLOWS, ISSUE, STRIKE, Kept
from ..records.replay import Replayed, effect, replay
from ..site.ledger import missing_stages, still_off

NEVER = (ISSUE, ERASE, FILE, FOLLOWS, "sign", "receipt")
# Why undo stops at an entry.
OFF, RESTORED, ALARM = "off", "restored", "alarm"
SAID = {
    OFF: "It says that something is off. Put it back and write that down, or strike this entry with its reason.",
    RESTORED: "It says that the supply is on again. Strike this entry with its reason if that is not so.",
    ALARM: "It says that there is danger. Strike this entry with its reason if that is not so.",
}


@frozen
class Undo:
    """What undo would strike, and why it may not: one of :data:`SAID`, empty when it may."""

    event: Kept
    held: str = ""


def to_undo(read: Replayed, by: str = "", *, anybody: bool = False) -> Undo | None:
    """The newest thing of one person (or of anybody) that still stands; None when there is nothing to take back."""
    struck, _ = effect(read.events)
    for e in reversed(read.events):
        mine = (anybody or e.by == by) and e.id not in struck and not e.body.get("undo")
        if mine and e.seq > 1 and e.kind not in NEVER:
            return Undo(e, _held(read, e))
    return None


def to_redo(read: Replayed, by: str) -> Kept | None:
    """The newest undo of one person that nothing of theirs came after and that may be undone itself; None without one."""
    struck, _ = effect(read.events)
    named = {e.id: e for e in read.events}
    for e in reversed(read.events):
        if e.by != by:
            continue
        if e.kind != STRIKE or not e.body.get("undo"):
            return None
        taken_back = named[e.about]
        if e.id not in struck and not taken_back.body.get("undo"):
            return None if _held(read, e) else e
    return None


def _held(read: Replayed, event: Kept) -> str:
    """Which danger the record would no longer show without an event; empty when it would show all that it shows now."""
    before = read.book.visit
    if event.kind not in ("step", STRIKE, CORRECT) or before is None:
        return ""
    off, stages = {e.what for e in still_off(before.events)}, set(missing_stages(before.events))
    alarms = {a.kind for a in alarms_now(before)}
    if not (off or stages or alarms):
        return ""  # nothing is shown that could be hidden: the visit need not be read anew, which each entry would wait for
    strike = evolve(event, id=f"{event.id}-out", kind=STRIKE, body={"event": event.id, "reason": "-", "undo": True})
    after = replay(read.visit_id, (*read.events, strike)).book.visit
    if after is None:
        return ""
    if off - {e.what for e in still_off(after.events)}:
        return OFF
    if stages - set(missing_stages(after.events)):
        return RESTORED
    if alarms - {a.kind for a in alarms_now(after)}:
        return ALARM
    return ""
