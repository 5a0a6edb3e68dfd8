"""Passkeys: a second way in, kept by a person's own device and shown there by finger, face or number.

What is made and checked is the library's (``webauthn``). Kept here is the public half, which lets nobody in. A challenge is
good once, for five minutes, and for whom it was made. Where they cannot work nothing is offered, and :func:`why_not` says why.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Callable
from importlib.util import find_spec
from typing import Any
from urllib.parse import urlsplit

from attrs import frozen
from sqlalchemy import insert, select, update

from ..records.writer import now
from . import tables
from .people import People, Refused, did, key_hash
from .rights import Person
from .tables import reading, writing

CHALLENGE_S = 300.0
MOST, MOST_NAME = 10, 60
LONGEST = 20_000  # characters of an answer; a browser sends two thousand


@frozen
class Passkey:
    """One passkey of a person: its id as the browser names it (base64url), the person's words for it, since when [UTC]."""

    id: str
    name: str
    since: str


@frozen
class Place:
    """Where the pages stand, as a browser sees it: ``https``, ``visits.example`` with its port if any."""

    scheme: str
    netloc: str

    @property
    def host(self) -> str:
        """The name that passkeys are for."""
        return urlsplit(f"//{self.netloc}").hostname or ""

    @property
    def origin(self) -> str:
        """The address as the browser signs it."""
        return f"{self.scheme}://{self.netloc}"


def why_not(place: Place) -> str:
    """Why no passkeys can be offered here: ``library``, ``https`` or ``name``; empty when they can."""
    if find_spec("webauthn") is None:
        return "library"
    if place.scheme != "https" and place.host != "localhost":
        return "https"
    try:
        ipaddress.ip_address(place.host)
    except ValueError:
        return ""
    return "name"


