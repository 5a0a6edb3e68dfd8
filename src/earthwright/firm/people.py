"""Accounts: invited once, signed in by pass phrase, remembered by a key in the browser, ended when they leave.

Pass phrases are kept as argon2id (RFC 9106, second recommended choice: 64 MiB, 3 passes, 4 lanes). Keys of sessions,
invitations and calendars are 256 random bits, of which only SHA-256 is kept: what a copy of the tables holds lets nobody in.
"""

from __future__ import annotations

import hashlib
import re
import secrets
import time
from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any, Protocol

from sqlalchemy import Connection, Row, insert, select, update

from ..base.errors import EarthwrightError
from ..records.store import Store
from ..records.trouble import JournalError
from ..records.writer import now
from . import tables
from .names import alike, readable
from .rights import ROLES, Person
from .tables import reading, writing

DAY_S = 86400.0
INVITED_S, IDLE_S, LONGEST_S = 7 * DAY_S, 14 * DAY_S, 60 * DAY_S
SEEN_S = 300.0  # a session that is used is written down again no sooner
FREE, LONGEST_WAIT_S, FORGOTTEN_S = 5, 900.0, 3600.0
LOGIN = re.compile(r"[a-z][a-z0-9._-]{1,39}")
MOST_NAME = 60
MOST_WORDS = 2000  # of what was said to a deed
AGAIN, TOOK_AGAIN = "invited again", "let in again"  # asked for another pass phrase; the invitation was used
USED = "This invitation was used, or has ended. Ask for another."


class Refused(EarthwrightError):
    """What was asked of the firm's accounts cannot be; the sentence says why."""


class Hasher(Protocol):
    """What makes and compares hashes of pass phrases."""

    def hash(self, password: str | bytes, *, salt: bytes | None = None) -> str:
        """The hash, with its salt and parameters."""
        ...

    def verify(self, hash: str | bytes, password: str | bytes) -> Any:
        """True, or an error of argon2."""
        ...


def key_hash(key: str) -> str:
    """What is kept of a key."""
    return hashlib.sha256(key.encode()).hexdigest()


def new_key() -> str:
    """A key nobody can guess: 256 bits."""
    return secrets.token_urlsafe(32)


def did(connection: Connection, who: str, what: str, about: str = "", words: str = "") -> None:
    """Write down that somebody did something."""
    connection.execute(insert(tables.deed).values(at=now(), who=who, did=what, about=about, words=words[:MOST_WORDS]))


def too_long(words: str, most: int = MOST_WORDS) -> str:
    """Why words are not kept, where they are more than is kept of them; else empty."""
    found = len(words.strip())
    return f"At most {most} characters are kept, and these are {found}. Say it in fewer." if found > most else ""


def _person(row: Row[Any]) -> Person:
    return Person(row.id, row.login, row.name, row.role, row.mail, row.gone)


