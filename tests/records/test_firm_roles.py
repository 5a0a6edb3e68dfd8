"""What the database itself keeps from a firm's server, its readers and another firm, table by table and verb by verb."""

from __future__ import annotations

import re
from typing import Any

import psycopg
import pytest

from earthwright.desk import Desk
from earthwright.firm import Firm, is_there
from earthwright.firm.tables import META, grant, make
from earthwright.records import JournalError
from earthwright.records.roles import make_roles
from earthwright.records.schema import TABLES

from .conftest import BACKENDS

pytestmark = pytest.mark.skipif("postgresql" not in BACKENDS, reason="needs PostgreSQL")
JOURNAL = [t.name for t in TABLES]
FIRM = [t.name for t in META.sorted_tables]
COLUMN = {t.name: next(iter(t.columns)).name for t in (*TABLES, *META.sorted_tables)}


class Cheap:
    """No real hash: what is tried here is the database."""

    def hash(self, password: str | bytes, *, salt: bytes | None = None) -> str:
        return "x"

    def verify(self, hash: str | bytes, password: str | bytes) -> bool:
        return True


class Firms:
    """Two firms in one database, each in a schema of its own with roles of its own, and logins of all kinds."""

    def __init__(self, cluster: Any) -> None:
        self.cluster, self.schema, self.logins, self.visit = cluster, {}, {}, {}
        for firm in ("mine", "theirs"):
            owner = cluster.fresh()
            name = self.schema[firm] = re.search(r"search_path%3D(\w+)", owner)[1]  # type: ignore[index]
            desk = Desk(owner)
            make(desk.store)
            people = Firm(desk, Cheap()).people
            for person, role in (("ines", "inspector"), ("left", "inspector"), ("olga", "office")):
                people.join(people.invite(person.title(), role, "test"), person, "x")
            found = people.named("left")
            assert found is not None
            people.leave(found, "test")
            self.visit[firm] = desk.start("1 Elder Row", by="Ines", date="2026-11-20")
            names = make_roles(desk.store, name)
            grant(desk.store, names)
            with psycopg.connect(f"host={cluster.folder} user=keeper dbname=postgres", autocommit=True) as c:
                for kind in ("server", "application", "eraser", "reader"):
                    login = self.logins[firm, kind] = f"{name}_web_{kind}"
                    c.execute(f"CREATE ROLE {login} LOGIN IN ROLE {names[kind]}")  # type: ignore[arg-type]
            self.url = getattr(self, "url", owner)
            desk.close()

    def address(self, kind: str, firm: str = "mine") -> str:
        return self.url.replace("keeper@", f"{self.logins[firm, kind]}@").replace(
            self.schema["mine"], self.schema[firm]
        )


@pytest.fixture(scope="module")
def firms(cluster: Any) -> Firms:
    return Firms(cluster)


def statements(table: str) -> dict[str, str]:
    column = COLUMN[table.rpartition(".")[2]]
    return {
        "SELECT": f"SELECT * FROM {table}",
        "UPDATE": f"UPDATE {table} SET {column} = {column}",
        "DELETE": f"DELETE FROM {table}",
        "TRUNCATE": f"TRUNCATE {table} CASCADE",
        "ALTER": f"ALTER TABLE {table} DISABLE TRIGGER ALL",
        "OWN": f"ALTER TABLE {table} OWNER TO CURRENT_USER",
        "DROP": f"DROP TABLE {table} CASCADE",
        "INDEX": f"CREATE INDEX ON {table} ({column})",
        "GRANT": f"GRANT ALL ON {table} TO PUBLIC",
    }


