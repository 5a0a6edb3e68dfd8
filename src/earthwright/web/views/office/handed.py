"""Handing papers over: the office's page, and what whoever has the address, or a client's login, gets to read."""

from __future__ import annotations

import datetime as dt

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ....firm.handing import MOST_TO, Link
from ....firm.people import too_long
from ....firm.rights import CLIENT
from ...forms import Typed
from ...gate import firm_of, me
from ...render import page, see_other
from ...words import say
from ..common import form_of, recorded, show
from ..paper import as_pdf

DAYS = 30


async def handed_page(request: Request) -> Response:
    """GET to whom a visit's papers were handed, and what they opened when."""
    return _handed(request, Typed())


def _handed(request: Request, typed: Typed, address: str = "") -> Response:
    found, firm = recorded(request), firm_of(request)
    line = firm.index.line(found.id)
    return show(
        request,
        found,
        "office/handed.html",
        "paper",
        typed,
        issued=line.issued if line else (),
        links=[(x, _day(x.ends), firm.deeds(x.id)) for x in firm.handing.of_visit(found.id)],
        clients=[(p.id, p.name) for p in firm.people.all() if p.role == CLIENT and not p.gone],
        address=address,
        days=DAYS,
    )


def _day(moment: float) -> str:
    return dt.datetime.fromtimestamp(moment, dt.UTC).date().isoformat()


async def handed_post(request: Request) -> Response:
    """POST a hand-over, or the end of one."""
    form, _ = await form_of(request)
    firm, visit = firm_of(request), request.path_params["visit"]
    if form.get("do") == "end":
        firm.handing.end(me(request), visit, form.get("link", ""))
        return see_other(f"/v/{visit}/handed")
    line = firm.index.line(visit)
    if line is None or not line.issued:
        return _handed(request, Typed(form, {"to": (say("handed.nothing"),)}))
    to, days = form.get("to", "").strip(), form.get("days", "")
    client = next((p for p in firm.people.all() if p.id == form.get("person") and p.role == CLIENT), None)
    if not to and client is None:
        return _handed(request, Typed(form, {"to": (say("handed.to_whom"),)}))
    if why := too_long(to, MOST_TO):
        return _handed(request, Typed(form, {"to": (why,)}))
    if not (days.isascii() and days.isdigit() and len(days) < 6 and 1 <= int(days) <= 400):
        return _handed(request, Typed(form, {"days": (say("handed.days_wrong"),)}))
    key = firm.handing.over(me(request), visit, to or (client.name if client else ""), int(days), client)
    return _handed(request, Typed(), str(request.url_for("by_link", key=key)))


def _papers(request: Request, link: Link) -> tuple[str, tuple[tuple[str, str], ...]]:
    line = firm_of(request).index.line(link.visit)
    return (line.place, line.issued) if line else ("", ())


async def link_page(request: Request) -> Response:
    """GET, by the address that was handed over: the papers."""
    link = _live(request)
    place, papers = _papers(request, link)
    firm_of(request).handing.opened(link, "the list")
    there = [(document, f"/h/{request.path_params['key']}/{hash_}.pdf") for document, hash_ in papers]
    return page(request, "office/papers.html", lists=[(place, _day(link.ends), there)])


def _live(request: Request) -> Link:
    found = firm_of(request).handing.of_key(request.path_params["key"])
    if found is None:
        raise HTTPException(404)
    return found


async def link_pdf(request: Request) -> Response:
    """GET one of them, byte for byte as it was issued."""
    return _one(request, _live(request))


def _one(request: Request, link: Link) -> Response:
    for document, hash_ in _papers(request, link)[1]:
        if hash_ == request.path_params["hash"]:
            firm_of(request).handing.opened(link, document)
            return as_pdf(firm_of(request).desk.content(hash_), f"{document.replace(' ', '-')}.pdf")
    raise HTTPException(404)


async def client_page(request: Request) -> Response:
    """GET what was handed to a client who is signed in."""
    lists = []
    for link in firm_of(request).handing.to_client(me(request)):
        place, papers = _papers(request, link)
        lists.append((place, _day(link.ends), [(d, f"/handed/{link.visit}/{h}.pdf") for d, h in papers]))
    return page(request, "office/papers.html", lists=lists)


async def client_pdf(request: Request) -> Response:
    """GET one of them."""
    for link in firm_of(request).handing.to_client(me(request)):
        if link.visit == request.path_params["visit"]:
            return _one(request, link)
    raise HTTPException(404)
