"""The draws of a phone: made by other workers, batch by batch."""

from __future__ import annotations

import asyncio
import pickle
from collections import deque
from collections.abc import Awaitable, Callable

from ..base.elsewhere import Elsewhere
from ..cli.weighing import Weighing
from ..evidence.network.sampler import Batch


class InWorker(Weighing):
    """``maker``: given a network as bytes and the number of a batch, the batch as bytes; ``beside``: so many at once."""

    def __init__(self, maker: Callable[[bytes, int], Awaitable[bytes]], beside: int = 1) -> None:
        super().__init__()
        self.maker, self.beside = maker, beside
        self._task: asyncio.Future[None] | None = None

    def busy(self) -> bool:
        """Whether draws are being made."""
        return self._task is not None and not self._task.done()

    def start(self, work: bytes, held: list[Batch], count: int) -> None:
        """Begin to add batches to those held until there are so many."""
        self._task = asyncio.ensure_future(self._make(work, held, count))

    def let_go(self) -> None:
        """Make no more of them."""
        if self._task is not None:
            self._task.cancel()

    async def wait_for(self, work: Elsewhere) -> None:
        """Have it done now, for a paper that cannot be without it. Raises what the other worker failed with."""
        self.stopped.discard(work.key)
        self.begin(work)
        assert self._task is not None
        await self._task

    async def _make(self, work: bytes, held: list[Batch], count: int) -> None:
        made: deque[asyncio.Future[bytes]] = deque()
        try:
            while len(held) < count:
                while len(made) < min(self.beside, count - len(held)):
                    made.append(asyncio.ensure_future(self.maker(work, len(held) + len(made))))
                held.append(pickle.loads(await made[0]))  # by our own worker; kept in the order of their numbers
                made.popleft()
        finally:
            for one in made:
                one.cancel()
