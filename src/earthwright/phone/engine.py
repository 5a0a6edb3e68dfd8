"""What answers inside the phone: the same application as a server's, asked by the browser instead of a network."""

from __future__ import annotations

import gc
import pickle
import sys
import zipimport
from collections.abc import Awaitable, Callable, Sequence
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.types import Message

from ..base.elsewhere import Elsewhere
from ..cli.sums import single_sums
from ..cli.weighing import WEIGH
from ..cli.workers import MOST_WORKS
from ..desk import Desk
from ..web import make_app
from ..web.settings import Settings
from . import press
from .line import line
from .press import PRESS, NoPress
from .weighing import InWorker

Headers = Sequence[tuple[str, str]]
JOURNAL = "/journal/journal.sqlite"
# Given a kind, the work and a number, both as the browser has them: the outcome, from another worker.
Outside = Callable[[str, Any, int], Awaitable[Any]]


class Engine:
    """One journal and its pages. ``outside``: who does what takes long; ``beside``: how many weigh; ``journal``: path of its file."""

    def __init__(self, outside: Outside, beside: int = 1, journal: str = JOURNAL) -> None:
        sys.modules["typst"] = press
        self.outside = outside
        self.weighing = InWorker(self._batch, beside)
        self.desk = Desk(Path(journal))
        self.app = app_over(self.desk, self.weighing)

    async def answer(
        self, method: str, path: str, query: str, headers: Headers, body: bytes
    ) -> tuple[int, Headers, bytes]:
        """The answer to one request: status, headers, body. What has to be worked out first is waited for."""
        for _ in range(MOST_WORKS):
            try:
                return await asked(self.app, method, path, query, headers, bytes(body))
            except Elsewhere as work:
                await self._see_to(work)
        raise RuntimeError(f"{path} waits for something for ever")

    async def _see_to(self, work: Elsewhere) -> None:
        if work.kind != PRESS:
            await self.weighing.wait_for(work)
            return
        try:
            press.keep(work.key, pickle.loads(await self._outside(PRESS, pickle.dumps(work.work), 0)))
        except Exception as error:  # whatever a browser says when a file cannot be fetched or a worker is ended
            press.keep(work.key, NoPress(str(error)))

    async def _batch(self, work: bytes, number: int) -> bytes:
        return await self._outside(WEIGH, work, number)

    async def _outside(self, kind: str, work: bytes, number: int) -> bytes:
        from pyodide.ffi import to_js  # there is no such module but in the phone

        made = await self.outside(kind, to_js(work), number)
        return bytes(made.to_py())


def app_over(desk: Desk, weighing: InWorker | None = None) -> Starlette:
    """The pages over a desk, as a phone shows them: in a frame of our own."""
    return make_app(desk, Settings(framed=True, sums=single_sums(), weighing=weighing, line=line))


async def asked(
    app: Starlette, method: str, path: str, query: str, headers: Headers, body: bytes
) -> tuple[int, Headers, bytes]:
    """One request put to an application without any network between."""
    scope: dict[str, Any] = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": method,
        "scheme": dict(headers).get("x-forwarded-proto", "https"),
        "path": path, "raw_path": path.encode(), "query_string": query.encode(), "root_path": "",
        "headers": [(k.lower().encode("latin-1"), v.encode("latin-1")) for k, v in headers], "client": None,
        "server": ("phone", 443), "state": {},
    }  # fmt: skip
    waiting: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]
    told: list[Message] = []

    async def receive() -> Message:
        return waiting.pop() if waiting else {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        told.append(message)

    await app(scope, receive, send)
    kept = [(k.decode("latin-1"), v.decode("latin-1")) for k, v in told[0]["headers"]]
    return told[0]["status"], kept, b"".join(m.get("body", b"") for m in told[1:])


def rehearse() -> str:
    """Do once, in memory, what a first visitor asks for, so that a snapshot holds it ready. Leaves nothing behind.

    Gives the files whose code is in memory now, a line each; the archives that go with the snapshot may lack them.
    """
    from ..web.views.visits import demo_visit

    desk = Desk(":memory:")
    app, visit = app_over(desk), demo_visit(desk)
    for path in ("/", f"/v/{visit}/", f"/v/{visit}/circuits", f"/v/{visit}/map", f"/v/{visit}/findings"):
        status = _at_once(asked(app, "GET", path, "", (("host", "phone"),), b""))[0]
        if status != 200:
            raise RuntimeError(f"{path}: {status}")
    desk.close()
    places = {"/lib/python314.zip/": "stdlib/", "/libraries.zip/": "libraries/", "/site/": "site/"}
    held = [str(spec.origin) for m in list(sys.modules.values()) if (spec := getattr(m, "__spec__", None))]
    # What Python remembers of the archives is not so of those.
    sys.path_importer_cache.clear()
    zipimport._zip_directory_cache.clear()  # type: ignore[attr-defined]
    gc.collect()
    return "\n".join(
        places[p] + name.removeprefix(p)
        for name in held
        for p in places
        if name.startswith(p) and name.endswith((".py", ".pyc"))
    )


def _at_once(answering: Any) -> Any:
    """What a coroutine that waits for nothing gives."""
    try:
        answering.send(None)
    except StopIteration as done:
        return done.value
    raise RuntimeError("a page waited for something")
