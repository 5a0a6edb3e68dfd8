"""Two phones and an office in one process: random histories with cuts at every question, kills, and clocks that are wrong."""

from __future__ import annotations

import datetime as dt
import json
import random
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from attrs import define, field

from earthwright.desk import Desk
from earthwright.records.event import Kept
from earthwright.records.replay import Replayed
from earthwright.records.store import Store
from earthwright.records.trouble import Conflict
from earthwright.sync import Outcome, exchange
from earthwright.sync.line import Ask, NoAnswer
from earthwright.sync.names import DEVICE, name_of, put, want
from earthwright.sync.office import answer

NOON = dt.datetime(2026, 11, 28, 12, 0, tzinfo=dt.UTC)
VISIT = "visit-0001"


def through(office: Store, ask: Ask, token: str = "t", now: dt.datetime = NOON) -> Any:
    """One question over a line that carries bytes."""
    found = answer(office, ask.name, ask.body, now, token)
    return found if isinstance(found, bytes) else json.loads(json.dumps(found))


def run(store: Store, asked: Callable[[Ask], Any], clock: Callable[[], dt.datetime] = lambda: NOON) -> Outcome:
    """A whole run of questions. What an answer raises goes into the run, a line that was cut ends it."""
    asking = exchange(store, clock)
    ask = next(asking)
    while True:
        try:
            try:
                found = asked(ask)
            except NoAnswer:
                asking.close()
                raise
            except Exception as error:
                ask = asking.throw(error)
            else:
                ask = asking.send(found)
        except StopIteration as done:
            return done.value  # type: ignore[no-any-return]


def sync(device: Desk, office: Desk, token: str = "t", ahead_s: float = 0.0) -> Outcome:
    """All of it over a line that holds."""
    clock = lambda: NOON + dt.timedelta(seconds=ahead_s)  # noqa: E731
    return run(device.store, lambda ask: through(office.store, ask, token), clock)


@define
class World:
    """Two phones, an office, and what was acknowledged to somebody."""

    folder: Path
    dice: random.Random
    url: str = ""  # of the office's journal; empty: a file
    office: Desk = field(init=False)
    phones: list[Desk] = field(factory=list)
    ahead_s: list[float] = field(factory=list)
    told: dict[str, str] = field(factory=dict)
    cuts: int = 0
    count: int = 0

    def __attrs_post_init__(self) -> None:
        self.office, *self.phones = prepared(self.folder, self.url)
        self.ahead_s = [self.dice.choice((0.0, -7200.0, 11000.0, 40 * 86400.0)) for _ in self.phones]

    def close(self) -> None:
        for desk in (self.office, *self.phones):
            desk.close()

    def entry_id(self) -> str:
        self.count += 1
        return f"entry-{self.count:06}"

    def act(self) -> None:
        """One thing that somebody does."""
        n = self.dice.randrange(8)
        if n < 5:
            who = self.dice.randrange(3)
            self.write(self.office if who == 2 else self.phones[who], who)
        elif n < 7:
            self.sync_cut(self.dice.randrange(2))
        else:
            self.kill(self.dice.randrange(2))

    def write(self, desk: Desk, who: int) -> None:
        """An entry, a correction, a strike or a photo, as somebody at that device would make it."""
        entry, by = self.entry_id(), ("J. Example", "A. Other", "Office")[who]
        moment = NOON + dt.timedelta(minutes=self.count, seconds=self.ahead_s[who] if who < 2 else 0)
        at = moment.strftime("%H:%M:%S")
        known = [e for e in desk.read(VISIT).entries if e.kind in ("circuit", "step") and e.struck is None]
        n = self.dice.randrange(12)
        if n < 2 and known:
            one = self.dice.choice(known)
            body = {**one.body, "note": f"remark {self.count}"}
            if one.kind == "circuit":
                body["line_mm2"] = self.dice.choice(("1.5", "2.5", "4"))
            try:
                desk.correct(one.id, body, "it was wrong", by, id=entry)
            except Conflict:  # somebody took it out, which stands beside what another wrote: told, and nothing is kept
                return
        elif n < 3 and known:
            desk.strike(self.dice.choice(known).id, "it was not so", by, id=entry)
        elif n < 4:
            desk.attach(VISIT, entry.encode(), "a photo", by, media="image/png", id=entry)
        elif n < 5:
            desk.add(VISIT, "step", {"off": "water", "at": at}, by, id=entry)
        elif n < 6:
            desk.add(VISIT, "step", {"on": "water", "at": at}, by, id=entry)
        else:
            shown = self.dice.choice(("0.02", "0.03", "0.31"))
            body = {"read": "conductor", "bond": "water", "shown": shown, "at": at, "leads": "a"}
            desk.add(VISIT, "step", body, by, id=entry)
        self.told[entry] = by

    def sync_cut(self, n: int) -> None:
        """A run that may be cut before or after any question reached the office."""
        left = self.dice.choice((1, 2, 3, 4, 5, 6, 99))
        before = self.dice.random() < 0.5

        def asked(ask: Ask) -> Any:
            nonlocal left
            left -= 1
            if not left and before:
                raise NoAnswer("cut")
            found = through(self.office.store, ask, f"phone{n}")
            if self.dice.random() < 0.2:
                found = through(self.office.store, ask, f"phone{n}")  # sent twice, as a proxy may
            if not left:
                raise NoAnswer("cut")
            return found

        clock = lambda: NOON + dt.timedelta(minutes=self.count, seconds=self.ahead_s[n])  # noqa: E731
        try:
            run(self.phones[n].store, asked, clock)
        except NoAnswer:
            self.cuts += 1

    def kill(self, n: int) -> None:
        """The phone's program is ended and begun again."""
        self.phones[n].close()
        self.phones[n] = Desk(self.folder / f"phone{n + 1}.sqlite")

    def settle(self) -> None:
        """Everybody has a signal at last."""
        for _ in range(2):
            for n, phone in enumerate(self.phones):
                sync(phone, self.office, f"phone{n}", self.ahead_s[n])

    def everywhere(self) -> list[Replayed]:
        """The visit as it stands on each."""
        return [d.read(VISIT) for d in (self.office, *self.phones)]


