"""Pages answered by processes of their own: whatever one visit costs, nobody else waits for it.

The process that listens only takes requests in, asks for the pass phrase, and hands each request to one of a few others.
A visit has one of them at a time, if it can be the same as before (:mod:`.seats`). One that takes too long, or too much
memory, is ended and the visitor is told. The pages themselves know nothing of this: in a phone's browser the same
application answers in the only process there is.
"""

from __future__ import annotations

import asyncio
import gc
import os
import sys
import traceback
from collections.abc import Iterable
from contextlib import suppress
from functools import lru_cache

from anyio import BrokenWorkerProcess, Lock
from attrs import evolve, frozen
from starlette.responses import PlainTextResponse
from starlette.types import Message, Receive, Scope, Send

from ..base import limits
from ..base.elsewhere import Elsewhere
from ..desk import Desk
from ..web import make_app
from ..web.guard import Guard, TooLarge, with_headers
from ..web.settings import Settings
from ..web.views.visits import demo_visit
from ..web.words import say
from .office_line import line
from .seats import Seat, Seats
from .sums import single_sums
from .weighing import InThread

MOST_WORKS = 12  # works that one page may have to wait for, one after another


@frozen
class Choices:
    """What whoever serves chose, for the processes that answer."""

    journal: str
    blind: bool = False
    portfolio: str = ""
    phone: str = ""
    firm: bool = False
    origins: tuple[str, ...] = ()


@frozen
class Asked:
    """One request, whole."""

    method: str
    path: str
    raw_path: bytes
    query: bytes
    headers: tuple[tuple[bytes, bytes], ...]
    body: bytes
    scheme: str
    client: tuple[str, int] | None
    server: tuple[str, int | None] | None
    by: str


@frozen
class Answered:
    """The answer to it; ``trouble`` is what went wrong within, for whoever serves."""

    status: int
    headers: tuple[tuple[bytes, bytes], ...]
    body: bytes
    trouble: str = ""


