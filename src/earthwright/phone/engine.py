"""What answers inside the phone: the same application as a server's, asked by the browser instead of a network."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from starlette.applications import Starlette
from starlette.types import Message

from ..cli.sums import single_sums
from ..desk import Desk
from ..web import make_app
from ..web.settings import Settings

Headers = Sequence[tuple[str, str]]
JOURNAL = "/journal/journal.sqlite"


class Engine:
    """One journal and its pages. ``journal``: path of its file."""

    def __init__(self, journal: str = JOURNAL) -> None:
        self.desk = Desk(Path(journal))
        self.app = app_over(self.desk)

    async def answer(
        self, method: str, path: str, query: str, headers: Headers, body: bytes
    ) -> tuple[int, Headers, bytes]:
        """The answer to one request: status, headers, body."""
        return await asked(self.app, method, path, query, headers, bytes(body))


def app_over(desk: Desk) -> Starlette:
    """The pages over a desk, as a phone shows them: in a frame of our own."""
    return make_app(desk, Settings(framed=True, sums=single_sums()))


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
    status, told, parts = 500, [], []

    async def receive() -> Message:
        return waiting.pop() if waiting else {"type": "http.disconnect"}

    async def send(message: Message) -> None:
        nonlocal status, told
        if message["type"] == "http.response.start":
            status, told = (
                message["status"],
                [(k.decode("latin-1"), v.decode("latin-1")) for k, v in message["headers"]],
            )
        elif message["type"] == "http.response.body":
            parts.append(message.get("body", b""))

    await app(scope, receive, send)
    return status, told, b"".join(parts)


def rehearse() -> None:
    """Do once, in memory, what a first visitor asks for, so that a snapshot holds it ready. Leaves nothing behind."""
    from ..web.views.visits import demo_visit

    desk = Desk(":memory:")
    app, visit = app_over(desk), demo_visit(desk)
    for path in ("/", f"/v/{visit}/", f"/v/{visit}/circuits", f"/v/{visit}/map", f"/v/{visit}/findings"):
        status = _at_once(asked(app, "GET", path, "", (("host", "phone"),), b""))[0]
        if status != 200:
            raise RuntimeError(f"{path}: {status}")
    desk.close()


def _at_once(answering: Any) -> Any:
    """What a coroutine that waits for nothing gives."""
    try:
        answering.send(None)
    except StopIteration as done:
        return done.value
    raise RuntimeError("a page waited for something")
