"""``earthwright serve --phone FOLDER``: hands out the folder that ``./run phone`` made, at the root of an address of its own.

A folder of files and nothing more: no journal is opened, and nothing that a phone holds comes here, unless a journal is named
beside it; then that office's ``/sync/`` answers under the same address, so that phones need no other.
"""

from __future__ import annotations

import mimetypes
import re
from functools import lru_cache
from pathlib import Path

from starlette.applications import Starlette
from starlette.datastructures import MutableHeaders
from starlette.responses import Response
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from ..web.guard import DEVICES

HEADERS = {
    "cache-control": "no-cache",  # asked for again each time, so that a newer version is seen; what is the same is not sent twice
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}
# Pages bring their own policy; the router has none but this, and a worker may compile what it runs.
ROUTER = "default-src 'none'; script-src 'self'; connect-src 'self'"
WORKER = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'{office}; worker-src 'self'"
PAGE = "frame-ancestors 'none'"

for ending, kind in (
    (".mjs", "text/javascript"),
    (".webmanifest", "application/manifest+json"),
    (".packed", "application/octet-stream"),
):
    mimetypes.add_type(kind, ending)


class _Files(StaticFiles):
    """Files with the headers they need."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """One of them, or 404."""
        office = _made_for(Path(str(self.directory)))
        found = await super().get_response(path, scope)
        headers = MutableHeaders(raw=found.raw_headers)
        policy = (
            ROUTER
            if path == "sw.js"
            else WORKER.format(office=office and f" {office}")
            if path.endswith(".mjs")
            else PAGE
        )
        for name, value in (*HEADERS.items(), ("content-security-policy", policy)):
            headers[name] = value
        return found


def is_phone(folder: Path) -> bool:
    """Whether a folder is one that ``./run phone`` made."""
    return all((folder / name).is_file() for name in ("sw.js", "index.html", "phone/snapshot.bin.packed"))


@lru_cache(maxsize=4)
def _made_for(folder: Path) -> str:
    """The office elsewhere that a folder was made for; empty where it asks none but whoever handed it out."""
    found = re.search(r'^const OFFICE = "([^" ;,]*)";$', (folder / "sw.js").read_text(encoding="utf-8"), re.M)
    return found[1] if found else ""


def handed_out(folder: Path, office: ASGIApp | None = None) -> ASGIApp:
    """The application that hands a folder out, and passes what devices send to an office's own."""
    files = Starlette(routes=[Mount("/", _Files(directory=folder, html=True))])
    if office is None:
        return files

    async def both(scope: Scope, receive: Receive, send: Send) -> None:
        theirs = scope["type"] == "lifespan" or scope["path"].startswith(DEVICES)
        await (office if theirs else files)(scope, receive, send)

    return both
