"""The firm's instruments; its calendar; whether the server is well; and taking personal data out."""

from __future__ import annotations

from attrs import frozen
from sqlalchemy import func, select
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response

from ....firm import tables
from ....firm.coming import WARNED_DAYS, coming, feed
from ....firm.index import STAGES, is_day
from ....firm.tools import CHECKED, WRONG, Firms, note, shown, tools
from ....records import JournalError
from ...drawing.over_time import over_time
from ...forms import Typed
from ...gate import firm_of, me
from ...render import drawn, page, see_other
from ...words import say
from ..common import form_of, settings


@frozen
class Lapsing:
    """An instrument whose check lapses soon, or has; or that turned out wrong."""

    key: str
    words: str
    wrong: bool = False


def lapsing(request: Request) -> list[Lapsing]:
    """What the office is warned of."""
    today, found = settings(request).now().date(), []
    for t in tools(firm_of(request)):
        if t.wrong is not None:
            found.append(
                Lapsing(t.key, say("tools.wrong_since", title=t.title, day=t.wrong.since, count=len(t.doubted())), True)
            )
        if t.until is not None and (t.until - today).days <= WARNED_DAYS:
            name = "tools.lapsed" if t.until < today else "tools.lapses"
            found.append(Lapsing(t.key, say(name, title=t.title, day=t.until)))
    return found


async def tools_page(request: Request) -> Response:
    """GET every instrument."""
    firm, warned = firm_of(request), {x.key for x in lapsing(request)}
    return page(request, "office/tools.html", typed=Typed(), tools=tools(firm), warned=warned)


def _tool(request: Request) -> Firms:
    found = next((t for t in tools(firm_of(request)) if t.key == request.path_params["serial"]), None)
    if found is None:
        raise HTTPException(404)
    return found


async def tool_page(request: Request) -> Response:
    """GET one instrument: its checks over time, and which visits rest on it."""
    return _one(request, Typed())


def _one(request: Request, typed: Typed) -> Response:
    tool, firm = _tool(request), firm_of(request)
    points = shown(firm, tool)
    return page(
        request,
        "office/tool.html",
        422 if typed.errors else 200,
        typed=typed,
        tool=tool,
        doubted=tool.doubted(),
        drawing=drawn(over_time(points, "Ω", say("tools.drawn", title=tool.title))) if points else "",
        points=points,
        today=settings(request).now().date().isoformat(),
    )


async def tool_post(request: Request) -> Response:
    """POST a later check, or that it turned out wrong from a day on."""
    form, _ = await form_of(request)
    tool, what = _tool(request), WRONG if form.get("do") == "wrong" else CHECKED
    key = "since" if what == WRONG else "until"
    words = form.get("words", "") if what == WRONG else ""
    why = note(firm_of(request), me(request), tool.key, what, form.get(key, ""), words)
    at = "words" if what == WRONG and is_day(form.get(key, "")) else key
    return _one(request, Typed(form, {at: (why,)})) if why else see_other(request.url.path)


async def calendar(request: Request) -> Response:
    """GET what is coming, by the address that is a person's own."""
    firm = firm_of(request)
    person = firm.people.of_feed(request.path_params["key"])
    if person is None:
        raise HTTPException(404)
    return Response(feed(coming(firm, person, settings(request).now().date())), media_type="text/calendar")


async def health(request: Request) -> Response:
    """GET whether the journal answers."""
    try:
        firm_of(request).store.head()
    except JournalError as error:
        return PlainTextResponse(str(error), 503)
    return PlainTextResponse("ok")


async def metrics(request: Request) -> Response:
    """GET numbers for a scraper on this machine (text format 0.0.4 of Prometheus); others are answered as if it were not there."""
    passed_on = any(request.headers.get(h) for h in ("x-forwarded-for", "forwarded", "x-real-ip", "via"))
    if passed_on or request.client is None or request.client.host not in ("127.0.0.1", "::1"):
        raise HTTPException(404)
    firm = firm_of(request)
    stages = list(firm.stages().values())
    with tables.reading(firm.store) as connection:
        sessions = connection.execute(select(func.count()).select_from(tables.session)).scalar_one()
        wrong = connection.execute(select(func.count()).where(tables.deed.c.did == "sign-in refused")).scalar_one()
    said = ["# TYPE earthwright_visits gauge"]
    said += [f'earthwright_visits{{stage="{s}"}} {stages.count(s)}' for s in STAGES]
    for name, kind, value in (
        ("events", "counter", firm.store.head()[0]),
        ("browsers", "gauge", sessions),
        ("refused_sign_ins", "counter", wrong),
        ("people", "gauge", sum(not p.gone for p in firm.people.all())),
    ):
        said += [f"# TYPE earthwright_{name} {kind}", f"earthwright_{name} {value}"]
    return PlainTextResponse("\n".join(said) + "\n")


async def erase_page(request: Request) -> Response:
    """GET the form that takes a client's personal data out of a visit."""
    return _erase(request, Typed())


def _erase(request: Request, typed: Typed, done: str = "") -> Response:
    visit, journal = typed.value("visit") or request.query_params.get("visit", ""), firm_of(request).desk
    there = bool(visit) and journal.holds(visit)
    return page(
        request,
        "office/erase.html",
        422 if typed.errors else 200,
        typed=typed,
        id=visit,
        until=journal.kept_until(visit) if there else None,
        others=journal.same_person(visit) if there else (),
        done=done,
    )


async def erase_post(request: Request) -> Response:
    """POST: look what else there is of the same person, or take the data out, signed by the login."""
    form, _ = await form_of(request)
    firm, visit = firm_of(request), form.get("visit", "").strip()
    if not firm.desk.holds(visit):
        return _erase(request, Typed(form, {"visit": (say("erase.no_visit"),)}))
    if form.get("do") != "erase":
        return _erase(request, Typed(form))
    try:
        firm.erase(me(request), visit, form.get("reason", ""))
    except JournalError as error:
        return _erase(request, Typed(form, {"reason": (str(error),)}))
    return _erase(request, Typed(), visit)
