"""A run of questions that somebody else carries over the line: which address, which head, and what an answer means."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Sequence
from typing import Any
from urllib.parse import urlsplit

from attrs import evolve, frozen

from ..records.store import Store
from ..records.trouble import Damaged, JournalError, NotKept
from .device import Asking, Outcome, exchange
from .line import Ask, NoAnswer, Refused
from .names import Office, keep_office, office

HERE = ("localhost", "127.0.0.1", "::1")


@frozen
class Question:
    """One question as it goes over the line."""

    url: str
    headers: dict[str, str]
    body: bytes


def address_of(typed: str) -> str:
    """An address as it is kept: ``https://visits.example``. Raises NotKept for one that could be read on the way."""
    typed = typed.strip().rstrip("/")
    typed = typed if "://" in typed else f"https://{typed}"
    try:
        found = urlsplit(typed)
        host, _ = found.hostname or "", found.port
    except ValueError:
        host, found = "", urlsplit("")
    if not host or found.path or found.query or found.fragment or found.username or len(typed) > 200:
        raise NotKept("Name the office's address such as https://visits.example, with nothing behind it.")
    if found.scheme != "https" and not (found.scheme == "http" and host in HERE):
        raise NotKept("The office is asked over HTTPS only: otherwise names and readings could be read on the way.")
    return f"{found.scheme}://{found.netloc}"


def question(office: Office, ask: Ask) -> Question:
    """A question to this office."""
    headers = {"authorization": f"Bearer {office.token}", "content-type": "application/octet-stream"}
    return Question(f"{office.address}/sync/{ask.name}", headers, ask.body)


def answered(ask: Ask, status: int, body: bytes) -> Any:
    """The answer as values or bytes. Raises Refused, NoAnswer, each saying what to do."""
    if status == 200:
        if ask.name.startswith("file/") and not ask.body:
            return body
        try:
            return json.loads(body)
        except (ValueError, RecursionError) as error:
            raise NoAnswer("What answers there is no office of this program. Is the address right?") from error
    said, code = "", ""
    try:
        found = json.loads(body)
        said, code = str(found.get("said", "")), str(found.get("code", ""))
    except (ValueError, AttributeError, RecursionError):
        pass
    if status == 401:
        raise Refused(said or "The office does not know this device. Ask there for a new token and type it here.", code)
    if status in (400, 409, 413) and said:
        raise Refused(said, code)
    if status in (404, 405):
        raise NoAnswer("What answers there is no office of this program, or an older one. Is the address right?")
    raise NoAnswer(f"The office is busy or in trouble (it answered {status}). Nothing is lost; try again later.")


def begun(store: Store, address: str, token: str) -> Office:
    """The office that this journal is to go with, kept. Raises NotKept."""
    known = office(store) or Office()
    token = token.strip()
    if not (token or known.token):
        raise NotKept("Type the token that the office gave for this device.")
    found = evolve(known, address=address_of(address), token=token or known.token, trouble="")
    keep_office(store, found)
    return found


class Run:
    """A run of questions that somebody carries over the line: :attr:`ask` is the next one, None when all is done."""

    def __init__(self, store: Store, clock: Any, leave: Sequence[str]) -> None:
        self.store = store
        self.asking: Asking = exchange(store, clock, leave)
        self.ask: Ask | None = None
        self.outcome: Outcome | None = None
        self._on(lambda: next(self.asking))

    def hand(self, found: Any) -> None:
        """The answer to the question."""
        self._on(lambda: self.asking.send(found))

    def fail(self, error: JournalError) -> None:
        """What the answer raised: the run may know what to do, else it raises it again."""
        self._on(lambda: self.asking.throw(error))

    def _on(self, step: Any) -> None:
        try:
            self.ask = step()
        except StopIteration as done:
            self.ask, self.outcome = None, done.value
            self._remember("", self.outcome)
        except (KeyError, TypeError, ValueError, AttributeError) as error:  # an answer of another shape
            said = "The office's answer cannot be read. Nothing of it was kept. Are both programs of the same version?"
            self._remember(said)
            raise Damaged(said) from error
        except JournalError as error:
            self._remember(str(error))
            raise

    def _remember(self, trouble: str, outcome: Outcome | None = None) -> None:
        known = office(self.store)
        if known is not None:
            last = dt.datetime.now(dt.UTC).isoformat(timespec="seconds") if outcome else known.last
            ahead = outcome.ahead_ms if outcome else known.ahead_ms
            keep_office(self.store, evolve(known, last=last, trouble=trouble, ahead_ms=ahead))
