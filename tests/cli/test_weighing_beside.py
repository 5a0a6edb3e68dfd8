"""Batches that several workers of a phone make at once are those that one would have made, in the order of their numbers."""

from __future__ import annotations

import asyncio
import pickle
from collections import deque

import pytest

from earthwright.base.elsewhere import Elsewhere
from earthwright.evidence.network import sampler
from earthwright.phone.weighing import InWorker

COUNT = 8


@pytest.fixture(autouse=True)
def _made_here_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever weighs elsewhere says so for the whole process: here only for one test."""
    monkeypatch.setattr(sampler, "made_by", sampler.made_by)


class Workers:
    """Stand for them: the one asked last is done first, as far as that can be."""

    def __init__(self) -> None:
        self.asked: list[int] = []
        self.open: deque[asyncio.Event] = deque()
        self.most = 0

    async def make(self, work: bytes, number: int) -> bytes:
        """The number stands for the batch."""
        assert work == b"net"
        self.asked.append(number)
        self.open.append(done := asyncio.Event())
        self.most = max(self.most, len(self.open))
        await done.wait()
        return pickle.dumps(number)

    async def until(self, held: list[int], count: int) -> None:
        """Let them finish until so many are held."""
        for _ in range(100):
            await asyncio.sleep(0)
            if len(held) >= count:
                return
            if self.open:
                self.open.pop().set()
        raise AssertionError(f"{len(held)} of {count} came")


@pytest.mark.parametrize("beside", [1, 3, 20])
def test_all_are_kept_in_the_order_of_their_numbers(beside: int) -> None:
    async def go() -> None:
        workers = Workers()
        weighing = InWorker(workers.make, beside)
        weighing.begin(Elsewhere("weigh", "k", (b"net", COUNT)))
        held = weighing.done["k"]
        await workers.until(held, COUNT)  # type: ignore[arg-type]
        assert held == list(range(COUNT))
        assert sorted(workers.asked) == list(range(COUNT)), "each is made once"
        assert workers.most == min(beside, COUNT)

    asyncio.run(go())


def test_what_was_made_before_it_was_stopped_is_not_made_again() -> None:
    async def go() -> None:
        workers = Workers()
        weighing = InWorker(workers.make, 2)
        work = Elsewhere("weigh", "k", (b"net", COUNT))
        weighing.begin(work)
        held = weighing.done["k"]
        await workers.until(held, 3)  # type: ignore[arg-type]
        weighing.stop()
        for _ in range(5):
            await asyncio.sleep(0)
        assert not weighing.busy()
        kept = len(held)
        workers.asked.clear()
        workers.open.clear()
        weighing.stopped.discard("k")
        weighing.begin(work)
        await workers.until(held, COUNT)  # type: ignore[arg-type]
        assert held == list(range(COUNT))
        assert sorted(workers.asked) == list(range(kept, COUNT))

    asyncio.run(go())
