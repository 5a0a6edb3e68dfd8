"""What the pages share: a visit opened for one request, its frame, and writing an entry once."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping, Sequence
from contextlib import suppress
from functools import wraps
from typing import cast

from attrs import evolve
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from ...base.elsewhere import Elsewhere
from ...desk import Desk
from ...desk.undo import to_undo
from ...desk.visit_list import VisitLine
from ...gates.steps import closed, gates
from ...outcomes.assessment import Assessment
from ...records import Draft, JournalError, Moved, NoSuch
from ...records.canon import canonical, digest
from ...records.event import CORRECT, FILE, STRIKE
from ...records.replay import EntryNow
from ...site.events import BOND_TESTS, Isolation, Off, Reading
from ...sync.names import sends_as
from ..banner import strips
from ..forms import Typed, step_errors, texts
from ..merge import conflict
from ..render import new_uid, page
from ..settings import Settings
from ..words import say
from ..work import Opened, open_for, open_record, open_visit

MOST_TRIES = 200  # each one lost means that somebody else's entry was kept in between


def desk(request: Request) -> Desk:
    """The kept visits."""
    return cast(Desk, request.app.state.desk)


def settings(request: Request) -> Settings:
    """What whoever serves the pages chose."""
    return cast(Settings, request.app.state.settings)


def opened(request: Request, *, whole_site: bool | None = None) -> Opened:
    """The visit of the address, judged beside the last one and today's date. Answers 404 when there is none."""
    today = settings(request).now().date()
    chosen, visit = settings(request), request.path_params["visit"]
    try:
        return open_visit(desk(request), visit, today, whole_site=whole_site)
    except NoSuch:
        raise HTTPException(404) from None
    except Elsewhere as work:
        assert chosen.weighing is not None  # nobody else makes it so
        chosen.weighing.begin(work, visit)
        return evolve(open_visit(desk(request), visit, today, whole_site=False), weighing=True)


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
        sent_back=firm.remark(found.id) if (firm := settings(request).firm) else "",
        **values,
    )


async def form_of(request: Request) -> tuple[dict[str, str], dict[str, bytes]]:
    """The texts of the form that was sent, and the bytes of its files; read once, however often the handler asks."""
    held: tuple[dict[str, str], dict[str, bytes]] | None = getattr(request.state, "form", None)
    if held is not None:
        return held
    try:
        form = await request.form(max_files=4, max_fields=2000)
    except (ValueError, UnicodeError):  # a body that is no form at all
        raise HTTPException(400) from None
    files = {name: await one.read() for name, one in form.multi_items() if isinstance(one, UploadFile)}
    request.state.file_names = {
        name: one.filename or "" for name, one in form.multi_items() if isinstance(one, UploadFile)
    }
    found = texts(form)
    await form.close()
    request.state.form = found, files
    return found, files


def seen_visits(request: Request) -> list[VisitLine]:
    """The visits whoever asks may see, the one changed last first."""
    firm = settings(request).firm
    return desk(request).visits() if firm is None else firm.seen_by(request.state.person)


def sees(request: Request, visit: str) -> bool:
    """Whether whoever asks may see a visit that is named in a form or behind the question mark."""
    firm = settings(request).firm
    return firm is None or firm.sees(request.state.person, visit)


def signer(request: Request, typed: str) -> str:
    """Who does something: whoever is signed in, whatever was typed; the typed name where nobody signs in."""
    return str(request.state.person.name) if settings(request).firm is not None else typed


def whose_memory(request: Request, found: Opened) -> str:
    """Under whose name words, clients and boards of earlier jobs are offered: the login's, whatever a visit's heading says."""
    return signer(request, found.a.visit.inspector if found.a else "")


def begun_by(request: Request, visit: str) -> None:
    """A visit that is about to be begun is of whoever is signed in."""
    if (firm := settings(request).firm) is not None:
        firm.give(visit, request.state.person, request.state.person)


def brought_by(request: Request, visit: str, content: bytes) -> None:
    """A visit book that is about to be kept is of whoever is signed in. Raises VisitBookError, NotKept."""
    if (firm := settings(request).firm) is not None:
        firm.looks_into(request.state.person, visit, content)
        begun_by(request, visit)


def may_enter(request: Request, visit: str) -> bool:
    """Whether whoever asks may enter something into a visit that is named in a form."""
    firm = settings(request).firm
    return firm is None or firm.enters(request.state.person, visit)


def taken_over(request: Request, content: bytes) -> str:
    """Take in a visit that was handed over; its id. Raises Damaged, Conflict, NotKept."""
    firm = settings(request).firm
    if firm is None:
        return desk(request).take_over(content).visit
    return firm.take_over(request.state.person, content).visit


def by(request: Request, found: Opened | None = None) -> str:
    """Who writes: whoever is signed in or whose device this is, the name given with the pass phrase, else the inspector."""
    name = getattr(request.state, "by", "") or sends_as(desk(request).store)
    if name:
        return str(name)
    return found.a.visit.inspector if found and found.a else ""