class People:
    """The accounts of a firm."""

    def __init__(self, store: Store, hasher: Hasher | None = None, clock: Callable[[], float] = time.time) -> None:
        self.store, self.clock, self._hasher = store, clock, hasher

    @property
    def hasher(self) -> Hasher:
        """argon2id. Raises JournalError where it is not installed."""
        if self._hasher is None:
            self._hasher = _argon2()
        return self._hasher

    @cached_property
    def _nobody(self) -> str:
        """The hash that a login which is not there is compared with, so that it takes as long as one that is."""
        return self.hasher.hash(new_key())

    # ---- who there is ----

    def all(self) -> list[Person]:
        """Everybody, those who left among them, by name."""
        c = tables.person.c
        with reading(self.store) as connection:
            return [_person(r) for r in connection.execute(select(tables.person).order_by(c.name))]

    def named(self, login: str) -> Person | None:
        """The person of a login."""
        return self._one(tables.person.c.login == login)

    def of_id(self, id_: str) -> Person | None:
        """The person of an id."""
        return self._one(tables.person.c.id == id_)

    def of_feed(self, key: str) -> Person | None:
        """Whose calendar is asked for; nobody's when they left."""
        found = self._one(tables.person.c.feed == key_hash(key)) if key else None
        return found if found and not found.gone else None

    def _one(self, where: Any) -> Person | None:
        with reading(self.store) as connection:
            row = connection.execute(select(tables.person).where(where)).first()
        return _person(row) if row else None

    # ---- coming and leaving ----

    def invite(self, name: str, role: str, by: str, mail: str = "") -> str:
        """Let somebody in once: the key that goes into the address they are sent. Raises Refused."""
        name = " ".join(name.split())
        if role not in ROLES:
            raise Refused(f"A role is one of {', '.join(ROLES)}; found '{role[:40]}'.")
        if not 2 <= len(name) <= MOST_NAME:
            raise Refused(f"A name has 2 to {MOST_NAME} characters: it stands under everything the person does.")
        if not readable(name):
            raise Refused("A name is written in letters of one script, with nothing in it that does not show.")
        self._free_name(name)
        key = new_key()
        with writing(self.store) as connection:
            connection.execute(
                insert(tables.invitation).values(
                    key=key_hash(key),
                    name=name,
                    role=role,
                    mail=mail[:200],
                    ends=self.clock() + INVITED_S,
                    by=by,
                    used="",
                )
            )
            did(connection, by, "invited", name, role)
        return key

    def invite_again(self, person: Person, by: str) -> str:
        """Another pass phrase for somebody who lost theirs: the key of an invitation to their own account. Raises Refused."""
        if person.gone:
            raise Refused(f"{person.name} has left.")
        key = new_key()
        with writing(self.store) as connection:
            values = {"key": key_hash(key), "name": person.name, "role": person.role, "mail": person.mail}
            connection.execute(
                insert(tables.invitation).values(**values, ends=self.clock() + INVITED_S, by=by, used="")
            )
            did(
                connection, by, AGAIN, person.id, key_hash(key)
            )  # tells it from one to a name that got an account since
        return key

    def _free_name(self, name: str) -> None:
        taken = next((p.name for p in self.all() if alike(p.name) == alike(name)), "")
        if taken:
            raise Refused(
                f"There is a {taken} already, perhaps one who left: who acted must be plain. Add an initial to the name."
            )

    def invited(self, key: str) -> tuple[str, str] | None:
        """Name and role that an invitation is for; None when it was used, has ended, or never was."""
        found = self._invited(key)
        return found[:2] if found else None

    def _invited(self, key: str) -> tuple[str, str, Person | None] | None:
        """Name and role that an invitation is for, and the account of that name: only one made for it opens it again."""
        c, d = tables.invitation.c, tables.deed.c
        with reading(self.store) as connection:
            row = connection.execute(select(tables.invitation).where(c.key == key_hash(key))).first()
            made_for = select(d.about).where(d.did == AGAIN, d.words == key_hash(key))
            account = connection.execute(made_for).scalar()
        if row is None or row.used or row.ends <= self.clock():
            return None
        here = self._one(tables.person.c.name == row.name)
        opens = here is None or (here.id == account and here.role == row.role)
        return (row.name, row.role, here) if opens else None

    def join(self, key: str, login: str, phrase: str) -> Person:
        """Make the account that an invitation is for, once, or give it another pass phrase. Raises Refused."""
        login = login.strip().lower()
        found = self._invited(key)
        if found is None:
            raise Refused(USED)
        if found[2] is not None:
            return self._again(found[2], key, login, phrase)
        if not LOGIN.fullmatch(login):
            raise Refused("A login begins with a letter and has 2 to 40 letters, digits, full stops, _ or -.")
        if self.named(login):
            raise Refused("Somebody has this login. Choose another.")
        self._free_name(found[0])
        id_, secret = secrets.token_hex(8), self.hasher.hash(phrase)
        c = tables.invitation.c
        with writing(self.store) as connection:
            taken = (
                update(tables.invitation).where(c.key == key_hash(key), c.used == "").values(used=id_).returning(c.mail)
            )
            mail = connection.execute(taken).scalar()
            if mail is None:
                raise Refused(USED)
            made = Person(id_, login, found[0], found[1], mail)
            connection.execute(
                insert(tables.person).values(
                    id=id_,
                    login=login,
                    name=found[0],
                    role=found[1],
                    mail=mail,
                    secret=secret,
                    feed="",
                    began=now(),
                    gone="",
                )
            )
            did(connection, id_, "joined", id_, found[1])
        return made

    def _again(self, person: Person, key: str, login: str, phrase: str) -> Person:
        if person.gone or person.login != login:
            raise Refused("This invitation is for an account that is there: type the login you had.")
        i, p = tables.invitation.c, tables.person.c
        secret = self.hasher.hash(phrase)
        with writing(self.store) as connection:
            taken = update(tables.invitation).where(i.key == key_hash(key), i.used == "").values(used=person.id)
            by = connection.execute(taken.returning(i.by)).scalar()
            if by is None:
                raise Refused(USED)
            connection.execute(update(tables.person).where(p.id == person.id).values(secret=secret))
            connection.execute(tables.session.delete().where(tables.session.c.person == person.id))
            # Whoever had the account before, by whatever way, has none left.
            connection.execute(tables.passkey.delete().where(tables.passkey.c.person == person.id))
            did(connection, by, TOOK_AGAIN, person.id)
            did(connection, person.id, "changed the pass phrase")
        return person

    def leave(self, person: Person, by: str) -> None:
        """They cannot act from now on; what they did stays under their name; who left before is left alone. Raises Refused for the last who lets people in."""
        from .rights import PEOPLE, may

        if may(person, PEOPLE) and not any(may(p, PEOPLE) for p in self.all() if p.id != person.id):
            raise Refused("Nobody would be left who lets people in. Invite somebody to the office first.")
        with writing(self.store) as connection:
            p = tables.person.c
            left = update(tables.person).where(p.id == person.id, p.gone == "").values(gone=now(), feed="")
            if not connection.execute(left).rowcount:
                return  # they left before: the day stays
            connection.execute(tables.session.delete().where(tables.session.c.person == person.id))
            connection.execute(tables.passkey.delete().where(tables.passkey.c.person == person.id))
            i = tables.invitation.c  # whom they let in and who did not come yet is asked again by somebody who is here
            connection.execute(update(tables.invitation).where(i.by == person.id, i.used == "").values(used=by))
            did(connection, by, "left", person.id, person.name)

    # ---- signing in ----

    def sign_in(self, login: str, phrase: str, address: str) -> tuple[Person, str] | None:
        """The person and the key for their browser; None for what is wrong, which makes the next try wait."""
        login = login.strip().lower()[:80]
        with reading(self.store) as connection:
            row = connection.execute(select(tables.person).where(tables.person.c.login == login)).first()
        right = self._right(row.secret if row else self._nobody, phrase) and row is not None and not row.gone
        with writing(self.store) as connection:
            self.count(connection, right, login=login, address=address)
            if not right or row is None:
                did(connection, row.id if row else "", "sign-in refused", words=address)
                return None
            did(connection, row.id, "signed in", words=address)
            return _person(row), self._begin(connection, row.id)

    def _right(self, secret: str, phrase: str) -> bool:
        from argon2.exceptions import InvalidHashError, VerificationError

        try:
            return bool(self.hasher.verify(secret, phrase[:1024]))
        except (VerificationError, InvalidHashError):
            return False

    def wait_s(self, **of: str) -> float:
        """How long a login or an address has to wait after wrong tries [s]: the longest of those that are given."""
        c = tables.wrong.c
        with reading(self.store) as connection:
            rows = connection.execute(select(c.until).where(c.what.in_(_tried(of))))
            return max([0.0, *(float(r[0]) - self.clock() for r in rows)])

    def count(self, connection: Connection, right: bool, **of: str) -> None:
        """Count a wrong try of a login or from an address; a right one begins anew."""
        c = tables.wrong.c
        for what in _tried(of):
            row = connection.execute(select(tables.wrong).where(c.what == what)).first()
            connection.execute(tables.wrong.delete().where((c.what == what) | (c.until < self.clock() - FORGOTTEN_S)))
            if right:
                continue
            count = row.times + 1 if row and self.clock() - row.until < FORGOTTEN_S else 1
            wait = min(LONGEST_WAIT_S, 2.0 ** (count - FREE)) if count >= FREE else 0.0
            connection.execute(insert(tables.wrong).values(what=what, times=count, until=self.clock() + wait))

    def begin(self, person: Person) -> str:
        """A session for somebody who has just joined: the key for their browser."""
        with writing(self.store) as connection:
            return self._begin(connection, person.id)

    def _begin(self, connection: Connection, person: str) -> str:
        key = new_key()
        moment = self.clock()
        c = tables.session.c
        connection.execute(tables.session.delete().where((c.seen < moment - IDLE_S) | (c.began < moment - LONGEST_S)))
        connection.execute(insert(tables.session).values(key=key_hash(key), person=person, began=moment, seen=moment))
        return key

    def who(self, key: str) -> Person | None:
        """Whose browser this is; None when nobody's, when it was away too long, or when they left."""
        if not key:
            return None
        c, p, moment = tables.session.c, tables.person.c, self.clock()
        query = select(tables.person, c.began.label("since"), c.seen).join(tables.session, c.person == p.id)
        with reading(self.store) as connection:
            row = connection.execute(query.where(c.key == key_hash(key))).first()
        if row is None or row.gone or moment - row.seen > IDLE_S or moment - row.since > LONGEST_S:
            return None
        if moment - row.seen > SEEN_S:
            with writing(self.store) as connection:
                connection.execute(update(tables.session).where(c.key == key_hash(key)).values(seen=moment))
        return _person(row)

    def sign_out(self, key: str) -> None:
        """Forget this browser."""
        with writing(self.store) as connection:
            connection.execute(tables.session.delete().where(tables.session.c.key == key_hash(key)))

    def sign_out_everywhere(self, person: Person) -> int:
        """Forget every browser of a person; how many there were."""
        with writing(self.store) as connection:
            did(connection, person.id, "signed out everywhere")
            gone = connection.execute(tables.session.delete().where(tables.session.c.person == person.id))
            return int(gone.rowcount)

    def sessions(self, person: Person) -> int:
        """How many browsers are signed in."""
        c = tables.session.c
        with reading(self.store) as connection:
            return len(list(connection.execute(select(c.key).where(c.person == person.id))))

    def proves(self, person: Person, phrase: str) -> bool:
        """Whether a pass phrase is the one of somebody who is signed in."""
        c = tables.person.c
        with reading(self.store) as connection:
            secret = connection.execute(select(c.secret).where(c.id == person.id)).scalar_one()
        return self._right(secret, phrase)

    def new_phrase(self, person: Person, old: str, new: str) -> None:
        """Another pass phrase; every browser signs in anew. Raises Refused when the old one is not right."""
        c = tables.person.c
        if not self.proves(person, old):
            raise Refused("The pass phrase until now is another one. Nothing was changed.")
        with writing(self.store) as connection:
            connection.execute(update(tables.person).where(c.id == person.id).values(secret=self.hasher.hash(new)))
            connection.execute(tables.session.delete().where(tables.session.c.person == person.id))
            did(connection, person.id, "changed the pass phrase")

    def new_feed(self, person: Person) -> str:
        """Another key for the address of a person's calendar; the one before no longer opens it."""
        key = new_key()
        with writing(self.store) as connection:
            connection.execute(update(tables.person).where(tables.person.c.id == person.id).values(feed=key_hash(key)))
        return key


def _tried(of: Mapping[str, str]) -> list[str]:
    """What wrong tries are counted by: ``login ines``, ``address 192.0.2.7``."""
    return [f"{what} {value.strip().lower()[:80]}" for what, value in of.items()]


def _argon2() -> Hasher:
    try:
        from argon2 import PasswordHasher, profiles
    except ModuleNotFoundError as error:
        raise JournalError("Accounts need the extra 'firm' (argon2-cffi is not installed).") from error
    return PasswordHasher.from_parameters(profiles.RFC_9106_LOW_MEMORY)
