"""One way to write a value as bytes, so that its hash means something: canonical JSON after RFC 8785.

Of RFC 8785 (JSON Canonicalization Scheme) everything but fractions: a number with a fraction would have to be rounded
to binary, so digits travel as text, exactly as they were typed. Keys are in the order of their UTF-16 code units, there
is no white space, and only what must be escaped is escaped.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any

from .trouble import NotKept

NOTHING_BEFORE = "0" * 64  # what stands for the hash before the first event
FORM = 1  # form of the event that is hashed
LARGEST_WHOLE = 2**53 - 1
LARGEST_BYTES = 256_000
DEEPEST = 12

_write = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode


def canonical(value: object, place: str = "entry") -> str:
    """The value as canonical JSON text (RFC 8785 without fractions).

    Raises NotKept, with the place in the value, for whatever has no exact form: fractions as binary numbers, whole
    numbers beyond 2⁵³ − 1, texts that are not Unicode or hold a zero byte, keys that are not text, too deep nesting.
    """
    return _write(_ordered(value, place, 0))


def _ordered(value: object, place: str, depth: int) -> object:
    if depth > DEEPEST:
        raise NotKept(f"{place}: nested deeper than {DEEPEST} levels.")
    if isinstance(value, str):
        return _text(value, place)
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int):
        if abs(value) > LARGEST_WHOLE:
            raise NotKept(f"{place}: expected a whole number within ±{LARGEST_WHOLE}, found {value}.")
        return value
    if isinstance(value, dict):
        for key in value:
            if not isinstance(key, str):
                raise NotKept(f"{place}: expected keys that are text, found {key!r}.")
            _text(key, place)
        return {k: _ordered(value[k], f"{place}, {k}", depth + 1) for k in sorted(value, key=_utf16)}
    if isinstance(value, (list, tuple)):
        return [_ordered(v, f"{place}, {i}", depth + 1) for i, v in enumerate(value, 1)]
    raise NotKept(f"{place}: expected text, a whole number, true or false, found {value!r}. Digits are kept as text.")


def _utf16(key: str) -> bytes:
    return key.encode("utf-16-be")


def _text(value: str, place: str) -> str:
    if "\0" in value:
        raise NotKept(f"{place}: a text cannot hold a zero byte.")
    try:
        value.encode()
    except UnicodeEncodeError as error:
        raise NotKept(f"{place}: character {error.start + 1} is not a Unicode character.") from error
    return value


def envelope(
    *, no: int, id: str, visit: str, seq: int, kind: str, body: str, at: str, kept_at: str, by: str, prev: str
) -> str:
    """The canonical JSON of a whole event, from its parts; ``body`` and ``by`` are canonical JSON already."""
    return (
        f'{{"at":{_write(at)},"body":{body},"by":{by},"form":{FORM},"id":{_write(id)},"kept_at":{_write(kept_at)},'
        f'"kind":{_write(kind)},"no":{no},"prev":{_write(prev)},"seq":{seq},"visit":{_write(visit)}}}'
    )


def digest(text: str | bytes) -> str:
    """SHA-256 of a text (in UTF-8) or of bytes, in hexadecimal."""
    return hashlib.sha256(text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")).hexdigest()


def parsed(text: str) -> Any:
    """JSON text of the journal as a value. Raises ValueError."""
    return json.loads(text)
