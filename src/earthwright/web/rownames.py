"""What a row or a column of tests needs before anybody types: what each field is called, the leads in hand, the earth."""

from __future__ import annotations

from collections.abc import Sequence

from ..outcomes.assessment import Assessment
from ..site.events import EARTHING, LeadCheck, Reading
from ..site.ledger import newest_currents, state_now
from ..site.tests import BY_LEADS, CROSSED
from .lacks import AT_SOCKETS
from .schedule_rows import Cell, Key, Thing
from .words import label_of, say


def leads_in_hand(a: Assessment) -> str:
    """The lead set last read with or tried, a proposal; empty while none was."""
    used = (e.leads for e in reversed(a.visit.events) if isinstance(e, Reading | LeadCheck))
    return next((x for x in used if x), "")


def names_of(cells: Sequence[tuple[Thing, Cell]], sockets: Sequence[tuple[str, object]] = ()) -> dict[str, str]:
    """What each field of a row or column is called, for the list of what is wrong: the test, and of what."""
    found = {c.name: f"{c.title}, {t.title}" for t, c in cells}
    for i, (point, _) in enumerate(sockets):
        where = f"{say('tests.point')} {i + 1}"
        found[f"p.{i}.point"] = where
        found |= {
            f"p.{i}.{short}": f"{say('draw.ring_' + short)}, {point or where}"
            for short in (AT_SOCKETS[t] for t in CROSSED)
        }
    return {**found, "test_v": label_of("test_v", "step"), "between_r2": say("tests.r2_was")}


def by_leads(key: Key) -> bool:
    """Whether a test is read through leads whose resistance counts."""
    return key[0] in BY_LEADS


def earthing_near(a: Assessment) -> str:
    """What comes next with the earthing conductor, which is off while Ze is read: its current, off, or back."""
    if EARTHING in state_now(a.visit.events).off:
        return "off"
    return "clamp" if newest_currents(a.visit.events, EARTHING)[1] is None else "on"
