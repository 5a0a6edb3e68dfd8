"""The visit, its supply and what the paper needs besides the readings."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from ..specs import SPECS, value_of
from ..work import plain_body
from .common import base, opened, show

TABLES = ("visit", "supply", "report", "origin", "danger", "assumptions")


async def details_page(request: Request) -> Response:
    """GET what is entered about the visit itself, each with the way to its form."""
    found = opened(request)
    groups = []
    for table in TABLES:
        entry = found.single(table)
        body = plain_body(entry) if entry else {}
        facts = [
            (s.label(table), f"{s.word(value_of(s, body))} {s.unit}".strip()) for s in SPECS[table] if value_of(s, body)
        ]
        groups.append(
            {
                "table": table,
                "facts": facts,
                "link": f"{base(found)}/entry/{entry.id}" if entry else f"{base(found)}/add/{table}",
            }
        )
    return show(request, found, "details.html", "details", groups=groups)
