"""A visit comes back to the process that holds it, and waits for none that is at other work for long."""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import Iterator

import pytest
from anyio import BrokenWorkerProcess

from earthwright.cli import seats as module
from earthwright.cli.seats import Seats


@pytest.fixture
def seats() -> Iterator[Seats]:
    made = Seats(3)
    yield made
    made.close()


async def process_of(seats: Seats, visit: str = "") -> int:
    async with seats.one(visit) as seat:
        return await seat.run(20, os.getpid)


def test_each_visit_has_its_process_and_they_are_shared_out(seats: Seats) -> None:
    async def go() -> None:
        of = {v: await process_of(seats, v) for v in ("a", "b", "c")}
        assert len(set(of.values())) == 3
        for _ in range(3):
            assert {v: await process_of(seats, v) for v in "cab"} == of
        together = await asyncio.gather(*(process_of(seats, v) for v in "abcabcabc"))
        assert together == [of[v] for v in "abcabcabc"]

    asyncio.run(go())


def test_a_visit_goes_elsewhere_when_its_process_is_at_other_work_for_long(
    seats: Seats, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "PATIENCE_S", 0.05)

    async def go() -> None:
        home = await process_of(seats, "a")
        seat = next(s for s in seats.all if s is seats._had["a"])
        async with seats.this(seat):
            other = await process_of(seats, "a")
        assert other != home
        assert await process_of(seats, "a") == other, "and stays there"

    asyncio.run(go())


def test_whoever_finds_none_free_waits_until_one_is(seats: Seats) -> None:
    async def go() -> None:
        found = await asyncio.gather(*(process_of(seats, f"v{n}") for n in range(12)))
        assert len(set(found)) == 3
        assert not any(s.busy for s in seats.all)

    asyncio.run(go())


def test_a_process_that_dies_or_takes_too_long_costs_its_own_question_only(seats: Seats) -> None:
    async def go() -> None:
        before = await process_of(seats, "a")
        async with seats.one("a") as seat:
            with pytest.raises(BrokenWorkerProcess):
                await seat.run(20, os._exit, 1)
        after = await process_of(seats, "a")
        async with seats.one("a") as seat:
            with pytest.raises(TimeoutError):
                await seat.run(0.3, time.sleep, 60)
        assert len({before, after, await process_of(seats, "a")}) == 3

    asyncio.run(go())


def test_nothing_begins_a_process_once_they_are_closed(seats: Seats) -> None:
    async def go() -> None:
        seats.close()
        async with seats.one("a") as seat:
            with pytest.raises(BrokenWorkerProcess):
                await seat.run(20, os.getpid)

    asyncio.run(go())
