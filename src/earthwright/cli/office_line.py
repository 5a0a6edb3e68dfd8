"""The line to the office: HTTPS, a token in the head of each question, no redirects, and nobody else is asked."""

from __future__ import annotations

import asyncio
import datetime as dt
import ssl
import urllib.error
import urllib.request
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ..base import limits
from ..records.store import Store
from ..records.trouble import JournalError
from ..sync.carried import Run, answered, question
from ..sync.device import Outcome
from ..sync.line import NoAnswer
from ..sync.names import Office

WAIT_S = 60


class _Stay(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_: Any) -> None:
        """Never: the token goes to the address that was named and to no other."""


def over(url: str, headers: dict[str, str], body: bytes, certificate: Path | None = None) -> tuple[int, bytes]:
    """Status and body of the answer to one question. Raises NoAnswer."""
    handlers: list[Any] = [_Stay()]
    if url.startswith("https"):
        handlers.append(urllib.request.HTTPSHandler(context=ssl.create_default_context(cafile=certificate)))
    try:
        request = urllib.request.Request(url, body, headers, method="POST")
        with urllib.request.build_opener(*handlers).open(request, timeout=WAIT_S) as found:
            return found.status, found.read(limits.CONTENT.most + 1)
    except urllib.error.HTTPError as error:
        return error.code, error.read(100_000)
    except (OSError, ValueError) as error:
        raise NoAnswer(
            f"The office does not answer ({getattr(error, 'reason', None) or error}). Nothing is lost: what waits is sent "
            "when there is a signal."
        ) from error


async def line(url: str, headers: dict[str, str], body: bytes) -> tuple[int, bytes]:
    """The same for pages, beside which others are answered meanwhile."""
    return await asyncio.to_thread(over, url, headers, body)


def go(store: Store, found: Office, leave: Sequence[str] = (), certificate: Path | None = None) -> Outcome:
    """All of it, over a network. Raises NoAnswer, Refused, Damaged, JournalError with words for the person."""
    run = Run(store, lambda: dt.datetime.now(dt.UTC), leave)
    while run.ask is not None:
        try:
            q = question(found, run.ask)
            answer = answered(run.ask, *over(q.url, q.headers, q.body, certificate))
        except JournalError as error:
            run.fail(error)
        else:
            run.hand(answer)
    assert run.outcome is not None
    return run.outcome
