"""Roles of an office's journal in PostgreSQL: the application owns nothing, who acted is the login, a reader sees its own."""

from __future__ import annotations

import re
from typing import Any

import psycopg
import pytest

from earthwright.desk import Desk
from earthwright.records import JournalError, Store
from earthwright.records.roles import let_in, make_roles

from .conftest import BACKENDS

pytestmark = pytest.mark.skipif("postgresql" not in BACKENDS, reason="needs PostgreSQL")


class Office:
    """A journal with roles, and logins of three people."""

    def __init__(self, cluster: Any) -> None:
        self.owner = cluster.fresh()
        self.schema = re.search(r"search_path%3D(\w+)", self.owner)[1]  # type: ignore[index]
        desk = Desk(self.owner)
        self.visits = [
            desk.start(f"{n} Elder Row", client="Mrs Quill", by="J. Example", date="2026-11-20") for n in (1, 2)
        ]
        self.names = make_roles(desk.store, self.schema)
        self.logins = {k: f"{self.schema}_{k}" for k in ("anna", "bert", "rita")}
        with psycopg.connect(f"host={cluster.folder} user=keeper dbname=postgres", autocommit=True) as c:
            for person, kind in (("anna", "application"), ("bert", "eraser"), ("rita", "reader")):
                c.execute(f"CREATE ROLE {self.logins[person]} LOGIN IN ROLE {self.names[kind]}")  # type: ignore[arg-type]
        let_in(desk.store, self.logins["rita"], self.visits[0])
        desk.close()

    def url(self, person: str, schema: str = "") -> str:
        wanted = self.owner.replace("keeper@", f"{self.logins[person]}@")
        return wanted.replace(f"%3D{self.schema}", f"%3D{schema or self.schema}")


@pytest.fixture
def office(cluster: Any) -> Office:
    return Office(cluster)


def test_the_application_enters_and_owns_nothing(office: Office) -> None:
    desk = Desk(office.url("anna"), create=False)
    kept = desk.add(office.visits[0], "part", {"id": "water", "kind": "water"}, "Somebody Else")
    assert kept.by == office.logins["anna"], "who acted is the login, whatever was typed"
    desk.attach(office.visits[0], b"picture", "the clamp", "Somebody Else")
    assert desk.verify().whole
    with desk.store.reading() as connection:
        owners = set(
            connection.exec_driver_sql(
                f"SELECT tableowner FROM pg_tables WHERE schemaname = '{office.schema}'"
            ).scalars()
        )
    assert owners == {office.names["owner"]}
    with pytest.raises(JournalError, match="may not do this"):
        desk.erase(office.visits[0], "asked for", "Somebody Else")
    desk.close()


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM event", "UPDATE event SET body = '{}'", "TRUNCATE event", "DROP TABLE event", "DELETE FROM personal",
        "ALTER TABLE event DISABLE TRIGGER ALL", "DROP TRIGGER event_own_name ON event", "CREATE TABLE mine (x int)",
        "INSERT INTO erased VALUES ('x', 'y')", "INSERT INTO reader_visit VALUES ('x', 'y')",
        "CREATE OR REPLACE FUNCTION journal_keeps() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RETURN OLD; END $$",
    ],
)  # fmt: skip
def test_the_application_cannot_go_round_the_guards(office: Office, statement: str) -> None:
    with psycopg.connect(office.url("anna")) as c, pytest.raises(psycopg.errors.InsufficientPrivilege):
        c.execute(statement)  # type: ignore[arg-type]


def test_an_entry_under_another_name_is_refused_by_the_database(office: Office) -> None:
    store = Store(office.url("anna"), create=False)
    store.login = ""  # a program of one's own that does not ask
    desk = Desk(office.url("anna"), create=False)
    desk.store.login = ""
    with pytest.raises(JournalError, match="own login"):
        desk.add(office.visits[0], "part", {"id": "gas", "kind": "gas"}, "J. Example")
    with pytest.raises(JournalError, match="own login"):
        desk.add(office.visits[0], "part", {"id": "gas", "kind": "gas"}, "")
    desk.close()
    store.close()


def test_erasing_is_a_right_of_its_own_and_signed_by_the_login(office: Office) -> None:
    desk = Desk(office.url("bert"), create=False)
    kept = desk.erase(office.visits[0], "asked for", "Somebody Else")
    assert kept.by == office.logins["bert"]
    assert desk.read(office.visits[0]).entries[0].body["client"] == "[erased]"
    assert desk.verify().whole
    desk.close()


def test_a_reader_sees_its_visits_and_no_other_row(office: Office) -> None:
    desk = Desk(office.url("rita", f"{office.schema}_reader"), create=False)
    assert [v.id for v in desk.visits()] == [office.visits[0]]
    assert desk.read(office.visits[0]).entries
    with pytest.raises(JournalError):
        desk.read(office.visits[1])
    with pytest.raises(JournalError):
        desk.add(office.visits[0], "part", {"id": "water", "kind": "water"}, "Rita")
    desk.close()
    with psycopg.connect(office.url("rita")) as c, pytest.raises(psycopg.Error):
        c.execute(f"SELECT * FROM {office.schema}.event")  # type: ignore[arg-type]
    with psycopg.connect(office.url("rita", f"{office.schema}_reader")) as c:
        assert {r[0] for r in c.execute("SELECT visit FROM personal")} == {office.visits[0]}


def test_roles_made_twice_are_the_same_and_sqlite_has_none(office: Office, tmp_path: Any) -> None:
    owner = Store(office.owner)
    assert make_roles(owner, office.schema) == office.names
    owner.close()
    file = Store(tmp_path / "j.sqlite")
    with pytest.raises(JournalError, match="PostgreSQL"):
        make_roles(file)
    file.close()
