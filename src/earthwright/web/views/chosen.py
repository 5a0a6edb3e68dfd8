"""What two people wrote without knowing of each other: all of it side by side, until somebody says which one stands."""

from __future__ import annotations

from collections.abc import Mapping

from starlette.requests import Request
from starlette.responses import Response

from ...records.contest import is_mark, mark_of
from ...records.event import CORRECT, STRIKE, Kept
from ...records.replay import EntryNow
from ...site.ledger import still_off
from ..entrywords import entry_words, event_words
from ..forms import Typed
from ..merge import as_typed, fields_of
from ..render import see_other
from ..words import label_of, say
from ..work import Opened
from .common import base, corrected, form_of, opened, show, struck, write

KEEP, OUT, SO = "keep", "out", "so"


def contested(found: Opened) -> list[EntryNow]:
    """The entries of which somebody has to choose."""
    return [e for e in found.kept.entries if e.contested]


async def chosen_page(request: Request) -> Response:
    """GET every value that was written twice, and every reading during which something may have been off."""
    return _page(request, opened(request), Typed())


def _page(request: Request, found: Opened, typed: Typed) -> Response:
    rows = [_row(found, e) for e in contested(found)]
    return show(request, found, "chosen.html", "findings", typed, rows=rows, readings=[r for r in rows if r["mixed"]])


def _row(found: Opened, entry: EntryNow) -> dict[str, object]:
    each = entry.rivals.each if entry.rivals else ()
    return {
        "id": entry.id,
        "what": entry_words(entry.kind, entry.body),
        "kind": entry.kind,
        "values": [_value(entry, change) for change in each],
        "order": _order(found, entry),
        "mixed": [(event_words(found.entry(m.id), m), m.by or say("wrong.somebody")) for m in entry.mixed],
    }


def _order(found: Opened, entry: EntryNow) -> str:
    """What was off when it was read, as the order of the steps has it."""
    events = found.a.visit.events if found.a else ()
    off = ", ".join(e.what for e in still_off([e for e in events if 0 < e.line < entry.event.seq]))
    return say("chosen.order", off=off) if off else say("chosen.order_none")


def _value(entry: EntryNow, change: Kept) -> dict[str, object]:
    """One of the changes: by whom, when by their own clock, and what it says where the others say something else."""
    said: list[tuple[str, str]] = []
    if change.kind == CORRECT:
        assert entry.rivals is not None
        body = fields_of(entry.kind, change.body["body"])
        keys = [k for k, v in entry.rivals.said.items() if is_mark(v)]
        said = [(label_of(k, entry.kind), body.get(k) or as_typed(change.body["body"].get(k, "–"))) for k in keys]
        said = said or [(say("chosen.as"), entry_words(entry.kind, change.body["body"]))]
    return {"id": change.id, "by": change.by or say("wrong.somebody"), "at": change.at[:16], "said": said}


async def chosen_post(request: Request) -> Response:
    """POST which one stands; the choice is an entry like any other, and shows who made it."""
    found = opened(request)
    form, _ = await form_of(request)
    entries = _choice(found, form)
    if entries:
        refused = write(request, found, form, entries)
        if refused:
            return _page(request, found, refused)
    return see_other(f"{base(found)}/chosen")


def _choice(found: Opened, form: Mapping[str, str]) -> list[tuple[str, dict[str, object]]]:
    do, change = form.get("do", ""), form.get("change", "")
    waiting = contested(found)
    if do == SO and not form.get("entry"):
        return [corrected(e, e.body, say("chosen.was_so")) for e in waiting if e.mixed]
    entry = next((e for e in waiting if e.id == form.get("entry")), None)
    if entry is None:
        return []
    if do == OUT:
        return [struck(entry.id, say("chosen.reason_out"))]
    if do == SO and entry.mixed:
        return [corrected(entry, entry.body, say("chosen.was_so"))]
    one = next((c for c in (entry.rivals.each if entry.rivals else ()) if c.id == change), None)
    if do != KEEP or one is None:
        return []
    if one.kind == STRIKE:
        return [struck(entry.id, say("chosen.reason_out"))]
    assert entry.rivals is not None
    kept = {**entry.rivals.shown, **{k: one.body["body"].get(k) for k in mark_of(entry.rivals.said)}}
    body = {k: v for k, v in kept.items() if v is not None}
    reason = say("chosen.reason", by=one.by or say("wrong.somebody"))
    back = [struck(c.id, reason) for c in entry.rivals.each if c.kind == STRIKE]
    return [*back, corrected(entry, body, reason)]
