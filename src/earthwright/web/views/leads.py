"""Leads and instruments: the checks before and after, and what is entered of them."""

from __future__ import annotations

from attrs import frozen
from starlette.requests import Request
from starlette.responses import Response

from ...site.events import LeadCheck
from ...site.reading import Instrument, shorted_good
from ..address import part_of_address
from ..forms import Typed, digits_of
from ..render import see_other
from ..work import Opened
from .bonds import shown_words
from .common import base, form_of, judged, opened, show, write_step


@frozen
class CheckLine:
    """One check of a lead set as shown; ``good`` is None where nothing is held against it."""

    leads: str
    kind: str
    digits: str
    good: bool | None
    at: str
    entry: str


async def leads_page(request: Request) -> Response:
    """GET leads, instruments and their checks."""
    return _leads(request, opened(request), Typed())


def _leads(request: Request, found: Opened, typed: Typed) -> Response:
    a = judged(found)
    checks = [e for e in a.visit.events if isinstance(e, LeadCheck)]
    sets = {x.id: x for x in a.visit.leads}
    lines = []
    for e in reversed(checks):
        instrument = next((i for i in a.visit.instruments if i.id == e.instrument), Instrument(""))
        good = (
            shorted_good(e, sets[e.leads], instrument.limits("continuity"))
            if e.kind == "shorted" and e.leads in sets
            else None
        )
        lines.append(CheckLine(e.leads, e.kind, shown_words(e.shown), good, e.at, found.kept.event_at(e.line)))
    return show(
        request,
        found,
        "leads.html",
        "leads",
        typed,
        checks=lines,
        bond=request.query_params.get("bond", ""),
        sets=[(x, found.of("leads", x.id)) for x in a.visit.leads],
        instruments=[(i, found.of("instrument", i.id)) for i in a.visit.instruments],
    )


async def leads_post(request: Request) -> Response:
    """POST a check of the leads."""
    found = opened(request)
    judged(found)
    form, _ = await form_of(request)
    body: dict[str, object] = {"check": form.get("check", ""), "shown": digits_of(form)}
    body |= {k: form[k] for k in ("leads", "instrument", "nominal_ohm", "note") if form.get(k)}
    refused = write_step(request, found, form, [body])
    return _leads(request, found, refused) if refused else see_other(f"{base(found)}/{_back(request, found)}")


def _back(request: Request, found: Opened) -> str:
    """The bond whose readings asked for the check; the leads themselves when none did."""
    bond = request.query_params.get("bond", "")
    known = found.a is not None and any(b.id == bond for b in found.a.visit.site.bonds)
    return f"bond/{part_of_address(bond)}" if known else "leads"
