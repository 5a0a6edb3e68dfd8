"""Who this journal is to others, which office it goes with, and which devices may send to it."""

from __future__ import annotations

import datetime as dt
import json
import secrets
import uuid
from collections.abc import Collection

from attrs import asdict, frozen
from sqlalchemy import Connection, and_, bindparam, insert, select

from ..base import limits
from ..records import schema
from ..records.canon import digest
from ..records.store import Store
from ..records.trouble import NoSuch, NotKept

DEVICE, OFFICE, TOKEN, WANT, HELD = "device", "office", "token ", "want ", "held "
LONGEST_NAME = 60
_VALUE = select(schema.together.c.value).where(schema.together.c.name == bindparam("name"))  # asked by every page


def get(connection: Connection, name: str) -> str:
    """A value that this journal keeps about its going together with others; empty when there is none."""
    return str(connection.execute(_VALUE, {"name": name}).scalar() or "")


def put(connection: Connection, name: str, value: str) -> None:
    """Keep such a value in place of the one before; empty takes it out."""
    connection.execute(schema.together.delete().where(schema.together.c.name == name))
    if value:
        connection.execute(insert(schema.together).values(name=name, value=value))


def name_of(store: Store) -> str:
    """The name of this journal among those that go together, made when it is asked for first."""
    with store.reading() as connection:
        found = get(connection, DEVICE)
    return found or new_name(store)


def new_name(store: Store) -> str:
    """Another name, for a journal that went another way than the one that had its name before."""
    name = uuid.uuid4().hex
    with store.writing() as connection:
        put(connection, DEVICE, name)
    return name


@frozen
class Office:
    """The office that a journal goes with: its journal's name, where it answers, and the token it gave to this device.

    last  when all was sent and fetched last [ISO 8601];  trouble  what stood in the way the last time;  ahead_ms  how far
    this clock was ahead of the office's;  person  in whose name this device sends, where people sign in there
    """

    name: str = ""
    address: str = ""
    token: str = ""
    last: str = ""
    trouble: str = ""
    ahead_ms: int = 0
    person: str = ""


def office(store: Store) -> Office | None:
    """The office that this journal goes with; None when it goes with none."""
    with store.glance() as connection:
        found = get(connection, OFFICE)
    return Office(**json.loads(found)) if found else None


def sends_as(store: Store) -> str:
    """In whose name this device sends, where people sign in at its office; else empty."""
    found = office(store)
    return found.person if found else ""


def office_of(store: Store) -> str:
    """Name of the office's journal; empty when this one never went together with any."""
    found = office(store)
    return found.name if found else ""


def keep_office(store: Store, found: Office) -> None:
    """Remember what is known of the office."""
    with store.writing() as connection:
        put(connection, OFFICE, json.dumps(asdict(found)))


def want(store: Store, visit: str) -> None:
    """Ask for a visit of the office the next time, and from then on."""
    with store.writing() as connection:
        put(connection, WANT + visit, "1")


def wanted(connection: Connection) -> list[str]:
    """Visits that were asked for."""
    c = schema.together.c
    found = connection.execute(select(c.name).where(c.name.startswith(WANT))).scalars()
    return [str(name).removeprefix(WANT) for name in found]


@frozen
class Held:
    """A visit that the office did not take, and why, in its words; all others go on.

    entry  id of an entry that only has to be taken out, if there is one
    since  number of the first entry here that waits for that; 0: nothing waits, the office only does not give it
    """

    visit: str
    said: str
    since: int = 0
    entry: str = ""


def hold(store: Store, one: Held) -> None:
    """Keep a visit back until the office takes it."""
    with store.writing() as connection:
        put(connection, HELD + one.visit, json.dumps(asdict(one)))


def let_go(store: Store, visits: Collection[str]) -> None:
    """The office takes these visits again."""
    with store.writing() as connection:
        for visit in visits:
            put(connection, HELD + visit, "")


def held(connection: Connection) -> list[Held]:
    """The visits that are kept back, in a fixed order."""
    c = schema.together.c
    found = connection.execute(select(c.value).where(c.name.startswith(HELD)).order_by(c.name)).scalars()
    return [Held(**json.loads(value)) for value in found]


def several_wrote(store: Store) -> list[str]:
    """Visits to which more than one journal wrote, as far as it is known here."""
    e, x, p = schema.event.c, schema.link.c, schema.place.c
    sent = select(e.visit).select_from(schema.link.join(schema.event, and_(x.event == e.id, x.own == 1))).distinct()
    with store.reading() as connection:
        found = {*connection.execute(sent).scalars(), *connection.execute(select(p.visit).distinct()).scalars()}
    return sorted(found)


# ---- the office: which devices may send ----


@frozen
class Device:
    """A device that may send: the number it is known by here, what people call it, when it was let in, and whose it is.

    person  id of the account in whose name it acts, where people sign in, or the login of whoever let it in; else empty
    """

    number: str
    name: str
    since: str
    person: str = ""


def let_in(store: Store, name: str, now: dt.datetime, person: str = "") -> str:
    """Let a device in; gives the token that has to be typed there once and stands nowhere else. Raises NotKept."""
    name = " ".join(name.split())
    if not name or len(name) > LONGEST_NAME:
        raise NotKept(f"Give the device a name of at most {LONGEST_NAME} characters, such as whose phone it is.")
    token = "-".join(secrets.token_hex(4) for _ in range(4))
    with store.writing() as connection:
        if limits.DEVICES.refuses(len(_devices(connection)) + 1):
            raise NotKept(f"No more devices are let in: {limits.DEVICES.said()}.")
        said = {"name": name, "since": now.isoformat(timespec="seconds"), "person": person}
        put(connection, TOKEN + digest(token), json.dumps(said))
    return token


def devices(store: Store) -> list[Device]:
    """The devices that may send, the one let in last first."""
    with store.reading() as connection:
        return _devices(connection)


def _devices(connection: Connection) -> list[Device]:
    c = schema.together.c
    rows = connection.execute(select(c.name, c.value).where(c.name.startswith(TOKEN)))
    found = [Device(str(n).removeprefix(TOKEN)[:12], **json.loads(v)) for n, v in rows]
    return sorted(found, key=lambda d: d.since, reverse=True)


def shut_out(store: Store, number: str) -> str:
    """Take a device's token back; gives its name. What it sent stays. Raises NoSuch."""
    c = schema.together.c
    with store.writing() as connection:
        query = select(c.name, c.value).where(c.name.startswith(TOKEN + number))
        rows = list(connection.execute(query)) if len(number) == 12 else []
        if len(rows) != 1:
            raise NoSuch("There is no such device.")
        put(connection, rows[0][0], "")
    return str(json.loads(rows[0][1])["name"])


def device_of(store: Store, token: str) -> Device | None:
    """The device whose token this is; None when it is nobody's, or was taken back."""
    number = digest(token)
    with store.reading() as connection:
        found = get(connection, TOKEN + number)
    return Device(number[:12], **json.loads(found)) if found else None
