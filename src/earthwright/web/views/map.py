"""The earth map: the site's network drawn from the model, as a drawing and as a list."""

from __future__ import annotations

from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from ...paper.earthmap import earth_map
from ..address import part_of_address
from ..render import drawn
from .bonds import link_of
from .common import base, judged, opened, show


async def map_page(request: Request) -> Response:
    """GET the earth map."""
    found = opened(request)
    a = judged(found)
    bonded = {b.bond.part for b in a.bonds}
    svg = earth_map(
        a,
        bond_link=lambda bond: link_of(found, bond),
        part_link=lambda part: f"{base(found)}/add/bond?part={quote(part, safe='')}",
        circuit_link=lambda circuit: f"{base(found)}/circuits/{part_of_address(circuit)}",
    )
    return show(
        request,
        found,
        "map.html",
        "map",
        drawing=drawn(svg),
        lonely=[p for p in a.visit.site.parts if p.id not in bonded],
        links=[(x, found.of("link", x.id)) for x in a.visit.site.links],
    )


async def map_svg(request: Request) -> Response:
    """GET the earth map as a file of its own."""
    return Response(
        earth_map(judged(opened(request))),
        media_type="image/svg+xml",
        headers={"content-security-policy": "default-src 'none'; style-src 'unsafe-inline'"},
    )
