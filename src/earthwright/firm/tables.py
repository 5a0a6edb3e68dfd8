"""The firm's own tables, beside the journal and never part of its chain. Secrets stand in them only as hashes.

Nothing measured or judged is kept here. A person is never taken out: what they did stays named. What was done (``deed``)
is only ever added to.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping

from sqlalchemy import BigInteger, Column, Connection, Float, Integer, MetaData, Table, Text, inspect, text

from ..records.complaints import in_words
from ..records.store import Store
from ..records.trouble import Damaged

META = MetaData()
VERSION = "2"

# The form of these tables; a later program takes it further, an earlier one refuses it.
form = Table("firm_form", META, Column("version", Text, primary_key=True))

# ``secret``: argon2 of the pass phrase; ``feed``: SHA-256 of the key in the address of the calendar; ``gone``: when they left.
person = Table(
    "firm_person",
    META,
    Column("id", Text, primary_key=True),
    Column("login", Text, nullable=False, unique=True),
    Column("name", Text, nullable=False, unique=True),
    Column("role", Text, nullable=False),
    Column("mail", Text, nullable=False),
    Column("secret", Text, nullable=False),
    Column("feed", Text, nullable=False),
    Column("began", Text, nullable=False),
    Column("gone", Text, nullable=False),
)

# ``key``: SHA-256 of what stands in the cookie.
session = Table(
    "firm_session",
    META,
    Column("key", Text, primary_key=True),
    Column("person", Text, nullable=False, index=True),
    Column("began", Float, nullable=False),
    Column("seen", Float, nullable=False),
)

# ``key``: SHA-256 of what stands in the address; ``used``: who came by it.
invitation = Table(
    "firm_invitation",
    META,
    Column("key", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("role", Text, nullable=False),
    Column("mail", Text, nullable=False),
    Column("ends", Float, nullable=False),
    Column("by", Text, nullable=False),
    Column("used", Text, nullable=False),
)

# Whose a visit is: the inspector who goes there.
given = Table(
    "firm_given",
    META,
    Column("visit", Text, primary_key=True),
    Column("person", Text, nullable=False, index=True),
    Column("by", Text, nullable=False),
    Column("at", Text, nullable=False),
)

# A visit's issued papers for whoever has the address; ``person``: or for this client's login.
link = Table(
    "firm_link",
    META,
    Column("key", Text, primary_key=True),
    Column("visit", Text, nullable=False, index=True),
    Column("to", Text, nullable=False),
    Column("person", Text, nullable=False, index=True),
    Column("ends", Float, nullable=False),
    Column("by", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("ended", Text, nullable=False),
)

deed = Table(
    "firm_deed",
    META,
    Column("no", Integer, primary_key=True),
    Column("at", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("did", Text, nullable=False, index=True),
    Column("about", Text, nullable=False, index=True),
    Column("words", Text, nullable=False),
)

# Wrong pass phrases in a row of a login, and with wrong passkeys from an address.
wrong = Table(
    "firm_wrong",
    META,
    Column("what", Text, primary_key=True),
    Column("times", Integer, nullable=False),
    Column("until", Float, nullable=False),
)

# The public half of a passkey, by its id as the browser names it; ``count``: how often it was used, as it says itself.
passkey = Table(
    "firm_passkey",
    META,
    Column("id", Text, primary_key=True),
    Column("person", Text, nullable=False, index=True),
    Column("name", Text, nullable=False),
    Column("public", Text, nullable=False),
    Column("count", BigInteger, nullable=False),
    Column("since", Text, nullable=False),
)

# What a browser was asked to sign and has not answered yet: SHA-256 of it, for whom (empty: to sign in), until when.
challenge = Table(
    "firm_challenge",
    META,
    Column("key", Text, primary_key=True),
    Column("person", Text, nullable=False),
    Column("ends", Float, nullable=False),
)

_GUARDS = {
    "sqlite": [
        f"CREATE TRIGGER firm_deed_no_{w} BEFORE {w} ON firm_deed BEGIN SELECT RAISE(ABORT, 'what was done stays'); END"
        for w in ("UPDATE", "DELETE")
    ]
    + [
        "CREATE TRIGGER firm_person_stays BEFORE DELETE ON firm_person BEGIN SELECT RAISE(ABORT, 'who acted stays named'); END"
    ],
    "postgresql": [
        "CREATE FUNCTION firm_stays() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'what was done stays'; END $$",
        "CREATE TRIGGER firm_deed_stays BEFORE UPDATE OR DELETE ON firm_deed FOR EACH ROW EXECUTE FUNCTION firm_stays()",
        "CREATE TRIGGER firm_person_stays BEFORE DELETE ON firm_person FOR EACH ROW EXECUTE FUNCTION firm_stays()",
        *(
            f"CREATE TRIGGER {t}_whole BEFORE TRUNCATE ON {t} FOR EACH STATEMENT EXECUTE FUNCTION firm_stays()"
            for t in ("firm_deed", "firm_person")
        ),
    ],
}


def is_there(store: Store) -> bool:
    """Whether this journal has a firm: then everybody signs in. Takes its tables to the present form, which in PostgreSQL
    is for their owner. Raises Damaged for one of a later program."""
    with reading(store) as connection:
        if not inspect(connection).has_table("firm_form"):
            return False
        found = connection.execute(form.select()).scalar()
    if found == "1":  # passkeys came
        with writing(store) as connection:
            META.create_all(connection, tables=[passkey, challenge])
            connection.execute(form.update().values(version=VERSION))
        found = VERSION
    if found != VERSION:
        raise Damaged(f"The firm's tables are of version {found}; this program knows {VERSION}. Nothing was changed.")
    return True


def make(store: Store) -> None:
    """Make the tables, with what guards them."""
    with writing(store) as connection:
        META.create_all(connection)
        for statement in _GUARDS[connection.dialect.name]:
            connection.execute(text(statement))
        connection.execute(form.insert().values(version=VERSION))


def grant(store: Store, names: Mapping[str, str]) -> None:
    """Give the tables to the owner among the roles of an office, and to its server what pages need: it changes no name and no
    role, and takes no person and no deed out. ``names``: of :func:`earthwright.records.roles.make_roles`."""
    owner, server = names["owner"], names["server"]
    all_ = ", ".join(t.name for t in META.sorted_tables)
    others = ", ".join(names[k] for k in ("application", "eraser", "reader"))
    statements = [f"ALTER TABLE {t.name} OWNER TO {owner}" for t in META.sorted_tables]
    statements += [
        f"ALTER FUNCTION firm_stays() OWNER TO {owner}",
        f"REVOKE ALL ON {all_} FROM PUBLIC, {server}, {others}",
        f"GRANT SELECT ON {all_} TO {server}",
        f"GRANT INSERT ON firm_person, firm_session, firm_invitation, firm_given, firm_link, firm_deed, firm_wrong, firm_passkey, firm_challenge TO {server}",
        f"GRANT UPDATE (secret, feed, gone) ON firm_person TO {server}",
        f"GRANT UPDATE (seen) ON firm_session TO {server}",
        f"GRANT UPDATE (used) ON firm_invitation TO {server}",
        f'GRANT UPDATE (ended, "to") ON firm_link TO {server}',
        f"GRANT UPDATE (count) ON firm_passkey TO {server}",
        f"GRANT DELETE ON firm_session, firm_given, firm_wrong, firm_passkey, firm_challenge TO {server}",
        f"GRANT USAGE ON SEQUENCE firm_deed_no_seq TO {server}",
    ]
    with writing(store) as connection:
        for statement in statements:
            connection.execute(text(statement))


@contextlib.contextmanager
def reading(store: Store) -> Iterator[Connection]:
    """One question to the firm's tables."""
    with store.glance() as connection:
        yield connection


@contextlib.contextmanager
def writing(store: Store) -> Iterator[Connection]:
    """Write to the firm's tables, all or nothing; the end of the chain is not waited for."""
    with in_words(store.name), store.engine.connect() as connection:
        connection = connection.execution_options(writes=True)
        with connection.begin():
            yield connection
