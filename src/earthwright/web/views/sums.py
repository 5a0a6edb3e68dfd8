"""Single sums: each with its picture, formula and source, and an address that holds what was put in."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ..drawing.sums import sum_drawing
from ..forms import Typed
from ..render import drawn, page
from ..sum_form import Outcome
from .common import settings


async def sums_page(request: Request) -> Response:
    """GET every sum."""
    return page(request, "sums.html", typed=Typed(), sums=settings(request).sums)


async def sum_page(request: Request) -> Response:
    """GET one sum, worked out when its address holds what it needs."""
    one = next((s for s in settings(request).sums if s.name == request.path_params["name"]), None)
    if one is None:
        raise HTTPException(404)
    values = {f.name: request.query_params.get(f.name, "")[:200] for f in one.fields if f.name in request.query_params}
    outcome = one.work(values) if any(values.values()) else Outcome()
    typed = Typed(values, outcome.errors)
    return page(
        request,
        "sum.html",
        422 if outcome.errors else 200,
        typed=typed,
        one=one,
        outcome=outcome,
        drawing=drawn(sum_drawing(one.name, values, outcome)),
    )
