"""What the pages share: a visit opened for one request, its frame, and writing an entry once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import cast

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse

from ...desk import Desk
from ...events import BOND_TESTS, Isolation, Off, Reading
from ...gates import closed, gates
from ...judged import Assessment
from ...records import Draft, JournalError, NoSuch
from ..entrywords import entry_words
from ..forms import Typed, step_errors, texts
from ..quick import open_for
from ..render import new_uid, page
from ..settings import Settings
from ..standing import strips
from ..words import say
from ..work import Opened, open_record, open_visit


def desk(request: Request) -> Desk:
    """The kept visits."""
    return cast(Desk, request.app.state.desk)


def settings(request: Request) -> Settings:
    """What whoever serves the pages chose."""
    return cast(Settings, request.app.state.settings)


def opened(request: Request, *, whole_site: bool | None = None) -> Opened:
    """The visit of the address, judged beside the last one and today's date. Answers 404 when there is none."""
    today = settings(request).now().date()
    try:
        return open_visit(desk(request), request.path_params["visit"], today, whole_site=whole_site)
    except NoSuch:
        raise HTTPException(404) from None


def recorded(request: Request) -> Opened:
    """The visit of the address judged by itself, as papers print and keep it. Answers 404 when there is none."""
    try:
        return open_record(desk(request), request.path_params["visit"])
    except NoSuch:
        raise HTTPException(404) from None


def opened_for(request: Request, of: str) -> Opened:
    """The visit of the address with one thing of it judged, for pages that show no other. Answers 404 as well."""
    try:
        return open_for(desk(request), request.path_params["visit"], of)
    except NoSuch:
        raise HTTPException(404) from None


def judged(found: Opened) -> Assessment:
    """What was judged of a visit. Answers 409 when it cannot be read at all."""
    if found.a is None:
        raise HTTPException(409)
    return found.a


def base(found: Opened) -> str:
    """The address of a visit."""
    return f"/v/{found.id}"


def show(
    request: Request, found: Opened, template: str, job: str, typed: Typed | None = None, **values: object
) -> HTMLResponse:
    """A page of a visit in its frame; 422 when the form in it came back with errors."""
    typed = typed or Typed()
    a = found.a
    return page(
        request,
        template,
        422 if typed.errors else 200,
        visit=found,
        a=a,
        base=base(found),
        job=job,
        strips=strips(a, base(found)) if a else (),
        typed=typed,
        said=request.query_params.get("said", ""),
        settings=settings(request),
        **values,
    )


async def form_of(request: Request) -> tuple[dict[str, str], dict[str, bytes]]:
    """The texts of the form that was sent, and the bytes of its files."""
    try:
        form = await request.form(max_files=4, max_fields=2000)
    except (ValueError, UnicodeError):  # a body that is no form at all
        raise HTTPException(400) from None
    files = {name: await one.read() for name, one in form.multi_items() if isinstance(one, UploadFile)}
    found = texts(form)
    await form.close()
    return found, files


def by(request: Request, found: Opened | None = None) -> str:
    """Who writes: the name given with the pass phrase, else the inspector of the visit."""
    name = getattr(request.state, "by", "")
    if name:
        return str(name)
    return found.a.visit.inspector if found and found.a else ""


def uid_of(form: Mapping[str, str]) -> str:
    """The client-made id of the form, so that the same form sent twice writes once."""
    given = form.get("uid", "")
    return given if given.isalnum() and 16 <= len(given) <= 64 else new_uid()


def at(request: Request) -> str:
    """Time of day for an entry."""
    return settings(request).now().strftime("%H:%M:%S")


def write_step(
    request: Request, found: Opened, form: Mapping[str, str], bodies: list[dict[str, object]], touches: str = ""
) -> Typed | None:
    """Write steps, all or none. Returns the form with its errors when something is wrong or somebody was quicker."""
    uid = uid_of(form)
    if any(e.id == uid for e in found.kept.events):
        return None  # the same form again: what it says is there already
    errors: dict[str, tuple[str, ...]] = {} if bodies else {"": (say("wrong.nothing"),)}
    for body in bodies:
        for name, said in step_errors(found, body).items():
            errors[name] = tuple(dict.fromkeys((*errors.get(name, ()), *said)))
        shut = shut_words(found, body)
        if shut:
            errors[""] = (*errors.get("", ()), *shut)
    errors = errors or conflict(found, form, touches)
    if errors:
        return Typed(form, errors)
    name, moment = by(request, found), at(request)
    drafts = [
        Draft(found.id, "step", {**body, "at": moment}, name, uid if n == 0 else f"{uid}.{n}")
        for n, body in enumerate(bodies)
    ]
    failed = kept(lambda: desk(request).add_all(drafts))
    return Typed(form, failed) if failed else None


def kept(write: Callable[[], object]) -> dict[str, tuple[str, ...]]:
    """Write; what the journal says when it is full, busy or damaged, as errors of the form, so that it is not lost."""
    try:
        write()
    except JournalError as error:
        return {"": (str(error),)}
    return {}


def shut_words(found: Opened, body: Mapping[str, object]) -> tuple[str, ...]:
    """Why a step may not be taken now and what to do instead; empty when its gates are open or signed for."""
    if found.a is None:
        return ()
    events = found.a.visit.events
    after = events[-1].seq + 1 if events else 1
    step: Off | Isolation | Reading
    if isinstance(body.get("off"), str):
        step = Off(seq=after, what=str(body["off"]))
    elif body.get("isolated") == "restored":
        step = Isolation(seq=after, stage="restored")
    elif body.get("read") in BOND_TESTS:
        step = Reading(seq=after, id="", test=str(body["read"]), of=str(body.get("bond", "")))
    else:
        return ()
    return tuple(f"{g.why} {g.instead}".strip() for g in closed(gates(found.a.visit, step, found.a.alarms)))


def conflict(found: Opened, form: Mapping[str, str], touches: str) -> dict[str, tuple[str, ...]]:
    """What was written about the same thing since the form was made; told once, then both may stand."""
    if not touches or form.get("knows") == found.head:
        return {}
    said = [
        say("wrong.conflict", by=e.by or say("wrong.somebody"), what=entry_words(e.kind, e.body))
        for e in found.since(form.get("head", ""))
        if touches in (e.body.get("bond"), e.body.get("of"), e.body.get("circuit"), e.body.get("id"))
    ]
    return {"conflict": tuple(said)} if said else {}
