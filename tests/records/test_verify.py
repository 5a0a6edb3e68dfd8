"""What the check of a journal sees when somebody with all rights has been at the database."""

from __future__ import annotations

import json

import pytest
from sqlalchemy import text

from earthwright.desk import Desk
from earthwright.records import Draft, Store
from earthwright.records.canon import NOTHING_BEFORE, canonical, digest, envelope
from earthwright.records.migrations.guards import NAMES
from earthwright.records.verify import MOST_FAULTS, verify

VISIT = "visit-0001"
TABLE_OF = {name: name.split("_")[0] for name in NAMES}


def forge(store: Store, *statements: str, guards: tuple[str, ...] = NAMES) -> None:
    """Take guards away and change what they guarded."""
    with store.writing() as connection:
        for name in guards:
            connection.execute(text(f"DROP TRIGGER {name}" + ("" if store.sqlite else f" ON {TABLE_OF[name]}")))
        for statement in statements:
            connection.execute(text(statement))


def said(store: Store) -> list[str]:
    return [f.sentence() for f in verify(store).faults if "guard" not in f.what]


@pytest.fixture
def filled(desk: Desk) -> Desk:
    visit = desk.start("12 Thornwick Lea", by="J. Example", client="Ada Client", visit_id=VISIT)
    desk.add(visit, "step", {"note": "one"}, "J. Example")
    desk.attach(visit, b"a photo", "the meter", "J. Example", media="image/png")
    desk.attach(visit, b"another", "the board", "J. Example", media="image/png")
    return desk


@pytest.mark.parametrize("name", NAMES)
def test_each_guard_that_is_gone_is_named(filled: Desk, name: str) -> None:
    forge(filled.store, guards=(name,))
    assert [f.what for f in verify(filled.store).faults] == [f"The guard '{name}' is gone, so events could be changed."]


def test_a_guard_that_was_switched_off_is_named_too(filled: Desk) -> None:
    if filled.store.sqlite:
        forge(
            filled.store, "CREATE TRIGGER other AFTER INSERT ON event BEGIN SELECT 1; END", guards=("event_no_update",)
        )
    else:
        with filled.store.writing() as connection:
            connection.execute(text("ALTER TABLE event DISABLE TRIGGER event_no_update"))
    assert any("'event_no_update' is gone" in f.what for f in verify(filled.store).faults)


def test_a_missing_table_and_another_version_are_named(filled: Desk) -> None:
    forge(filled.store, "UPDATE alembic_version SET version_num = '7'", guards=())
    assert any("another version" in s and "Found: 7" in s for s in said(filled.store))
    forge(filled.store, "DROP TABLE content", guards=())
    assert any("The table 'content' is gone" in s for s in said(filled.store))


CHANGES = {
    "UPDATE content SET bytes = (SELECT bytes FROM content WHERE size = 7 AND hash < 'z' ORDER BY hash LIMIT 1), size = 7 "
    "WHERE hash = (SELECT max(hash) FROM content)": "It was changed after it was kept",
    "UPDATE content SET size = 8 WHERE hash = (SELECT max(hash) FROM content)": "It was changed after it was kept",
    "DELETE FROM content WHERE hash = (SELECT max(hash) FROM content)": "is missing and was never erased",
    "INSERT INTO erased SELECT max(hash), (SELECT id FROM event WHERE no = 1) FROM content": "signed to be taken out differ",
    "INSERT INTO personal VALUES ('k', 'visit-0001', 'client', 'v', 's')": "belongs to no event",
    "UPDATE personal SET salt = 'x' WHERE field = 'client'": "The client was changed after it was kept",
    "UPDATE event SET body = '[1]' WHERE no = 2": "Its content cannot be read",
    "UPDATE event SET body = '{' WHERE no = 2": "Its content cannot be read",
    "UPDATE event SET who = 'x' WHERE no = 2": "Its content cannot be read",
    "UPDATE event SET kind = 'A kind' WHERE no = 2": "of no form that is kept",
    "UPDATE event SET no = 9 WHERE no = 4": "a gap or a double",
    "UPDATE event SET seq = 9 WHERE no = 4": "inside the visit do not follow",
}


