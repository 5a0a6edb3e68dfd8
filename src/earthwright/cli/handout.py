"""``earthwright serve --phone FOLDER``: hands out the folder that ``./run phone`` made, at the root of an address of its own.

A folder of files and nothing more: no journal is opened, and nothing that a phone holds ever comes here.
"""

from __future__ import annotations

import mimetypes
from pathlib import Path

from starlette.applications import Starlette
from starlette.datastructures import MutableHeaders
from starlette.responses import Response
from starlette.routing import Mount
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

HEADERS = {
    "cache-control": "no-cache",  # asked for again each time, so that a newer version is seen; what is the same is not sent twice
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}
# Pages bring their own policy; the router has none but this, and a worker may compile what it runs.
ROUTER = "default-src 'none'; script-src 'self'; connect-src 'self'"
WORKER = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'; worker-src 'self'"
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
        found = await super().get_response(path, scope)
        headers = MutableHeaders(raw=found.raw_headers)
        policy = ROUTER if path == "sw.js" else WORKER if path.endswith(".mjs") else PAGE
        for name, value in (*HEADERS.items(), ("content-security-policy", policy)):
            headers[name] = value
        return found


def is_phone(folder: Path) -> bool:
    """Whether a folder is one that ``./run phone`` made."""
    return all((folder / name).is_file() for name in ("sw.js", "index.html", "phone/snapshot.bin.packed"))


def handed_out(folder: Path) -> Starlette:
    """The application that hands a folder out."""
    return Starlette(routes=[Mount("/", _Files(directory=folder, html=True))])
