"""Journals of every earlier form are brought up to date, event for event, and go forward only."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text

from earthwright.desk import Desk
from earthwright.records import Damaged, Draft, NoSuch, Store
from earthwright.records.database import engine_for
from earthwright.records.migrate import VERSION, VERSIONS, bring_up, version
from earthwright.records.verify import verify
from earthwright.records.writer import Writer

OLD = Path(__file__).parent / "old"
# What stood in each kept file when it was made: events, and the hash of the last one.
MADE = {
    "1": (34, "f60b12a43947cc5ee9be50ea32e5c5ebdf824a572a5f2cf3fb107e315e88d9ec"),
    "2": (34, "bf935b9c3891ab7a75ed74d41f4de48aa42ad12383fd047a0afa6d89bf7fb8a1"),
    "3": (34, "17ca7556a34e082519d08ca2237c9a6fc6a4342e75eefa4b571f2bfed7d0a022"),
    "4": (34, "033912ece82d682a9ad38ce49cfe619759b86c2565fe53b9f88fdd8cd54bb2ed"),
}


def test_every_form_has_its_kept_file() -> None:
    assert set(MADE) == set(VERSIONS) == {p.stem.removeprefix("v") for p in OLD.glob("v*.sqlite")}
    steps = Path(bring_up.__code__.co_filename).parent / "migrations" / "versions"
    assert sorted(p.stem[:5] for p in steps.glob("v*.py")) == [f"v{int(v):04}" for v in VERSIONS]
    assert VERSIONS[-1] == VERSION


@pytest.mark.parametrize("made_by", MADE)
def test_an_old_file_opens_with_everything_in_it(made_by: str, tmp_path: Path, at_desk: Callable[[Path], Desk]) -> None:
    file = tmp_path / "journal.sqlite"
    shutil.copyfile(OLD / f"v{made_by}.sqlite", file)
    with closing(sqlite3.connect(file)) as raw:
        before = raw.execute("SELECT * FROM event ORDER BY no").fetchall()
        assert raw.execute("SELECT version_num FROM alembic_version").fetchone() == (made_by,)
    desk = at_desk(file)
    assert desk.store.head() == MADE[made_by]
    found = desk.verify([MADE[made_by][1]])
    assert found.whole, found.faults
    with closing(sqlite3.connect(file)) as raw:
        assert raw.execute("SELECT * FROM event ORDER BY no").fetchall() == before
        assert raw.execute("SELECT version_num FROM alembic_version").fetchone() == (VERSION,)
        assert raw.execute("SELECT count(*) FROM sqlite_master WHERE name = 'event_kind'").fetchone() == (1,)
    paint, masked = sorted(desk.visits(), key=lambda v: v.place, reverse=True)
    assert (masked.place, masked.inspector) != (paint.place, paint.inspector)
    assert {v.place for v in (paint, masked)} >= {"[erased]"}
    kinds = {e.kind for v in (paint, masked) for e in desk.read(v.id).events}
    assert {"correct", "strike", "photo", "file", "erase"} <= kinds
    judged = {b.verdict for v in (paint, masked) for b in desk.assess(v.id).bonds}  # type: ignore[union-attr]
    assert judged == {"proved", "disproved"}  # a masked bond that is whole, and one on paint
    desk.add(masked.id, "step", {"note": "goes on"}, "A. Other")
    assert desk.verify([MADE[made_by][1]]).whole


def test_a_journal_of_the_first_form_is_brought_up_on_each_database(url: str) -> None:
    engine = engine_for(url)
    with engine.begin() as connection:
        bring_up(connection, "1")
    with engine.begin() as connection:
        kept = Writer(connection).event(Draft("visit-0001", "step", {"note": "old"}, "A. Other", "event-0001"))
    with engine.connect() as connection:
        assert version(connection) == "1"
    engine.dispose()
    store = Store(url)
    with store.reading() as connection:
        assert version(connection) == VERSION
    assert store.events() == [kept]
    assert verify(store).whole
    store.close()


def test_a_later_form_is_refused_and_left_alone(new_url: Callable[[], str]) -> None:
    url = new_url()
    store = Store(url)
    with store.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '99'"))
    store.close()
    with pytest.raises(Damaged, match=r"version 99; this program knows up to"):
        Store(url)
    engine = engine_for(url)
    with engine.connect() as connection:
        assert version(connection) == "99"
    engine.dispose()


def test_somebody_elses_tables_are_left_alone(url: str) -> None:
    engine = engine_for(url)
    with engine.begin() as connection:
        connection.execute(text("CREATE TABLE event (name TEXT)"))
    engine.dispose()
    with pytest.raises(Damaged, match="not made as a journal"):
        Store(url)


@pytest.mark.parametrize("step", VERSIONS)
def test_no_step_goes_back(step: str) -> None:
    import importlib

    names = {"1": "v0001_journal", "2": "v0002_events_by_kind", "3": "v0003_content", "4": "v0004_sync"}
    module = importlib.import_module(f"earthwright.records.migrations.versions.{names[step]}")
    with pytest.raises(NotImplementedError, match="forward only"):
        module.downgrade()


def test_a_missing_journal_is_not_made_by_looking(tmp_path: Path) -> None:
    with pytest.raises(NoSuch):
        Store(tmp_path / "none.sqlite", create=False)
    assert not list(tmp_path.iterdir())