@pytest.mark.parametrize("statement", CHANGES)
def test_each_change_is_found_and_named(filled: Desk, statement: str) -> None:
    forge(filled.store, statement)
    assert any(CHANGES[statement] in s for s in said(filled.store)), said(filled.store)


def test_values_of_another_kind_are_found(filled: Desk) -> None:
    """SQLite keeps any kind of value in any column; PostgreSQL refuses these by itself."""
    if not filled.store.sqlite:
        with pytest.raises(Exception, match="refused"):
            forge(filled.store, "UPDATE event SET seq = 'x' WHERE no = 2")
        return
    forge(
        filled.store,
        "UPDATE event SET body = x'7b7d' WHERE no = 2",
        "UPDATE event SET seq = 'x' WHERE no = 3",
        "UPDATE content SET bytes = 1000000000000",
        "UPDATE personal SET value = 7 WHERE field = 'client'",
    )
    found = " ".join(said(filled.store))
    for what in ("A value is not a text", "inside the visit do not follow", "It was changed", "The client was changed"):
        assert what in found


def test_deep_nesting_in_a_forged_chain_does_not_stop_the_check(store: Store) -> None:
    store.append([Draft(VISIT, "step", {"note": "one"})])
    body = '{"a":' + "[" * 100_000 + "]" * 100_000 + "}"
    parts = {"no": 1, "id": "forged-0001", "visit": VISIT, "seq": 1, "kind": "step", "body": body, "at": "", "kept_at": "",
             "prev": NOTHING_BEFORE}  # fmt: skip
    hash_ = digest(envelope(**parts, by='""'))  # type: ignore[arg-type]
    forge(store, "DELETE FROM event")
    with store.writing() as connection:
        names = ", ".join([*parts, "who", "hash"])
        values = ", ".join(f":{n}" for n in [*parts, "who", "hash"])
        connection.execute(
            text(f"INSERT INTO event ({names}) VALUES ({values})"), {**parts, "who": '""', "hash": hash_}
        )
    assert any("Its content cannot be read" in s for s in said(store))


def test_a_chain_written_anew_is_found_by_a_hash_known_elsewhere(store: Store) -> None:
    """Whoever may do everything can write a whole new chain; only a hash that has left the house tells."""
    kept = store.append([Draft(VISIT, "step", {"note": "one"}), Draft(VISIT, "step", {"note": "two"})])
    forge(store)
    last = NOTHING_BEFORE
    with store.writing() as connection:
        rows = [dict(r) for r in connection.execute(text("SELECT * FROM event ORDER BY no")).mappings()]
        connection.execute(text("DELETE FROM event"))
        for row in rows:
            del row["hash"]
            row["prev"] = last
            row["body"] = canonical({**json.loads(row["body"]), "note": "other"})
            last = digest(envelope(by=row.pop("who"), **row))
            row |= {"who": '""', "hash": last}
            marks = ", ".join(f":{n}" for n in row)
            connection.execute(text(f"INSERT INTO event ({', '.join(row)}) VALUES ({marks})"), row)
    assert said(store) == []
    assert [f.what for f in verify(store, [kept[1].hash]).faults if "given out" in f.what]


def test_many_faults_are_cut_at_what_a_person_can_read(store: Store) -> None:
    store.append([Draft(VISIT, "step", {"note": str(n)}) for n in range(MOST_FAULTS + 20)])
    forge(store, "UPDATE event SET at = 'x'", guards=("event_no_update",))
    assert len(verify(store).faults) == MOST_FAULTS
    assert len(verify(store, first=True).faults) == 1


def test_a_file_that_was_sent_and_belongs_to_nothing_is_a_note(store: Store) -> None:
    store.append([], [b"sent ahead"])
    found = verify(store)
    assert found.whole
    assert ["belongs to no event" in n.what for n in found.notes] == [True]
    assert found.files == 1
