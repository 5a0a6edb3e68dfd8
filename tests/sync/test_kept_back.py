"""A visit that the office does not take keeps nothing else back, and comes whole and in its order once it is taken."""

from __future__ import annotations

import contextlib
import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from earthwright.desk import Desk
from earthwright.sync.line import Ask, NoAnswer, Refused, of_visit
from earthwright.sync.names import Held, held

from .simulated import VISIT, plain, prepared, run, sync, through

OTHER = "visit-0002"


def shut(office: Desk, *visits: str, after: int = 99, token: str = "phone0") -> Callable[[Ask], Any]:
    """An office that takes nothing of these visits, over a line that is cut after so many questions."""
    left = after

    def asked(ask: Ask) -> Any:
        nonlocal left
        left -= 1
        if left < 0:
            raise NoAnswer("cut")
        if ask.name == "send":
            for e in json.loads(ask.body)["entries"]:
                if e["visit"] in visits:
                    raise Refused("it holds a signature", of_visit(e["visit"], "entry-that-may-go"))
        return through(office.store, ask, token)

    return asked


def back(desk: Desk) -> list[Held]:
    with desk.store.reading() as connection:
        return held(connection)


def ids(desk: Desk, visit: str) -> list[str]:
    return [e.id for e in desk.store.events(visit)]


@pytest.fixture
def two(tmp_path: Path) -> tuple[Desk, Desk]:
    """An office, and a phone with another visit; in both visits entries wait, one after the other."""
    office, phone, _ = prepared(tmp_path)
    phone.start("2 Example Road", date="2026-11-28", by="J. Example", visit_id=OTHER, kind="periodic")
    for n in range(6):
        phone.add((VISIT, OTHER)[n % 2], "step", {"note": f"remark {n}"}, "J. Example")
    return office, phone


def test_the_others_go_on_and_the_one_comes_later(two: tuple[Desk, Desk]) -> None:
    office, phone = two
    run(phone.store, shut(office, VISIT))
    assert ids(office, OTHER) == ids(phone, OTHER)
    assert len(ids(office, VISIT)) == len(ids(phone, VISIT)) - 3
    (one,) = back(phone)
    assert (one.visit, one.said, one.entry) == (VISIT, "it holds a signature", "entry-that-may-go")
    run(phone.store, shut(office, VISIT))  # and again, with nothing new
    assert [b.since for b in back(phone)] == [one.since]
    phone.add(VISIT, "step", {"note": "behind"}, "J. Example")
    phone.add(OTHER, "step", {"note": "beside"}, "J. Example")
    sync(phone, office, "phone0")
    assert back(phone) == []
    for visit in (VISIT, OTHER):
        assert [plain(e) for e in office.read(visit).events] == [plain(e) for e in phone.read(visit).events]
    assert office.verify().whole
    assert phone.verify().whole


@pytest.mark.parametrize("seed", range(12))
def test_whatever_is_shut_and_cut_nothing_is_lost(two: tuple[Desk, Desk], seed: int) -> None:
    """Visits are refused and taken, lines are cut, entries go on: at the end all is there, in the order of the phone."""
    office, phone = two
    dice = random.Random(seed)
    for n in range(14):
        phone.add(dice.choice((VISIT, OTHER)), "step", {"note": f"more {n}"}, "J. Example")
        closed = [v for v in (VISIT, OTHER) if dice.random() < 0.4]
        with contextlib.suppress(NoAnswer):
            run(phone.store, shut(office, *closed, after=dice.choice((1, 2, 3, 4, 5, 99))))
    sync(phone, office, "phone0")
    assert back(phone) == []
    for visit in (VISIT, OTHER):
        assert ids(office, visit) == ids(phone, visit)
    assert office.verify().whole, office.verify().faults


def test_an_entry_of_a_visit_does_not_come_before_one_that_stands_before_it(
    two: tuple[Desk, Desk], tmp_path: Path
) -> None:
    office, phone = two
    sent: list[dict[str, Any]] = []

    def asked(ask: Ask) -> Any:
        if ask.name == "send":
            sent.append(json.loads(ask.body))
        return through(office.store, ask, "phone0")

    run(phone.store, asked)
    (tmp_path / "again").mkdir()
    office_again, *_ = prepared(tmp_path / "again")
    rows = sent[0]["entries"]
    mine = [e for e in rows if e["visit"] == VISIT]
    for entries in ([mine[0], *rows[-1:]], [mine[2]]):
        through(office_again.store, Ask("send", json.dumps({**sent[0], "entries": entries}).encode()), "phone0")
    with pytest.raises(Refused, match="another way"):
        through(office_again.store, Ask("send", json.dumps({**sent[0], "entries": [mine[1]]}).encode()), "phone0")
    office_again.close()


def test_a_changed_gap_is_seen(two: tuple[Desk, Desk]) -> None:
    """What comes late hangs on what came before it, and what came hangs on it."""
    office, phone = two
    run(phone.store, shut(office, VISIT))
    with office.store.engine.begin() as connection:  # the office is made to hold something else beside the gap
        connection.execute(text("DROP TRIGGER link_no_update"))
        connection.execute(text("UPDATE link SET prev = :f WHERE no = (SELECT max(no) FROM link)"), {"f": "f" * 64})
    ask = Ask("send", json.dumps(_message(phone)).encode())
    with pytest.raises(Refused, match="another way"):
        through(office.store, ask, "phone0")


def _message(phone: Desk) -> dict[str, Any]:
    """All entries of the visit that is kept back."""
    caught: list[dict[str, Any]] = []

    def asked(ask: Ask) -> Any:
        if ask.name == "hello":
            return {"office": "o" * 32, "upto": 0, "hash": "", "ahead_ms": 0}
        if ask.name == "send":
            caught.append(json.loads(ask.body))
            raise NoAnswer("cut")
        return {"files": []}

    with phone.store.writing() as connection:
        connection.execute(text("DELETE FROM together WHERE name IN ('office') OR name LIKE 'held %'"))
    with pytest.raises(NoAnswer):
        run(phone.store, asked)
    found = caught[0]
    return {**found, "entries": [e for e in found["entries"] if e["visit"] == VISIT and "body" in e]}
