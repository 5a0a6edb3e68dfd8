"""The list of visits, and beginning one."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from ...demo import visit_text
from ...desk import Desk
from ..forms import Typed
from ..render import page, see_other
from .common import desk

DEMO = "demo-visit"


async def visits_page(request: Request) -> Response:
    """GET every visit, or those that match."""
    return _list(request, Typed())


def _list(request: Request, typed: Typed) -> Response:
    find = request.query_params.get("find", "").strip()[:200]
    words = find.lower().split()
    lines = [v for v in desk(request).visits() if all(w in f"{v.place} {v.date} {v.kind}".lower() for w in words)]
    return page(request, "visits.html", 422 if typed.errors else 200, visits=lines, find=find, typed=typed)


async def demo_post(request: Request) -> Response:
    """POST: the demo visit as it was left, or from its beginning when it is not there."""
    return see_other(f"/v/{demo_visit(desk(request))}/")


def demo_visit(kept: Desk) -> str:
    """Id of the demo visit, which is kept when it is not there yet."""
    if all(v.id != DEMO for v in kept.visits()):
        kept.take_in(visit_text(), by="J. Example", visit_id=DEMO)
    return DEMO
