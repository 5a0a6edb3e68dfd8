"""The processes that answer, one a seat, so that a visit comes back to the one that holds it read and judged."""

from __future__ import annotations

import asyncio
from collections import Counter, OrderedDict
from collections.abc import AsyncIterator, Callable
from contextlib import ExitStack, asynccontextmanager, suppress
from typing import TypeVar

import anyio
import anyio.to_process
from anyio.from_thread import BlockingPortal, start_blocking_portal

PATIENCE_S = (
    0.5  # a visit waits so long for the process that holds it, then goes to any; to read it anew takes about as long
)
HELD = 4096  # visits of which it is known who had them last

T = TypeVar("T")


class Seat:
    """One process. It stands at an event loop of its own: each loop keeps its own processes, and here it never needs a second."""

    def __init__(self) -> None:
        self.busy = False
        self._closed = False
        self._open = ExitStack()
        self._portal: BlockingPortal | None = None

    async def run(self, longest_s: float, call: Callable[..., T], *values: object) -> T:
        """What the process makes of a call. Raises TimeoutError, when it was ended, and BrokenWorkerProcess, when it died
        or the seat was closed: nothing that was still on its way begins a process after the end."""

        async def there() -> T:
            with anyio.fail_after(longest_s):
                return await anyio.to_process.run_sync(call, *values, cancellable=True)

        if self._closed:
            raise anyio.BrokenWorkerProcess
        if self._portal is None:
            self._portal = self._open.enter_context(start_blocking_portal())
        return await asyncio.wrap_future(self._portal.start_task_soon(there))

    def close(self) -> None:
        """End the process, for good."""
        self._closed = True
        if self._portal is not None:
            with suppress(RuntimeError):  # its loop has ended
                self._portal.call(self._portal.stop, True)
            self._open.close()
            self._portal = None


class Seats:
    """All of them."""

    def __init__(self, count: int) -> None:
        self.all = [Seat() for _ in range(count)]
        self._had: OrderedDict[str, Seat] = OrderedDict()
        self._freed = asyncio.Event()

    @asynccontextmanager
    async def one(self, visit: str = "") -> AsyncIterator[Seat]:
        """A free seat, for as long as it is needed: the one that had the visit last, unless it is at other work for long."""
        seat = await self._free(visit)
        if visit:
            self._had[visit] = seat
            self._had.move_to_end(visit)
            if len(self._had) > HELD:
                self._had.popitem(last=False)
        async with self.this(seat):
            yield seat

    @asynccontextmanager
    async def this(self, seat: Seat) -> AsyncIterator[None]:
        """A free seat taken."""
        seat.busy = True
        try:
            yield
        finally:
            seat.busy = False
            freed, self._freed = self._freed, asyncio.Event()
            freed.set()

    async def _free(self, visit: str) -> Seat:
        home = self._had.get(visit)
        loop = asyncio.get_running_loop()
        until = loop.time() + PATIENCE_S
        while True:
            left = until - loop.time()
            if home is not None and left > 0:
                free = [home] if not home.busy else []
            else:
                free, left = [s for s in self.all if not s.busy], 3600.0
            if free:
                return self._least(free) if visit else free[0]
            with suppress(TimeoutError):
                await asyncio.wait_for(self._freed.wait(), left)

    def _least(self, free: list[Seat]) -> Seat:
        """Of these the one that holds the fewest visits. What is of no visit goes to the first, whose lists are the newest."""
        held = Counter(id(s) for s in self._had.values())
        return min(free, key=lambda s: held[id(s)])

    def close(self) -> None:
        """End all."""
        for seat in self.all:
            seat.close()