def uid_of(form: Mapping[str, str]) -> str:
    """The id of what a form writes: the same form sent twice writes once, and what was typed anew is not taken for it."""
    given = form.get("uid", "")
    if not (given.isalnum() and 16 <= len(given) <= 40):
        return new_uid()
    typed = {k: v for k, v in form.items() if k not in ("uid", "head", "clash") and not k.startswith("settle.")}
    return f"{given}.{digest(canonical(typed))[:8]}"


def undoable(request: Request, found: Opened) -> str:
    """Id of the last step of whoever asks, if it may be taken back; empty otherwise."""
    undo = to_undo(found.kept, by(request, found))
    return undo.event.id if undo and not undo.held and undo.event.kind == "step" else ""


def at(request: Request, found: Opened) -> str:
    """When an entry is made: the time of day, with its day where that is later than the visit's."""
    now, visit = settings(request).now(), found.kept.book.visit
    later = visit is not None and now.date() > visit.date
    return now.strftime("%Y-%m-%dT%H:%M:%S" if later else "%H:%M:%S")


def taken_back(found: Opened, form: Mapping[str, str]) -> Typed | None:
    """The form once more when what it wrote was taken back since; else it would look saved, and nothing would be."""
    uid = uid_of(form)
    if any(e.id == uid and e.struck is not None for e in found.kept.entries):
        return Typed({**form, "uid": ""}, {"conflict": (say("wrong.taken_back"),)})
    return None


def write_step(
    request: Request, found: Opened, form: Mapping[str, str], bodies: list[dict[str, object]]
) -> Typed | None:
    """Write steps, all or none. Returns the form with its errors when something is wrong or somebody was quicker."""
    uid = uid_of(form)
    if any(e.id == uid for e in found.kept.events):
        return taken_back(found, form)  # the same form again: what it says is there already, or was taken back
    errors: dict[str, tuple[str, ...]] = {} if bodies else {"": (say("wrong.nothing"),)}
    for body in bodies:
        for name, said in step_errors(found, body).items():
            errors[name] = tuple(dict.fromkeys((*errors.get(name, ()), *said)))
        shut = shut_words(found, body)
        if shut:
            errors[""] = (*errors.get("", ()), *shut)
    errors = errors or conflict(found, form, bodies)
    if errors:
        return Typed(form, errors)
    return write_steps(request, found, form, bodies)


Files = Sequence[tuple[dict[str, object], bytes]]  # what is said of each, and its bytes


def write_steps(
    request: Request, found: Opened, form: Mapping[str, str], bodies: list[dict[str, object]], files: Files = ()
) -> Typed | None:
    """Write steps that were found in order, and the files they come from; the form when the journal does not take them.

    A step without a time of its own is of this moment, unless it comes from a file: when it was taken is then not known.
    """
    moment = at(request, found)
    steps = [("step", {**({} if body.get("source") else {"at": moment}), **body}) for body in bodies]
    return write(
        request, found, form, [*((FILE, said) for said, _ in files), *steps], [content for _, content in files]
    )


def write(
    request: Request,
    found: Opened,
    form: Mapping[str, str],
    entries: Sequence[tuple[str, dict[str, object]]],
    contents: Sequence[bytes] = (),
) -> Typed | None:
    """Keep what a form says, all or none: the one place where the pages write to a visit.

    Raises Moved when anything was written to the visit since it was opened for this request: the handler is then asked
    anew (:func:`anew`), so that nothing is decided on what no longer stands. Otherwise the form with what the journal
    says when it is full, busy or damaged; None when all is kept.
    """
    if (firm := settings(request).firm) is not None:
        entries = firm.in_name_of(request.state.person, found.kept, entries)
        if why := firm.refuses(request.state.person, found.kept, entries):
            return Typed(form, {"": (why,)})
    who, uid = by(request, found), uid_of(form)
    drafts = [Draft(found.id, kind, body, who, f"{uid}.{n}" if n else uid) for n, (kind, body) in enumerate(entries)]
    failed = kept(lambda: desk(request).add_all(drafts, contents=contents, head=found.head))
    return Typed(form, failed) if failed else None


def corrected(entry: EntryNow, body: Mapping[str, object], reason: str) -> tuple[str, dict[str, object]]:
    """The entry that puts another in the place of one."""
    return CORRECT, {"event": entry.id, "body": dict(body), "reason": reason}


def struck(event_id: str, reason: str, *, undo: bool = False) -> tuple[str, dict[str, object]]:
    """The entry that takes an event out."""
    return STRIKE, {"event": event_id, "reason": reason, **({"undo": True} if undo else {})}


Handler = Callable[[Request], Awaitable[Response]]


def anew(handler: Handler) -> Handler:
    """A handler that is asked again when somebody else wrote to the visit in the same moment; each time one is through."""

    @wraps(handler)
    async def asked(request: Request) -> Response:
        for _ in range(MOST_TRIES):
            with suppress(Moved):
                return await handler(request)
        return await handler(request)

    return asked


def kept(write: Callable[[], object]) -> dict[str, tuple[str, ...]]:
    """Write; what the journal says when it is full, busy or damaged, as errors of the form, so that it is not lost."""
    try:
        write()
    except Moved:
        raise
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
