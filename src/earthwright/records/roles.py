"""Roles of PostgreSQL for an office's journal: who owns it, who enters, who erases, who only looks.

    owner        owns the tables and every function; nobody logs in as it
    application  reads all and adds; changes and takes out nothing, owns nothing
    eraser       an application that may erase as well
    reader       sees the visits that it was given, through views, and no table
    server       an application at which people sign in: it enters under the name of whoever has an account and has not left
                 (what a device sent: of whoever the device is)

They are group roles without login; a person's own login is put into one. With them who acted is the login: the program
writes it, and the database refuses an entry under another name. Row security on the chained events themselves would break
the chain (a reader's last number is not the last one), so a reader looks through views whose rows are chosen by login.
"""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy import Connection, text

from .store import Store
from .trouble import JournalError, NotKept

GROUPS = ("owner", "application", "eraser", "reader", "server")
TABLES = ("event", "personal", "content", "erased", "link", "place", "together", "alembic_version")
_NAME = re.compile(r"[a-z][a-z0-9_]{0,40}")
_SEEN = "SELECT visit FROM {home}.reader_visit WHERE login = session_user"
_FORGED = "who acted is your login, not another name"


def make_roles(store: Store, prefix: str = "earthwright") -> dict[str, str]:
    """Make the roles and hand the journal over to them; made already, they are put right again. Their names by kind.

    The login must be a superuser, or the owner of the journal with the right to make roles. Raises JournalError.
    """
    if store.sqlite:
        raise JournalError("Roles are for a journal in PostgreSQL; a file of SQLite belongs to whoever may read it.")
    if not _NAME.fullmatch(prefix):
        raise NotKept("Names of roles begin with a small letter and hold small letters, digits and _ only.")
    names = {kind: f"{prefix}_{kind}" for kind in GROUPS}
    with store.writing() as connection:
        home = _quoted(str(connection.execute(text("SELECT current_schema()")).scalar()))
        for statement in _statements(home, names, connection):
            connection.execute(text(statement))
    return names


def let_in(store: Store, login: str, visit: str) -> None:
    """Let a reader's login see a visit."""
    with store.writing() as connection:
        home = _quoted(str(connection.execute(text("SELECT current_schema()")).scalar()))
        query = f"INSERT INTO {home}.reader_visit (login, visit) VALUES (:login, :visit) ON CONFLICT DO NOTHING"
        connection.execute(text(query), {"login": login, "visit": visit})


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def _statements(home: str, names: dict[str, str], connection: Connection) -> list[str]:
    owner, application, eraser, reader, server = (names[k] for k in GROUPS)
    view_home = _quoted(home.strip('"') + "_reader")
    made = [f"CREATE ROLE {r} NOLOGIN" for r in names.values() if not _there(connection, r)]
    made += [f"GRANT {owner} TO CURRENT_USER", f"GRANT {application} TO {eraser}, {server}"]
    made += [
        f"GRANT USAGE, CREATE ON SCHEMA {home} TO {owner}",
        f"GRANT USAGE ON SCHEMA {home} TO {application}, {reader}",
        f"CREATE TABLE IF NOT EXISTS {home}.reader_visit (login text NOT NULL, visit text NOT NULL, PRIMARY KEY (login, visit))",
    ]
    made += [f"ALTER TABLE {home}.{t} OWNER TO {owner}" for t in (*TABLES, "reader_visit")]
    made += [f"ALTER FUNCTION {f} OWNER TO {owner}" for f in _functions(connection)]
    made += [
        f"REVOKE ALL ON {home}.{t} FROM PUBLIC, {application}, {eraser}, {reader}" for t in (*TABLES, "reader_visit")
    ]
    made += [
        f"GRANT SELECT ON {', '.join(f'{home}.{t}' for t in TABLES)} TO {application}",
        f"GRANT INSERT ON {home}.event, {home}.personal, {home}.content, {home}.link TO {application}",
        f"GRANT INSERT, DELETE ON {home}.place TO {application}",
        f"GRANT INSERT, UPDATE, DELETE ON {home}.together TO {application}",
        f"GRANT INSERT ON {home}.erased TO {eraser}",
        f"GRANT DELETE ON {home}.personal, {home}.content TO {eraser}",
    ]
    made += _own_name(home, owner, server)
    made += _views(home, view_home, owner, reader)
    return made


