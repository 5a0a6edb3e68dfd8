"""Names and addresses stand apart from the events, each under a random key, so that they can be erased.

In the event stands ``{"personal": KEY, "seal": HASH}``; HASH is the SHA-256 of a random salt and the value. While the
value is there it cannot be changed unnoticed; when value and salt are gone, the hash tells nothing about it and the
chain is as whole as before.
"""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from attrs import frozen

from ..site.fields import ERASED, TABLE, Field, entered
from ..site.fields import TABLES as SEVERAL
from ..site.tables import TABLES
from .canon import canonical, digest
from .trouble import NotKept

MISSING = "[missing]"

# Keys that hold a person's name or where they live, in whatever an event is about: also in those that enter nothing in a table.
ANYWHERE = ("by", "inspector", "client", "client_address", "occupier", "agreed_with", "copies")


def _keys(fields: Iterable[Field]) -> Iterator[str]:
    for f in fields:
        if f.person:
            yield f.key
        elif f.kind in (TABLE, SEVERAL):
            yield from _keys(entered(f.of))


# The same by table, as its fields are declared (``person``).
PERSONAL = {"": ANYWHERE, **{t.name: tuple(_keys(t.fields)) for t in TABLES}}


@frozen
class Apart:
    """One value that stands apart."""

    key: str
    visit: str
    field: str
    value: str
    salt: str

    @property
    def seal(self) -> str:
        """What stands for it in the chain."""
        return digest(f"{self.salt}:{canonical(self.value)}")

    @property
    def reference(self) -> dict[str, str]:
        """What stands in the event in its place."""
        return {"personal": self.key, "seal": self.seal}


def new_apart(visit: str, field: str, value: str) -> Apart:
    """A value under a new key and a new salt."""
    return Apart(uuid.uuid4().hex, visit, field, value, secrets.token_hex(16))


def is_reference(value: object) -> bool:
    """Whether a value is what stands for something kept apart."""
    return isinstance(value, dict) and set(value) == {"personal", "seal"}


def is_personal(kind: str, key: str) -> bool:
    """Whether a key of an entry holds a person's name or address."""
    return key in PERSONAL[""] or key in PERSONAL.get(kind, ())


def set_apart(kind: str, body: Mapping[str, Any], reference: Callable[[str, str], dict[str, str]]) -> dict[str, Any]:
    """The body with references in the place of personal values, at whatever depth.

    reference  (field, value) → what stands for it. Raises NotKept for a body that brings references of its own.
    """

    def walked(value: Any, key: str) -> Any:
        if is_reference(value):
            raise NotKept(f"{key}: keys of personal data are made by the journal, not brought along.")
        if isinstance(value, Mapping):
            return {k: walked(v, k) for k, v in value.items()}
        if isinstance(value, (list, tuple)):
            return [walked(v, key) for v in value]
        if isinstance(value, str) and value.strip() and is_personal(kind, key):
            return reference(key, value)
        return value

    return {k: walked(v, k) for k, v in body.items()}


def put_back(body: Any, values: Mapping[str, str], erased: Callable[[str], bool]) -> Any:
    """The body with the values in their places again; what was erased says so."""
    if is_reference(body):
        key = body["personal"]
        return values.get(key, ERASED if erased(key) else MISSING)
    if isinstance(body, dict):
        return {k: put_back(v, values, erased) for k, v in body.items()}
    if isinstance(body, list):
        return [put_back(v, values, erased) for v in body]
    return body


def references(body: Any) -> list[tuple[str, str]]:
    """(key, seal) of everything that stands apart in a body."""
    if is_reference(body):
        return [(body["personal"], body["seal"])]
    inner = body.values() if isinstance(body, dict) else body if isinstance(body, list) else ()
    return [r for v in inner for r in references(v)]
