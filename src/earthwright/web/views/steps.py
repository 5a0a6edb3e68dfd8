"""Every step of a visit in its order; writing the rarer ones; taking back one's last entry; what others wrote."""

from __future__ import annotations

from attrs import frozen
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from ...desk.undo import SAID, to_redo, to_undo
from ...records import Kept
from ...records.event import FILE
from ...site.ledger import missing_stages
from ..entrywords import entry_words
from ..forms import Typed, digits_of
from ..merge import told
from ..render import see_other, templates
from ..words import say
from ..work import Opened
from .common import base, by, form_of, judged, opened, settings, show, struck, uid_of, write, write_step

ON_A_PAGE = 20  # entries on one page of the journal


@frozen
class StepLine:
    """One line of the journal as shown."""

    id: str
    what: str
    by: str
    at: str
    struck: str = ""
    struck_by: str = ""


async def steps_page(request: Request) -> Response:
    """GET every entry in order, and the forms for the rarer steps."""
    return _steps(request, opened(request), Typed())


def _steps(request: Request, found: Opened, typed: Typed) -> Response:
    lines = [
        StepLine(
            e.id,
            entry_words(e.kind, e.body),
            e.latest.by,
            str(e.body.get("at") or e.latest.at[:16].replace("T", " ")),
            str(e.struck.body.get("reason", "")) if e.struck else "",
            e.struck.by if e.struck else "",
        )
        for e in reversed(found.kept.entries)
    ]
    a = found.a
    skip = int(at) if (at := request.query_params.get("after", "")).isdecimal() and len(at) < 7 else 0
    ends = [b.id for b in a.visit.site.bonds] + ["earthing"] if a else []
    me = by(request, found)
    undo, redo = to_undo(found.kept, me), to_redo(found.kept, me)
    return show(
        request,
        found,
        "steps.html",
        "steps",
        typed,
        lines=lines[skip : skip + ON_A_PAGE],
        earlier=skip + ON_A_PAGE if skip + ON_A_PAGE < len(lines) else None,
        later=max(0, skip - ON_A_PAGE) if skip else None,
        ends=ends,
        isolated=a is not None and not missing_stages(a.visit.events),
        links=[x.id for x in a.visit.site.links] if a else [],
        a_circuit=next((c.id for c in a.visit.site.circuits), "") if a else "",
        off=[e.what for e in a.still_off] if a else [],
        undo=undo,
        undo_words=told(found, undo.event) if undo else "",
        held=SAID[undo.held] if undo and undo.held else "",
        redo=redo,
        redo_words=_undone_words(found, redo) if redo else "",
    )


def _undone_words(found: Opened, undo: Kept) -> str:
    """What an undo took back."""
    event = next(e for e in found.kept.events if e.id == undo.about)
    return told(found, event)


async def steps_post(request: Request) -> Response:
    """POST a step, or the wish to take one's last entry back."""
    found = opened(request)
    form, _ = await form_of(request)
    do = form.get("do", "")
    if do in ("undo", "redo"):
        refused = _take_back(request, found, form)
        return _steps(request, found, refused) if refused else see_other(f"{base(found)}/{back_to(form)}")
    judged(found)
    refused = write_step(request, found, form, bodies_of(do, form))
    if refused:
        return _steps(request, found, refused)
    return see_other(f"{base(found)}/{back_to(form)}")


def back_to(form: dict[str, str]) -> str:
    """The page of the visit that a small form came from; the steps when it names none."""
    back = form.get("back", "")
    if back == "now":
        return ""
    return back if back.startswith(("bond/", "circuits/", "along/")) and ".." not in back else "steps"


def _take_back(request: Request, found: Opened, form: dict[str, str]) -> Typed | None:
    """Take back, or bring back, the very thing that the form named; the form when that is no longer the one."""
    if any(e.id == uid_of(form) for e in found.kept.events):
        return None
    me = by(request, found)
    redo = form["do"] == "redo"
    if redo:
        event = to_redo(found.kept, me)
    else:
        undo = to_undo(found.kept, me)
        if undo and undo.held:
            return Typed(form, {"conflict": (SAID[undo.held],)})
        event = undo.event if undo else None
    if event is None or event.id != form.get("last"):
        return Typed(form, {"conflict": (say("steps.undo_moved"),)})
    why = say("steps.redo_why" if redo else "steps.undo_why")
    return write(request, found, form, [struck(event.id, why, undo=True)])


def bodies_of(do: str, form: dict[str, str]) -> list[dict[str, object]]:
    """The step of one of the small forms."""
    if do in ("off", "on"):
        return [{do: form.get(do, ""), **({"why": form["why"]} if form.get("why") else {})}]
    if do == "look":
        said = form.get("holds", "")
        holds = {"yes": True, "no": False}.get(said)
        # A requirement of a place is answered by one tap, which says what was seen as well.
        seen = form["seen"] if "seen" in form else say(f"place.seen_{said}") if said in ("yes", "no", "open") else ""
        return [{"look": form.get("look", ""), "seen": seen, **({} if holds is None else {"holds": holds})}]
    if do == "repair":
        return [{"repair": form.get("repair", ""), "remade": form.get("remade", "").strip()}]
    if do in ("clamp", "volts"):
        return [{do: form.get(do, ""), "shown": digits_of(form), "load": form.get("load", "")}]
    if do == "isolated":
        return [{"isolated": form.get("isolated", "")}]
    return []


async def since_page(request: Request) -> Response:
    """GET what others wrote since a page was made: a line, or nothing at all."""
    found = opened(request)
    me = by(request, found) if settings(request).pass_phrase else ""  # without names nobody can be told apart
    new = found.since(request.query_params.get("head", ""))
    count = sum(e.kind != FILE and (not me or e.by != me) for e in new)
    if not count:
        return Response(status_code=204)
    return HTMLResponse(templates().get_template("since.html").render(count=count, base=base(found)))


async def weighed_page(request: Request) -> Response:
    """GET how far the weighing of all bonds together has come: a line."""
    return _weighed(request)


async def weighed_post(request: Request) -> Response:
    """POST that it be stopped."""
    if (weighing := settings(request).weighing) is not None:
        weighing.stop()
    return _weighed(request)


def _weighed(request: Request) -> Response:
    """The line. While it goes on the visit is not judged again for it, so that what is entered meanwhile need not wait."""
    weighing, visit = settings(request).weighing, request.path_params["visit"]
    still = weighing is not None and weighing.on_with(visit)
    if not still:
        still = opened(request).weighing  # begins it where it has to be
    done, of = weighing.counted if weighing else (0, 0)
    words = templates().get_template("weighed.html")
    return HTMLResponse(words.render(still=still, done=done, of=of, base=f"/v/{visit}"))