# What a login may do in its own firm's schema; everything else, and everything in another firm's, is refused.
TOGETHER = {("DELETE", "place"), ("UPDATE", "together"), ("DELETE", "together")}  # journals that go together
MAY = {
    "server": {("SELECT", t) for t in (*JOURNAL, *FIRM)} | {("DELETE", t) for t in ("firm_session", "firm_given", "firm_wrong", "firm_passkey", "firm_challenge")} | TOGETHER,
    "application": {("SELECT", t) for t in JOURNAL} | TOGETHER,
    "eraser": {("SELECT", t) for t in JOURNAL} | {("DELETE", t) for t in ("personal", "content")} | TOGETHER,
    "reader": set(),
}  # fmt: skip


def test_no_login_does_what_is_not_its_own(firms: Firms) -> None:
    tried, got_in = 0, []
    for kind, may in MAY.items():
        with psycopg.connect(firms.address(kind), autocommit=False) as c:
            for firm in ("mine", "theirs"):
                for table in (*JOURNAL, *FIRM):
                    for verb, said in statements(f"{firms.schema[firm]}.{table}").items():
                        if firm == "mine" and (verb, table) in may:
                            continue
                        tried += 1
                        try:
                            done = c.execute(said)  # type: ignore[arg-type]
                            if verb != "GRANT":  # without the right to, it grants nothing and says so in a warning
                                got_in.append((kind, said, done.rowcount))
                        except psycopg.Error:
                            pass
                        c.rollback()
    assert got_in == []
    assert tried >= 500, tried
    print(f"SQL: {tried} tries, {len(got_in)} succeeded")


def test_the_server_enters_for_who_has_an_account_and_for_nobody_else(firms: Firms) -> None:
    desk = Desk(firms.address("server"), create=False)
    assert desk.store.login == ""
    kept = desk.add(firms.visit["mine"], "part", {"id": "gas", "kind": "gas"}, "Ines")
    assert kept.by == "Ines"
    for name in ("Left", "Nobody", "", "Olga Other"):
        with pytest.raises(JournalError, match="own login"):
            desk.add(firms.visit["mine"], "part", {"id": "water", "kind": "water"}, name)
    with pytest.raises(JournalError, match="may not do this"):
        desk.erase(firms.visit["mine"], "asked for", "Ines")
    firm = Firm(desk, Cheap())
    found = firm.people.sign_in("ines", "x", "here")
    assert found is not None
    assert firm.people.who(found[1]) == found[0]
    firm.people.sign_out(found[1])
    firm.people.join(firm.people.invite("Nora", "inspector", found[0].id), "nora", "x")
    firm.people.leave(found[0], "test")
    with pytest.raises(JournalError, match="own login"):
        desk.add(firms.visit["mine"], "part", {"id": "oil", "kind": "oil"}, "Ines")
    assert desk.verify().whole
    desk.close()


def test_whoever_owns_the_database_and_may_make_roles_needs_no_superuser(cluster: Any) -> None:
    with psycopg.connect(f"host={cluster.folder} user=keeper dbname=postgres", autocommit=True) as c:
        c.execute("CREATE ROLE plainkeeper LOGIN CREATEROLE")
        c.execute("CREATE DATABASE plainfirm OWNER plainkeeper")
    address = f"postgresql://plainkeeper@/plainfirm?host={cluster.folder}"
    for _ in range(2):  # the second time as after an upgrade
        desk = Desk(address)
        if not is_there(desk.store):
            make(desk.store)
        people = Firm(desk, Cheap()).people
        people.invite(f"Ines {'again' if people.all() else 'first'}", "inspector", "test")
        grant(desk.store, make_roles(desk.store, "plainfirm"))
        desk.close()
    with psycopg.connect(f"host={cluster.folder} user=plainkeeper dbname=plainfirm", autocommit=True) as c:
        c.execute("CREATE ROLE plainweb LOGIN IN ROLE plainfirm_server")
    desk = Desk(address.replace("plainkeeper@", "plainweb@"))
    people = Firm(desk, Cheap()).people
    ines = people.join(people.invite("Nora", "inspector", "test"), "nora", "x")
    desk.start("1 Elder Row", by=ines.name, date="2026-11-20")
    desk.close()
