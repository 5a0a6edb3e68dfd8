"""A listener with patience of its own: connections that say nothing, half of something, or never read are cut."""

from __future__ import annotations

import asyncio
from collections import Counter
from typing import Any, ClassVar

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from ..base import limits


class Careful(H11Protocol):
    """One connection, with a deadline for whatever the other end owes, and a bound on connections of one address.

    head_s  for the whole head of a request;  pause_s  between two pieces of a body, or until an answer is read on
    body_s  for a whole request;  proxies  addresses that speak for many
    """

    head_s: ClassVar[float] = limits.HEAD.most
    pause_s: ClassVar[float] = limits.PAUSE.most
    body_s: ClassVar[float] = limits.REQUEST.most
    most: ClassVar[int] = limits.CONNECTIONS.most
    proxies: ClassVar[frozenset[str]] = frozenset()
    open: ClassVar[Counter[str]] = Counter()

    _address = ""
    _timer: asyncio.TimerHandle | None = None
    _began = 0.0

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Count it. When its address has too many, the one that was idle longest is closed for it; with none it is cut."""
        super().connection_made(transport)
        address = self.client[0] if self.client else ""
        if address not in self.proxies and self.open[address] >= self.most:
            if (idle := self._longest_idle(address)) is None:
                transport.abort()
                return
            idle.timeout_keep_alive_handler()
        self._address = address
        self.open[address] += 1
        self._owed(self.head_s)

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        super().connection_lost(exc)
        self._paid()
        if self._address:
            self.open[self._address] -= 1
            if not self.open[self._address]:
                del self.open[self._address]
            self._address = ""

    def data_received(self, data: bytes) -> None:
        """Something came: see what is still owed."""
        now = self.loop.time()
        super().data_received(data)
        if self.conn.their_state is h11.IDLE:
            if self._timer is None:  # the first piece of a head; more pieces get no more time
                self._owed(self.head_s)
                self._began = now
        elif self.conn.their_state is h11.SEND_BODY:
            self._began = self._began or now
            self._owed(min(self.pause_s, self._began + self.body_s - now))
        else:
            self._paid()

    def on_response_complete(self) -> None:
        """The next request of this connection has its own time."""
        self._paid()
        super().on_response_complete()

    def pause_writing(self) -> None:
        """The other end does not read."""
        super().pause_writing()
        self._owed(self.pause_s)

    def resume_writing(self) -> None:
        """It reads again."""
        super().resume_writing()
        self._paid()

    def _longest_idle(self, address: str) -> Careful | None:
        """The connection of an address that was answered longest ago and has asked nothing since."""
        idle = {
            since.when(): c
            for c in self.connections
            if isinstance(c, Careful) and c._address == address and not c.transport.is_closing()
            if (since := c.timeout_keep_alive_task) is not None
        }
        return idle[min(idle)] if idle else None

    def _owed(self, seconds: float) -> None:
        if self._timer is not None:
            self._timer.cancel()
        self._timer = self.loop.call_later(max(0.0, seconds), self.transport.abort)

    def _paid(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
        self._timer, self._began = None, 0.0


def careful(proxies: frozenset[str]) -> type[Careful]:
    """The protocol for a listener behind these proxies."""
    settings: dict[str, Any] = {"proxies": proxies, "open": Counter()}
    return type("Careful", (Careful,), settings)
