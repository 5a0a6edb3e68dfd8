"""What a device, or somebody on the way, may try: each is refused in words or harmless, and the office holds what it held."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve

from earthwright.desk import Desk
from earthwright.records.canon import canonical
from earthwright.records.event import StoredEvent
from earthwright.records.trouble import Damaged, JournalError, NotKept
from earthwright.sync.line import Ask, Refused, as_json, origin_hash, sent_of

from .simulated import VISIT, prepared, run, sync, through

Message = dict[str, Any]


def caught(phone: Desk, office: Desk) -> Message:
    """The message with which a phone sends what waits; it does not arrive."""
    found: list[Message] = []

    def asked(ask: Ask) -> Any:
        if ask.name == "send":
            found.append(json.loads(ask.body))
            raise Refused("held back")
        return through(office.store, ask, "phone0")

    with pytest.raises(Refused):
        run(phone.store, asked)
    return found[0]


def forged(m: Message, n: int, **change: object) -> Message:
    """An entry changed, and its hash made to fit, as somebody would who knows how it is made."""
    one = {**m["entries"][n], **change}
    row: StoredEvent = sent_of(one).row
    m["entries"][n] = as_json(evolve(row, hash=origin_hash(row)))
    return m


def deep(levels: int) -> dict[str, Any]:
    body: dict[str, Any] = {"note": "deep"}
    for _ in range(levels):
        body = {"note": body}
    return body


def one_changed(m: Message, n: int, **change: object) -> Message:
    m["entries"][n] = {**m["entries"][n], **change}
    return m


# what is tried: what becomes of the message that was caught, and what answers it (None: it is harmless)
ATTACKS: dict[str, tuple[Callable[[Message], Message], type[Exception] | None]] = {
    "another body under the same hash": (lambda m: one_changed(m, 0, body={"note": "changed"}), Damaged),
    "another visit under the same hash": (lambda m: one_changed(m, 0, visit="visit-0002"), Damaged),
    "another time under the same hash": (lambda m: one_changed(m, 0, at="2020-01-01"), Damaged),
    "entries in another order": (lambda m: {**m, "entries": m["entries"][::-1]}, Refused),
    "an entry left out": (lambda m: {**m, "entries": [m["entries"][0], m["entries"][2]]}, None),
    "the same entry twice in one message": (lambda m: {**m, "entries": [*m["entries"], m["entries"][-1]]}, None),
    "an id of somebody else's entry": (lambda m: forged(m, 0, id="visit-0001-heading"), Refused),
    "a forged chain": (lambda m: forged(m, 0, prev="f" * 64), Refused),
    "an erasure sent along": (
        lambda m: forged(m, 0, kind="erase", body={"keys": [], "files": [], "reason": "x"}),
        NotKept,
    ),
    "a name that does not stand apart": (lambda m: forged(m, 0, by="A. Other"), Refused),
    "a name under a field of its own": (
        lambda m: forged(m, 0, body={"note": {"personal": "k" * 32, "seal": "0" * 64}}),
        Refused,
    ),
    "names left out": (lambda m: forged({**m, "names": []}, 0, by={"personal": "k" * 32, "seal": "0" * 64}), Damaged),
    "a correction of nothing": (
        lambda m: forged(m, 0, kind="correct", body={"event": "not-there-1", "reason": "x", "body": {}}),
        Refused,
    ),
    "a photo that was not sent": (lambda m: forged(m, 0, kind="photo", body={"hash": "a" * 64}), Refused),
    "a number instead of a text": (lambda m: one_changed(m, 0, at=5), Damaged),
    "a fraction in a body": (lambda m: one_changed(m, 0, body={"shown": 0.1}), NotKept),
    "a place that cannot be": (lambda m: one_changed(m, 0, no=-1), Damaged),
    "a body nested too deep": (lambda m: one_changed(m, 0, body=deep(40)), NotKept),
    "an id that is no id": (lambda m: one_changed(m, 0, id="../../x"), Damaged),
    "too many entries": (lambda m: {**m, "entries": m["entries"] * 300}, Damaged),
    "another device's name": (lambda m: {**m, "device": "0" * 32}, None),
    "a clock without a zone": (lambda m: {**m, "clock": "2026-11-28T12:00:00"}, Damaged),
    "no list of entries": (lambda m: {**m, "entries": {"a": 1}}, Damaged),
}


@pytest.fixture(scope="module")
def line(tmp_path_factory: pytest.TempPathFactory) -> tuple[Desk, Desk, Message]:
    """An office, a phone with three entries that wait, and the message that would send them."""
    office, phone, _ = prepared(tmp_path_factory.mktemp("attacks"))
    for n in range(3):
        phone.add(VISIT, "step", {"note": f"remark {n}"}, "J. Example", id=f"waiting-{n:04}")
    return office, phone, caught(phone, office)


@pytest.mark.parametrize("name", ATTACKS)
def test_an_attack_is_refused_or_harmless(name: str, line: tuple[Desk, Desk, Message], tmp_path: Path) -> None:
    _, _, message = line
    change, said = ATTACKS[name]
    office, *_ = prepared(tmp_path)
    before = office.read(VISIT).events
    sent = change(json.loads(json.dumps(message)))
    ask = Ask("send", json.dumps(sent).encode())
    if said is None:
        through(office.store, ask, "phone0")
    else:
        with pytest.raises(JournalError) as found:
            through(office.store, ask, "phone0")
        assert isinstance(found.value, said), (type(found.value), found.value)
        assert len(str(found.value)) > 20
        assert office.read(VISIT).events == before
    assert office.read(VISIT).events[: len(before)] == before
    assert office.verify().whole
    ids = [e.id for e in office.read(VISIT).events]
    assert len(set(ids)) == len(ids)
    office.close()


def test_a_message_that_is_sent_again_changes_nothing(line: tuple[Desk, Desk, Message]) -> None:
    office, phone, message = line
    ask = Ask("send", canonical(message).encode())
    first = through(office.store, ask, "phone0")
    head = office.store.head()
    assert first["new"] == 3
    assert through(office.store, ask, "phone0") == {"upto": first["upto"], "new": 0}
    assert office.store.head() == head
    with pytest.raises(Refused):  # the same from another device, under this one's name
        through(office.store, ask, "somebody else")
    sync(phone, office, "phone0")
    assert [e.id for e in phone.read(VISIT).events] == [e.id for e in office.read(VISIT).events]


def test_an_answer_of_the_office_that_was_changed_on_the_way_is_not_kept(tmp_path: Path) -> None:
    office, phone, _ = prepared(tmp_path)
    office.add(VISIT, "step", {"note": "from the office"}, "Office")
    before = phone.store.head()
    for change in ({"body": {"note": "changed"}}, {"seq": 99}, {"hash": "f" * 64}):

        def asked(ask: Ask, change: dict[str, object] = change) -> Any:
            found = through(office.store, ask, "phone0")
            if ask.name == "fetch" and found["entries"]:
                found["entries"][0] |= change
            return found

        with pytest.raises(JournalError):
            run(phone.store, asked)
        assert phone.store.head() == before
    sync(phone, office, "phone0")
    assert phone.read(VISIT).events[-1].body == {"note": "from the office"}


def test_a_copy_of_a_journal_that_goes_on_elsewhere_goes_under_a_name_of_its_own(tmp_path: Path) -> None:
    office, phone, _ = prepared(tmp_path)
    phone.backup(tmp_path / "copy.sqlite")
    name = (tmp_path / "phone1.sqlite").read_bytes()
    phone.add(VISIT, "step", {"note": "on the phone"}, "J. Example")
    sync(phone, office, "phone0")
    phone.close()
    (tmp_path / "twin.sqlite").write_bytes(name)  # the same file, before it went on
    twin = Desk(tmp_path / "twin.sqlite")
    twin.add(VISIT, "step", {"note": "on the copy"}, "J. Example")
    sync(twin, office, "phone0")
    copy = Desk(tmp_path / "copy.sqlite")  # and a backup, which knows nothing of an office
    copy.add(VISIT, "step", {"note": "on the backup"}, "J. Example")
    sync(copy, office, "phone0")
    for desk in (copy, twin):
        sync(desk, office, "phone0")
        assert [e.id for e in desk.read(VISIT).events] == [e.id for e in office.read(VISIT).events]
    notes = {str(e.body.get("note")) for e in office.read(VISIT).events}
    assert {"on the phone", "on the copy", "on the backup"} <= notes
    assert office.verify().whole


def test_an_office_that_brought_an_older_backup_back_gets_everything_again(tmp_path: Path) -> None:
    office, one, two = prepared(tmp_path)
    office.backup(tmp_path / "old.sqlite")
    one.add(VISIT, "step", {"note": "first"}, "J. Example")
    two.add(VISIT, "step", {"note": "second"}, "A. Other")
    sync(one, office, "phone0")
    sync(two, office, "phone1")
    sync(one, office, "phone0")
    ids = {e.id for e in office.read(VISIT).events}
    with one.store.reading() as connection:
        from earthwright.sync.names import OFFICE, get

        known = get(connection, OFFICE)
    back = Desk(tmp_path / "back.sqlite")
    back.restore(tmp_path / "old.sqlite")
    with back.store.writing() as connection:  # its journal keeps its name, as a copy of the whole file would
        from earthwright.sync.names import DEVICE, put

        put(connection, DEVICE, json.loads(known)["name"])
    for _ in range(2):
        sync(one, back, "phone0")
        sync(two, back, "phone1")
    assert {e.id for e in back.read(VISIT).events} == ids
    assert [e.id for e in one.read(VISIT).events] == [e.id for e in back.read(VISIT).events]
    assert back.verify().whole


def test_an_erasure_at_the_office_goes_to_every_device(tmp_path: Path) -> None:
    office, one, two = prepared(tmp_path)
    one.attach(VISIT, b"a picture", "of the board", "J. Example", media="image/png")
    sync(one, office, "phone0")
    office.erase(VISIT, "asked for", "Office")
    for n, phone in enumerate((one, two)):
        sync(phone, office, f"phone{n}")
        read = phone.read(VISIT)
        assert read.tables["visit"]["place"] == "[erased]"
        assert b"1 Example Road" not in (tmp_path / f"phone{n + 1}.sqlite").read_bytes()
        assert phone.verify().whole
