"""The list of visits, and beginning one."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from ...base.errors import VisitBookError
from ...desk import Desk
from ...desk.memory import MOST_CLIENTS, clients_of, tools_of
from ...desk.next_visit import last_visit
from ...outcomes.assessment import Assessment
from ...records import Draft, JournalError, NoSuch
from ...records.canon import digest
from ..forms import Typed, table_errors
from ..phone_code import code_of
from ..render import page, see_other
from ..schedule_rows import things
from ..specs import SPECS, body_from, choices_of
from ..words import say
from .common import (
    begun_by,
    brought_by,
    desk,
    form_of,
    kept,
    opened,
    seen_visits,
    sees,
    settings,
    show,
    signer,
    taken_over,
    uid_of,
)

DEMO = "demo-visit"
ARCHIVE = b"PK"  # a visit that was handed over begins so, a visit book never
AT_ONCE = 50  # lines of a list, and visits in a choice: more are found by a word


async def visits_page(request: Request) -> Response:
    """GET every visit, or those that match."""
    return _list(request, Typed())


def _list(request: Request, typed: Typed) -> Response:
    find = request.query_params.get("find", "").strip()[:200]
    words = find.lower().split()
    lines = [v for v in seen_visits(request) if all(w in f"{v.place} {v.date} {v.kind}".lower() for w in words)]
    first = _from(request, len(lines))
    return page(
        request,
        "visits.html",
        422 if typed.errors else 200,
        visits=lines[first : first + AT_ONCE],
        count=len(lines),
        first=first,
        at_once=AT_ONCE,
        portfolio=settings(request).portfolio,
        phone=settings(request).phone,
        framed=settings(request).framed,
        code=code_of(settings(request).phone),
        find=find,
        typed=typed,
        stages=firm.stages() if (firm := settings(request).firm) is not None else {},
        office=firm is not None and firm.plans(request.state.person),
    )


def _from(request: Request, count: int) -> int:
    """The first line of the list that is asked for; a number that makes no sense is the beginning."""
    asked = request.query_params.get("from", "")
    return (
        min(int(asked), max(count - 1, 0)) // AT_ONCE * AT_ONCE
        if asked.isascii() and asked.isdigit() and len(asked) < 9
        else 0
    )


async def demo_post(request: Request) -> Response:
    """POST: the demo visit as it was left, or from its beginning when it is not there."""
    return see_other(f"/v/{demo_visit(desk(request))}/")


def demo_visit(journal: Desk) -> str:
    """Id of the demo visit, which is kept when it is not there yet."""
    if not journal.holds(DEMO):
        text = (resources.files("earthwright.desk.demo") / "unfinished.toml").read_text(encoding="utf-8")
        journal.take_in(text, by="J. Example", visit_id=DEMO)
    return DEMO


async def new_page(request: Request) -> Response:
    """GET the form for a new visit."""
    return _new(request, Typed())


def _new(request: Request, typed: Typed) -> Response:
    today = settings(request).now().date().isoformat()
    visits = seen_visits(request)
    # The inspector of the newest visit most likely writes this one too.
    newest = next((v.inspector for v in visits if v.inspector), "")
    began = {"date": today, "inspector": signer(request, newest)}
    clients = list(clients_of(desk(request), began["inspector"]))[:MOST_CLIENTS]
    rows = [
        {
            "spec": s,
            "label": s.label("visit"),
            "value": began.get(s.key, s.start),
            "choices": choices_of(s, None, "visit"),
            "puts": [(n, n) for n in clients] if s.key == "client" else (),
        }
        for s in SPECS["visit"]
        if not s.more or s.key in ("temp_c", "client")
    ]
    tools = ", ".join(str(b.get("name") or b.get("id", "")) for _, b in tools_of(desk(request), began["inspector"]))
    follow = request.query_params.get("after", "") or typed.values.get("after", "")
    offered = [*(v for v in visits if v.id == follow), *(v for v in visits[:AT_ONCE] if v.id != follow)]
    known = [(v.id, f"{v.place}, {v.date}") for v in offered]
    return page(
        request,
        "new.html",
        422 if typed.errors else 200,
        typed=typed,
        rows=rows,
        visits=known,
        follow=follow,
        more=len(visits) > len(offered),
        tools=tools,
    )


async def new_post(request: Request) -> Response:
    """POST a new visit, with the structure of an earlier one if that was asked for."""
    form, _ = await form_of(request)
    journal = desk(request)
    body = body_from("visit", form, {})
    errors = table_errors(None, "visit", body)
    after = form.get("after", "")
    body["inspector"] = signer(request, str(body.get("inspector", "")))
    if after and not (journal.holds(after) and sees(request, after)):
        errors = {**errors, "after": (say("wrong.gone"),)}
    if errors:
        return _new(request, Typed(form, errors))
    visit_id = visit_of(uid_of(form))
    if not journal.holds(visit_id):
        begun_by(request, visit_id)
        who = str(body.get("inspector", ""))
        heading: dict[str, Any] = {k: v for k, v in body.items() if k != "date"}
        failed = kept(
            lambda: (
                journal.next_visit(after, date=str(body["date"]), by=who, visit_id=visit_id, **heading)
                if after
                else journal.add_all(_beginning(journal, visit_id, body, who, form))
            )
        )
        if failed:
            return _new(request, Typed(form, failed))
    return see_other(f"/v/{visit_id}/")


def _beginning(journal: Desk, visit_id: str, body: dict[str, object], who: str, form: Mapping[str, str]) -> list[Draft]:
    """The first entries of a visit: its heading, and the instruments and leads that the inspector brings to every job."""
    brought = tools_of(journal, who) if form.get("tools") else []
    tools = [Draft(visit_id, k, b, who, f"{visit_id}-tool-{n}") for n, (k, b) in enumerate(brought)]
    return [Draft(visit_id, "visit", body, who, f"{visit_id}-heading"), *tools]


async def book_post(request: Request) -> Response:
    """POST a visit book as a file: kept whole, or the list comes back and says why not."""
    form, files = await form_of(request)
    content = files.get("book", b"")
    if not content:
        return _list(request, Typed(form, {"book": (say("wrong.file_none"),)}))
    visit_id = visit_of(uid_of(form))
    try:
        if content.startswith(ARCHIVE):
            visit_id = taken_over(request, content)
        elif not desk(request).holds(visit_id):
            brought_by(request, visit_id, content)
            desk(request).take_in(content, by=getattr(request.state, "by", ""), visit_id=visit_id)
    except (VisitBookError, JournalError) as error:
        return _list(request, Typed(form, {"book": (str(error),)}))
    return see_other(f"/v/{visit_id}/")


async def hand_over(request: Request) -> Response:
    """GET a visit as one file that another journal takes in."""
    try:
        content = desk(request).hand_over(request.path_params["visit"])
    except NoSuch:
        raise HTTPException(404) from None
    said = {"content-disposition": f'attachment; filename="visit-{digest(content)[:8]}.zip"'}
    return Response(content, media_type="application/zip", headers=said)


async def kept_page(request: Request) -> Response:
    """GET whether a form was written: ``yes`` or ``no``. For a draft whose answer never came."""
    uid, visit = (request.query_params.get(k, "") for k in ("uid", "visit"))
    journal = desk(request)
    try:
        mine = [e.id for e in journal.read(visit).events] if visit and sees(request, visit) else []
        ids = mine if visit else [v.id for v in seen_visits(request)]
    except NoSuch:
        ids = []
    beginning = f"{uid}." if visit else visit_of(uid)
    said = any(i.startswith(beginning) for i in ids)
    return PlainTextResponse("yes" if uid and said else "no")


def visit_of(uid: str) -> str:
    """Id of the visit that a form with that id begins; typed anew it begins another one, so that nothing is dropped."""
    given, _, typed = uid.partition(".")
    return f"v-{given[:24]}-{typed}"


def titles_of(a: Assessment) -> dict[str, str]:
    """What people call each thing that readings are of."""
    return {t.id: t.title for t in things(a)} | {b.bond.id: b.part.title for b in a.bonds}


async def compare_page(request: Request) -> Response:
    """GET this visit beside another one to the same site."""
    found = opened(request)
    journal = desk(request)
    seen = seen_visits(request)
    others = [v for v in seen if v.id != found.id]
    here = next((v for v in seen if v.id == found.id), None)
    begun_from = last_visit(found.kept)
    begun_from = begun_from if journal.holds(begun_from) and journal.beside(found.id, begun_from) else ""
    last = {journal.before(found.id), begun_from}  # the same place: it stands beside whoever else went there
    with_id = request.query_params.get("with", "") or journal.before(found.id) or begun_from
    same = [v for v in others if here and v.place == here.place]
    compared = journal.compare(with_id, found.id) if with_id and with_id in {v.id for v in others} | last else None
    return show(
        request,
        found,
        "compare.html",
        "compare",
        others=others,
        others_choices=[(v.id, f"{v.place}, {v.date}") for v in list(dict.fromkeys([*same, *others[:AT_ONCE]]))],
        with_id=with_id,
        c=compared,
        titles=titles_of(found.a) if found.a else {},
    )
