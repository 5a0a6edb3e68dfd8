"""What a phone wrote down before the program was awake: digits, what, when. It stands as a note until it is placed."""

from __future__ import annotations

from attrs import frozen
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from ...records import Draft, NoSuch
from ...records.replay import EntryNow
from ..render import see_other
from ..words import say
from ..work import Opened
from .common import base, desk, form_of, kept, may_enter, opened, seen_visits, signer, struck, uid_of, write

PLACES = 200  # characters of what was read
_NOTE = "Written down before the program was awake: "


@frozen
class Written:
    """One of them as shown. ``id``: of its entry."""

    id: str
    words: str
    at: str


def waiting(found: Opened) -> list[Written]:
    """What was written down and is not placed yet, in its order."""
    return [
        Written(e.id, str(e.body["note"]).removeprefix(_NOTE), str(e.body.get("at", "")))
        for e in found.kept.entries
        if e.struck is None and _is_one(e)
    ]


def _is_one(e: EntryNow) -> bool:
    return e.kind == "step" and set(e.body) <= {"note", "at"} and str(e.body.get("note", "")).startswith(_NOTE)


async def written_post(request: Request) -> Response:
    """POST one of them; ``kept VISIT`` says where it stands now. Without a visit to put it into it stays on the phone."""
    form, _ = await form_of(request)
    digits, what = form.get("digits", "").strip()[:40], form.get("what", "").strip()[:PLACES]
    visits = [v for v in seen_visits(request) if may_enter(request, v.id)]
    visit = next((v for v in visits if v.id == form.get("visit")), visits[0] if visits else None)
    if visit is None:
        return PlainTextResponse(say("written.no_visit"), 409)
    if not digits or not what:
        return PlainTextResponse(say("written.empty"), 422)
    body = {"note": f"{_NOTE}{digits}, {what}", **({"at": at} if (at := form.get("at", "")[:8]) else {})}
    # Sent again, when the answer was lost, it may be meant for another visit by now: it stands where it was kept first.
    id_ = uid_of({k: form.get(k, "") for k in ("uid", "digits", "what", "at")})
    if there := _kept_in(request, id_):
        return PlainTextResponse(f"kept {there}")
    draft = Draft(visit.id, "step", body, signer(request, visit.inspector), id_)
    if failed := kept(lambda: desk(request).add_all([draft])):
        return PlainTextResponse(" ".join(failed[""]), 503)
    return PlainTextResponse(f"kept {visit.id}")


def _kept_in(request: Request, id_: str) -> str:
    """The visit that holds an entry already; empty when none does."""
    try:
        return desk(request).store.event(id_).visit
    except NoSuch:
        return ""


async def placed_post(request: Request) -> Response:
    """POST that one of them has been placed: it leaves the list and stays, struck through, among the steps."""
    found = opened(request)
    form, _ = await form_of(request)
    if any(w.id == form.get("entry") for w in waiting(found)):
        write(request, found, form, [struck(form["entry"], say("written.placed"))])
    return see_other(f"{base(found)}/")