class Workers:
    """The application that listens: the guard in front, the processes behind."""

    def __init__(self, choices: Choices, settings: Settings, longest_s: float = limits.ANSWER.most) -> None:
        self.choices, self.settings, self.longest_s = choices, settings, longest_s
        self._visits: dict[str, Lock] = {}
        self._seats = Seats(max(limits.PROCESSES.most, (os.cpu_count() or 1) + 2))
        self._warming: asyncio.Future[None] | None = None
        self._guarded = Guard(
            self._hand_on, pass_phrase=settings.pass_phrase, hosts=settings.hosts, origins=settings.origins
        )

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request, or the beginning and end of serving."""
        if scope["type"] == "lifespan":
            await self._lifespan(receive, send)
        elif scope["type"] == "http":
            try:
                await self._guarded(scope, receive, send)
            except TooLarge:
                await self._plain(413, "guard.large")(scope, receive, with_headers(send))

    async def _lifespan(self, receive: Receive, send: Send) -> None:
        while True:
            kind = (await receive())["type"]
            if kind == "lifespan.startup":  # made ready while the first visitors are answered already
                self._warming = asyncio.ensure_future(self.warm())
            if kind == "lifespan.shutdown":
                self.close()
            await send({"type": f"{kind}.complete"})
            if kind == "lifespan.shutdown":
                return

    async def warm(self) -> None:
        """Have the processes ready, one after another: whoever comes first has one of the others."""
        for seat in self._seats.all:
            if not seat.busy:
                async with self._seats.this(seat):
                    with suppress(BrokenWorkerProcess, TimeoutError):
                        await seat.run(limits.ANSWER.most, warm, self.choices)

    def close(self) -> None:
        """End the processes."""
        self._seats.close()

    async def _hand_on(self, scope: Scope, receive: Receive, send: Send) -> None:
        asked = Asked(
            scope["method"], scope["path"], scope.get("raw_path") or b"", scope["query_string"],
            tuple((bytes(k), bytes(v)) for k, v in scope["headers"]), await whole(receive), scope["scheme"],
            scope.get("client"), scope.get("server"), scope["state"]["by"],
        )  # fmt: skip
        visit = asked.path.split("/")[2] if asked.path.startswith("/v/") else ""
        lock = self._visits.setdefault(visit, Lock()) if visit else Lock()
        try:
            if lock.statistics().tasks_waiting >= limits.WAITING.most:
                await self._plain(503, "guard.busy")(scope, receive, send)
                return
            async with lock, self._seats.one(visit) as seat:
                found = await self._answer(seat, asked)
        finally:
            if visit and not lock.locked():
                self._visits.pop(visit, None)
        if found is None:
            await self._plain(503, "guard.late", seconds=f"{self.longest_s:g}")(scope, receive, send)
            return
        if found.trouble:
            print(found.trouble, file=sys.stderr, flush=True)
        await send({"type": "http.response.start", "status": found.status, "headers": list(found.headers)})
        await send({"type": "http.response.body", "body": found.body})

    async def _answer(self, seat: Seat, asked: Asked) -> Answered | None:
        """The answer; None when it took too long or the process died."""
        for again in (asked.method in ("GET", "HEAD"), False):
            try:
                return await seat.run(self.longest_s, answer, self.choices, asked)
            except BrokenWorkerProcess:
                if not again:  # a write may have been kept: it is not sent twice
                    return None
            except TimeoutError:
                return None
        return None

    @staticmethod
    def _plain(status: int, name: str, **values: str) -> PlainTextResponse:
        return PlainTextResponse(say(name, **values), status)


async def whole(receive: Receive) -> bytes:
    """The body of a request; the guard in front has bounded it."""
    parts: list[bytes] = []
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            return b"".join(parts)
        parts.append(message.get("body", b""))
        if not message.get("more_body"):
            return b"".join(parts)


# ---- in the processes that answer ----


@lru_cache(maxsize=1)
def _app(choices: Choices) -> tuple[asyncio.Runner, object, InThread]:
    """The pages, made once in each process, with no more memory than is their due."""
    with suppress(ImportError, ValueError, OSError):  # not on every system
        import resource

        resource.setrlimit(resource.RLIMIT_DATA, (limits.MEMORY.most, limits.MEMORY.most))
    desk = Desk(choices.journal)
    firm = None
    if choices.firm:
        from ..firm import Firm

        firm = Firm(desk)
        firm.stages()  # the journal is read once in each process, before anybody waits for a list
    weighing = InThread()
    return (
        asyncio.Runner(),
        make_app(
            desk,
            Settings(
                blind=choices.blind,
                sums=single_sums(),
                weighing=weighing,
                portfolio=choices.portfolio,
                phone=choices.phone,
                firm=firm,
                origins=choices.origins,
                line=None
                if choices.phone or firm
                else line,  # where others come in, nobody makes this machine ask anywhere
            ),
        ),
        weighing,
    )


def warm(choices: Choices) -> Answered:
    """Make ready: everything that the first visitor would otherwise wait for."""
    _app(choices)
    with suppress(ImportError, Elsewhere):  # papers are an extra
        from ..desk.demo import judge_demo

        judge_demo()
    gc.collect()
    gc.freeze()  # what is held for good is not looked through again in the middle of an answer
    return Answered(204, (), b"")


def answer(choices: Choices, asked: Asked) -> Answered:
    """Answer one request. What goes wrong within comes back beside the page that says so."""
    runner, app, weighing = _app(choices)
    sent: list[Message] = []
    trouble = ""

    async def receive() -> Message:
        return {"type": "http.request", "body": asked.body, "more_body": False}

    async def send(message: Message) -> None:
        sent.append(message)

    scope = {
        "type": "http", "asgi": {"version": "3.0", "spec_version": "2.3"}, "http_version": "1.1", "root_path": "",
        "method": asked.method, "path": asked.path, "raw_path": asked.raw_path, "query_string": asked.query,
        "headers": list(asked.headers), "scheme": asked.scheme, "client": asked.client, "server": asked.server,
    }  # fmt: skip
    try:
        for _ in range(MOST_WORKS):
            sent.clear()
            try:
                runner.run(app({**scope, "state": {"by": asked.by}}, receive, send))  # type: ignore[operator]
                break
            except Elsewhere as work:  # a paper: it cannot be without
                weighing.wait_for(work)
    except Exception:
        trouble = traceback.format_exc()
    return _put_together(sent, trouble)


def _put_together(sent: Iterable[Message], trouble: str) -> Answered:
    status, headers, body = 500, (), b""
    for message in sent:
        if message["type"] == "http.response.start":
            status, headers = message["status"], tuple(message["headers"])
        else:
            body += message.get("body", b"")
    return Answered(status, headers, body, trouble)


def open_once(choices: Choices, demo: bool) -> Choices:
    """Make sure that the journal is there and can be used, and holds the demo visit where nobody signs in; whether
    somebody has to. Raises JournalError."""
    from ..firm import is_there

    desk = Desk(choices.journal)
    try:
        firm = is_there(desk.store)
        if demo and not firm:
            demo_visit(desk)
    finally:
        desk.close()
    return evolve(choices, firm=firm)