class Passkeys:
    """The passkeys of a firm's people."""

    def __init__(self, people: People) -> None:
        self.people, self.store = people, people.store

    def of(self, person: Person) -> list[Passkey]:
        """A person's passkeys, the oldest first."""
        c = tables.passkey.c
        with reading(self.store) as connection:
            rows = connection.execute(select(c.id, c.name, c.since).where(c.person == person.id).order_by(c.since))
            return [Passkey(*r) for r in rows]

    def to_make(self, person: Person, phrase: str, place: Place) -> str:
        """What the browser is asked for to make a passkey, as JSON. Raises Refused.

        The pass phrase is asked for again: whoever finds a browser signed in makes no way in of their own.
        """
        from webauthn import generate_registration_options, options_to_json
        from webauthn.helpers import base64url_to_bytes, structs

        here = self.of(person)
        if len(here) >= MOST:
            raise Refused(f"You have {MOST} passkeys. Take one out first.")
        if not self.people.proves(person, phrase):
            raise Refused("The pass phrase is another one. Nothing was changed.")
        made = generate_registration_options(
            rp_id=place.host,
            rp_name="earthwright",
            user_name=person.login,
            user_id=person.id.encode(),
            user_display_name=person.name,
            exclude_credentials=[structs.PublicKeyCredentialDescriptor(base64url_to_bytes(p.id)) for p in here],
            authenticator_selection=structs.AuthenticatorSelectionCriteria(
                resident_key=structs.ResidentKeyRequirement.REQUIRED,
                user_verification=structs.UserVerificationRequirement.REQUIRED,
            ),
        )
        self._ask(made.challenge, person.id)
        return options_to_json(made)

    def make(self, person: Person, name: str, answer: str, challenge: str, place: Place) -> None:
        """Keep a passkey that a browser made. Raises Refused."""
        from webauthn import verify_registration_response
        from webauthn.helpers import bytes_to_base64url

        found = self._checked(verify_registration_response, answer, challenge, person.id, place)
        key, public = bytes_to_base64url(found.credential_id), bytes_to_base64url(found.credential_public_key)
        values = {"id": key, "person": person.id, "public": public, "count": found.sign_count, "since": now()}
        with writing(self.store) as connection:
            if connection.execute(select(tables.passkey.c.id).where(tables.passkey.c.id == key)).first():
                raise Refused("This passkey is kept already.")
            said = " ".join(name.split())[:MOST_NAME] or "passkey"
            connection.execute(insert(tables.passkey).values(name=said, **values))
            did(connection, person.id, "made a passkey", person.id)

    def take_out(self, person: Person, key: str) -> None:
        """Let one of a person's passkeys open nothing from now on."""
        c = tables.passkey.c
        with writing(self.store) as connection:
            if connection.execute(tables.passkey.delete().where(c.id == key, c.person == person.id)).rowcount:
                did(connection, person.id, "took a passkey out", person.id)

    def to_sign_in(self, place: Place) -> str:
        """What the browser is asked for to sign somebody in, as JSON."""
        from webauthn import generate_authentication_options, options_to_json
        from webauthn.helpers.structs import UserVerificationRequirement

        made = generate_authentication_options(rp_id=place.host, user_verification=UserVerificationRequirement.REQUIRED)
        self._ask(made.challenge, "")
        return options_to_json(made)

    def sign_in(self, answer: str, challenge: str, place: Place, address: str) -> tuple[Person, str] | None:
        """The person and the key for their browser; None for what opens nothing here, which makes the next try wait."""
        from webauthn import verify_authentication_response
        from webauthn.helpers import base64url_to_bytes

        c, person = tables.passkey.c, None
        try:
            key, holder = _named(answer)
            with reading(self.store) as connection:
                row = connection.execute(select(tables.passkey).where(c.id == key)).first()
            person = self.people.of_id(row.person) if row else None
            if row is None or person is None or person.gone or holder not in ("", person.id):
                raise Refused("This passkey opens nothing here.")
            known = {
                "credential_public_key": base64url_to_bytes(row.public),
                "credential_current_sign_count": row.count,
            }
            found = self._checked(verify_authentication_response, answer, challenge, "", place, **known)
        except Refused:
            with writing(self.store) as connection:
                self.people.count(connection, False, address=address)
                did(connection, person.id if person else "", "sign-in refused", words=f"passkey, {address}")
            return None
        with writing(self.store) as connection:
            connection.execute(update(tables.passkey).where(c.id == key).values(count=found.new_sign_count))
            self.people.count(connection, True, address=address)
            did(connection, person.id, "signed in", words=f"passkey, {address}")
        return person, self.people.begin(person)

    def _ask(self, challenge: bytes, person: str) -> None:
        """Remember a challenge, and forget those that nobody answered in time."""
        from webauthn.helpers import bytes_to_base64url

        c, moment = tables.challenge.c, self.people.clock()
        key = key_hash(bytes_to_base64url(challenge))
        with writing(self.store) as connection:
            connection.execute(tables.challenge.delete().where(c.ends < moment))
            connection.execute(insert(tables.challenge).values(key=key, person=person, ends=moment + CHALLENGE_S))

    def _checked(
        self, verify: Callable[..., Any], answer: str, challenge: str, person: str, place: Place, **known: Any
    ) -> Any:
        """What the library says of a browser's answer. The challenge is used up, whatever comes of it. Raises Refused."""
        from webauthn.helpers import base64url_to_bytes

        c = tables.challenge.c
        asked = (c.key == key_hash(challenge)) & (c.person == person) & (c.ends >= self.people.clock())
        with writing(self.store) as connection:
            if not connection.execute(tables.challenge.delete().where(asked)).rowcount:
                raise Refused("That took too long, or was answered already. Begin again.")
        try:
            return verify(
                credential=answer[:LONGEST],
                expected_challenge=base64url_to_bytes(challenge),
                expected_rp_id=place.host,
                expected_origin=place.origin,
                require_user_verification=True,
                **known,
            )
        except Exception as error:  # bytes of a stranger went through it: whatever went wrong, it is no passkey
            raise Refused("This is no passkey that opens anything here.") from error


def _named(answer: str) -> tuple[str, str]:
    """Which passkey an answer is of, and whose it says it is (may be empty). Raises Refused."""
    from webauthn.helpers import parse_authentication_credential_json

    try:
        found = parse_authentication_credential_json(answer[:LONGEST])
        return found.id, (found.response.user_handle or b"").decode()
    except Exception as error:  # as above
        raise Refused("This is no passkey.") from error
