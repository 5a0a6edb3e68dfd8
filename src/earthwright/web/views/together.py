"""Going together with an office: what a device sends is answered here; the page shows what waits, and sends and fetches."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...desk.arrived import Paper, held_against
from ...desk.visit_list import VisitLine
from ...records import JournalError, NoSuch
from ...records.replay import Replayed, effect
from ...records.store import Store
from ...sync.carried import Run, answered, begun, question
from ...sync.device import waiting
from ...sync.line import Ask, Refused
from ...sync.names import Device, Office, device_of, devices, held, let_in, office, shut_out, want
from ...sync.names import several_wrote as several
from ...sync.office import answer
from ..devices import begun_there, look_into, papers_in, person_of, seen_on, visits_in
from ..forms import Typed
from ..render import page, see_other
from ..words import say
from .common import by, desk, form_of, seen_visits, settings
from .visits import DEMO

STAYS = (DEMO,)
MOST_LISTED = 50

if TYPE_CHECKING:
    from ...firm import Person


async def asked(request: Request) -> Response:
    """POST one question of a device; the answer as JSON, or the bytes of a file."""
    scheme, _, token = request.headers.get("authorization", "").partition(" ")
    journal = desk(request)
    device = device_of(journal.store, token) if scheme.lower() == "bearer" and len(token) < 100 else None
    if device is None:
        return _json({"said": say("together.unknown")}, 401)
    name, body = request.path_params["name"], await request.body()
    firm = settings(request).firm
    try:
        here = visits_in(firm, name, body) if firm else set()
        if firm is not None:
            look_into(firm, device.person, name, body)
        if name == "visits":
            return _json({"visits": _listed(request, body, device.person)})
        papers = papers_in(journal.store, body, settings(request).now().date()) if name == "send" else {}
        found = answer(
            journal.store, name, body, dt.datetime.now(dt.UTC), device.number,
            lambda c, sender, row: held_against(c, sender, row, papers[row.id]) if row.id in papers else None,
        )  # fmt: skip
        if firm is not None and name == "hello":
            found["person"] = person_of(firm, device.person).name
        if firm is not None and name == "send":
            begun_there(firm, device.person, body, here)
            for doubt, visit in {(p.doubt, v) for p, v in _kept(journal.store, papers) if p.doubt}:
                firm.note(person_of(firm, device.person), "paper not compared", visit, doubt)
    except Refused as error:
        return _json({"said": str(error), "code": error.code}, 409)
    except NoSuch as error:
        return _json({"said": str(error)}, 409)
    except JournalError as error:
        return _json({"said": str(error)}, 400)
    return Response(found, media_type="application/octet-stream") if isinstance(found, bytes) else _json(found)


def _kept(store: Store, papers: Mapping[str, Paper]) -> list[tuple[Paper, str]]:
    return [(paper, store.event(id_).visit) for id_, paper in papers.items()]


def _json(value: object, status: int = 200) -> Response:
    return Response(json.dumps(value, ensure_ascii=False), status, media_type="application/json")


def _listed(request: Request, body: bytes, person: str) -> list[dict[str, object]]:
    """Visits that a device may ask for: the newest that match a word."""
    try:
        find = str(json.loads(body or b"{}").get("find", ""))[:200].lower().split()
    except (ValueError, AttributeError, RecursionError):
        find = []
    firm = settings(request).firm
    lines = desk(request).visits() if firm is None else seen_on(firm, person)
    lines = [v for v in lines if v.id not in STAYS and all(w in f"{v.place} {v.date} {v.kind}".lower() for w in find)]
    return [{"id": v.id, "place": v.place, "date": v.date, "kind": v.kind} for v in lines[:MOST_LISTED]]


# ---- the page ----


async def together_page(request: Request) -> Response:
    """GET what waits, when all was sent last, what stood in the way; and which devices send here."""
    return _page(request, Typed())


def _page(request: Request, typed: Typed, offered: list[dict[str, object]] | None = None, token: str = "") -> Response:
    journal, line = desk(request), settings(request).line
    found = office(journal.store)
    minutes = round(found.ahead_ms / 60_000) if found else 0
    firm, there = settings(request).firm, {v.id: v for v in journal.visits()}
    with journal.store.reading() as connection:
        kept_back = held(connection)
    host = f"{request.url.scheme}://{request.url.netloc}"
    return page(
        request,
        "together.html",
        422 if typed.errors else 200,
        typed=typed,
        office=found,
        can=line is not None,
        begin_with=host if settings(request).framed else "",
        waits=waiting(journal.store, STAYS) if found else 0,
        last=found.last.replace("T", " ")[:16] if found else "",
        minutes=minutes if abs(minutes) > 2 else 0,
        conflicts=_contested(request) if found or firm or devices(journal.store) else [],
        held=[(one, there[one.visit].place if one.visit in there else "") for one in kept_back],
        said=request.query_params.get("said", ""),
        offered=offered,
        here=set(there),
        devices=_may_end(request),
        whose={p.id: p.name for p in firm.people.all()} if firm else {},
        token=token,
        framed=settings(request).framed,
    )


def _contested(request: Request) -> list[VisitLine]:
    """Visits in which somebody has to choose, as far as whoever asks sees them."""
    wrote = set(several(desk(request).store))
    return [v for v in seen_visits(request) if v.id in wrote and _has_any(desk(request).read(v.id))]


def _may_end(request: Request) -> list[Device]:
    """The devices that whoever asks may take the token back of: their own, or all for whoever lets people in."""
    found, firm = devices(desk(request).store), settings(request).firm
    if firm is None:
        return found
    person: Person = request.state.person
    return [d for d in found if d.person == person.id or firm.lets_in(person)]


def _has_any(read: Replayed) -> bool:
    return any(e.contested for e in read.entries)


async def together_post(request: Request) -> Response:
    """POST: begin with an office, send and fetch, look for visits there, fetch one; let a device in or shut it out."""
    form, _ = await form_of(request)
    journal, do = desk(request), form.get("do", "")
    try:
        if do == "let-in" and settings(request).firm is None:
            whose = journal.store.login
            token = let_in(journal.store, form.get("name", ""), dt.datetime.now(dt.UTC), whose)
            return _page(request, Typed(), token=token)
        if do == "shut-out":
            if form.get("device") in {d.number for d in _may_end(request)}:
                shut_out(journal.store, form["device"])
            return see_other("/together")
        line = settings(request).line
        if line is None:
            raise HTTPException(404)
        found = (
            begun(journal.store, form.get("address", ""), form.get("token", "")) if do == "begin" else _known(request)
        )
        if do == "signal" and not waiting(journal.store, STAYS):
            return Response(None, 204)
        if do == "look":
            return _page(request, Typed(form), await _offered(request, found, form.get("find", "")))
        if do == "take-out":
            _take_out(request, form.get("visit", ""))
        if do == "fetch":
            want(journal.store, form.get("visit", ""))
        said = await _go(request, found)
    except JournalError as error:
        return _page(request, Typed(form, {"": (str(error),)}))
    return see_other(f"/together?said={said}")


def _take_out(request: Request, visit: str) -> None:
    """Take the entry out for which the office did not take a visit."""
    journal = desk(request)
    with journal.store.reading() as connection:
        one = next((h for h in held(connection) if h.visit == visit and h.entry), None)
    if one is None:
        raise NoSuch(say("wrong.gone"))
    if one.entry not in effect(journal.store.events(visit))[0]:
        journal.strike(one.entry, f"{say('together.held_out_reason')}: {one.said}", by(request))


def _known(request: Request) -> Office:
    found = office(desk(request).store)
    if found is None:
        raise HTTPException(404)
    return found


async def _go(request: Request, found: Office) -> str:
    """All of it, each question carried by whoever carries here."""
    line = settings(request).line
    assert line is not None
    run = Run(desk(request).store, lambda: dt.datetime.now(dt.UTC), STAYS)
    while run.ask is not None:
        q = question(found, run.ask)
        try:
            answer = answered(run.ask, *await line(q.url, q.headers, q.body))
        except JournalError as error:
            run.fail(error)
        else:
            run.hand(answer)
    desk(request).forget()
    assert run.outcome is not None
    return f"{run.outcome.sent}.{run.outcome.fetched}"


async def _offered(request: Request, found: Office, find: str) -> list[dict[str, object]]:
    line = settings(request).line
    assert line is not None
    ask = Ask.of("visits", find=find[:200])
    q = question(found, ask)
    said = answered(ask, *await line(q.url, q.headers, q.body))
    rows = said.get("visits") if isinstance(said, dict) else None
    return [r for r in rows or () if isinstance(r, dict)][:MOST_LISTED]