def _own_name(home: str, owner: str, server: str) -> list[str]:
    """What holds an entry to the login that makes it, or to an account; the owner brings in backups, with the names there.

    It is asked at the end of the turn, when it stands there by which device an entry came: one that came from a device is
    of whoever the device was let in for, a login or an account, and stands under that name or under none.
    """
    account = f"SELECT EXISTS (SELECT 1 FROM {home}.firm_person f WHERE f.gone = '''' AND "
    body = f"""CREATE OR REPLACE FUNCTION {home}.journal_own_name() RETURNS trigger LANGUAGE plpgsql AS $$
      DECLARE name text; whose text; known boolean := false; BEGIN
      IF pg_has_role(session_user, '{owner}', 'MEMBER') THEN RETURN NULL; END IF;
      SELECT p.value INTO name FROM {home}.personal p WHERE p.key = (NEW.who::json ->> 'personal');
      IF name = session_user THEN RETURN NULL; END IF;
      SELECT t.value::json ->> 'person' INTO whose FROM {home}.link x
        JOIN {home}.together b ON b.name = 'bound ' || x.device
        JOIN {home}.together t ON length(b.value) = 12 AND left(t.name, 18) = 'token ' || b.value
        WHERE x.event = NEW.id AND x.own = 1;
      IF name IS NULL AND whose = session_user THEN RETURN NULL; END IF;
      IF pg_has_role(session_user, '{server}', 'MEMBER') AND to_regclass('{home}.firm_person') IS NOT NULL THEN
        IF whose IS NULL THEN EXECUTE '{account}f.name = $1)' INTO known USING name;
        ELSE EXECUTE '{account}f.id = $2 AND ($1 IS NULL OR f.name = $1))' INTO known USING name, whose; END IF;
      END IF;
      IF NOT known THEN RAISE EXCEPTION '{_FORGED}'; END IF; RETURN NULL; END $$"""
    return [
        body,
        f"ALTER FUNCTION {home}.journal_own_name() OWNER TO {owner}",
        f"DROP TRIGGER IF EXISTS event_own_name ON {home}.event",
        f"""CREATE CONSTRAINT TRIGGER event_own_name AFTER INSERT ON {home}.event DEFERRABLE INITIALLY DEFERRED
            FOR EACH ROW EXECUTE FUNCTION {home}.journal_own_name()""",
    ]


def _views(home: str, view_home: str, owner: str, reader: str) -> list[str]:
    seen = _SEEN.format(home=home)
    rows = {
        "event": f"visit IN ({seen})",
        "personal": f"visit IN ({seen})",
        "content": f"EXISTS (SELECT 1 FROM {home}.event e WHERE e.visit IN ({seen}) AND e.kind IN ('photo', 'file') AND e.body::json ->> 'hash' = t.hash)",
        "erased": f"event IN (SELECT id FROM {home}.event WHERE visit IN ({seen}))",
        "link": f"event IN (SELECT id FROM {home}.event WHERE visit IN ({seen}))",
        "place": f"visit IN ({seen})",
        "together": "name = 'device'",
        "alembic_version": "true",
    }
    made = [f"CREATE SCHEMA IF NOT EXISTS {view_home}", f"GRANT USAGE ON SCHEMA {view_home} TO {reader}"]
    made += [f"GRANT USAGE, CREATE ON SCHEMA {view_home} TO {owner}"]  # else whoever is no superuser gives it no view
    made += [f"REVOKE USAGE ON SCHEMA {home} FROM {reader}"]
    for name, where in rows.items():
        view = f"{view_home}.{name}"
        made += [
            f"CREATE OR REPLACE VIEW {view} WITH (security_barrier) AS SELECT t.* FROM {home}.{name} t WHERE {where}",
            f"ALTER VIEW {view} OWNER TO {owner}",
            f"GRANT SELECT ON {view} TO {reader}",
        ]
    return made


def _there(connection: Connection, role: str) -> bool:
    return bool(connection.execute(text("SELECT 1 FROM pg_roles WHERE rolname = :r"), {"r": role}).first())


def _functions(connection: Connection) -> list[Any]:
    """The journal's own functions, with their arguments."""
    query = """SELECT p.oid::regprocedure::text FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace
        WHERE n.nspname = current_schema() AND p.prorettype = 'trigger'::regtype"""
    return list(connection.execute(text(query)).scalars())