NAMES = ("office", "phone1", "phone2")


@cache
def _begun() -> tuple[bytes, ...]:
    """The three journals with one visit on all of them, as files; made once, because making tables takes long."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / f"{name}.sqlite" for name in NAMES]
        office, one, two = (Desk(p) for p in paths)
        begin(one)
        sync(one, office, "phone0")
        want(two.store, VISIT)
        sync(two, office, "phone1")
        for desk in (office, one, two):
            with desk.store.engine.connect() as connection:
                connection.connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
            desk.close()
        return tuple(p.read_bytes() for p in paths)


def prepared(folder: Path, url: str = "") -> list[Desk]:
    """An office and two phones with one visit on all of them. ``url``: where the office keeps its journal, if not in a file."""
    for name, content in zip(NAMES, _begun(), strict=True):
        (folder / f"{name}.sqlite").write_bytes(content)
    office, *phones = (Desk(folder / f"{name}.sqlite") for name in NAMES)
    return [_moved(office, url) if url else office, *phones]


def _moved(office: Desk, url: str) -> Desk:
    """An office's journal in another database, under the name by which the phones know it."""
    there = Desk(url)
    office.backup(folder := Path(str(office.store.engine.url.database)).with_suffix(".backup"))
    there.restore(folder)
    with there.store.writing() as connection:
        put(connection, DEVICE, name_of(office.store))
    office.close()
    return there


def begin(desk: Desk) -> None:
    """A visit with one bond and one circuit."""
    desk.start(
        "1 Example Road", date="2026-11-28", by="J. Example", visit_id=VISIT, kind="periodic", inspector="J. Example"
    )
    desk.add(VISIT, "part", {"id": "water", "kind": "water"}, "J. Example")
    desk.add(VISIT, "bond", {"part": "water", "csa_mm2": "10", "length_m": "5"}, "J. Example")
    desk.add(VISIT, "leads", {"id": "a", "allowed": "none"}, "J. Example")
    desk.add(VISIT, "board", {"id": "db1"}, "J. Example")
    desk.add(VISIT, "circuit", {"id": "c1", "board": "db1", "line_mm2": "1.5"}, "J. Example")


def plain(event: Kept) -> tuple[object, ...]:
    """What an event says, wherever it stands."""
    return (
        event.id,
        event.seq,
        event.kind,
        json.dumps(event.body, sort_keys=True),
        event.by,
        event.at,
        event.device,
        event.seen,
    )


def clashes(events: tuple[Kept, ...]) -> set[str]:
    """Entries with two changes to different ends by devices, neither of which had the other's; worked out by another way."""
    knew: dict[str, set[str]] = {}
    for e in events:
        mine = {x.id for x in events if x.seq < e.seq and (e.seen < 0 or x.device == e.device or x.seq <= e.seen)}
        knew[e.id] = mine
    out = {e.body["event"]: e for e in events if e.kind == "strike"}
    found = set()
    changes = [e for e in events if e.kind in ("correct", "strike") and e.id not in out]
    for a in changes:
        for b in changes:
            both_out = a.kind == b.kind == "strike"
            if a.seq < b.seq and a.about == b.about and a.id not in knew[b.id] and not both_out:
                later = [c for c in changes if c.about == a.about and a.id in knew[c.id]]
                over = [c for c in changes if c.about == a.about and b.id in knew[c.id]]
                if not later and not over:
                    found.add(a.about)
    return found
