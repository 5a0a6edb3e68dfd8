"""An assessment as plain data: what ``judge --json`` writes, what is kept, and the schema of both."""

from __future__ import annotations

import datetime as dt
import inspect
import json
import math
import types
import typing
from decimal import Decimal
from enum import Enum

import attrs

from ..evidence.bond import DISPROVED, NOT_SHOWN, PROVED
from ..outcomes.assessment import BOND, LEAVE, Assessment
from ..outcomes.verdict import FAILS, MEETS, NO_RULE, NOT_DECIDED
from ..site.inspection import PERIODIC_OUTCOMES
from .stops import Stop, stops

SCHEMA_ID = "earthwright-assessment-1"
PROMISE = (
    "Version 1 of the record. From the first release on, within a version no key is taken away or renamed, none changes its type, "
    "its unit or its meaning, and no enumeration gets another word: that makes a new version, named under 'schema'. Keys may be added, so "
    "what reads a record passes over those it does not know. A record is checked with the schema of the program that wrote it."
)
_HELD = (MEETS, FAILS, NOT_DECIDED, NO_RULE)
# (class, field) → the words it may be; without a class: every other field of that name.
_VERDICTS: dict[tuple[str, str], tuple[str, ...]] = {
    ("", "verdict"): (PROVED, DISPROVED, NOT_SHOWN),
    ("PartJudged", "verdict"): (BOND, LEAVE, NOT_DECIDED),
    ("Judged", "outcome"): _HELD,
    ("Judged", "simple"): _HELD,
    ("Judged", "guarded"): _HELD,
    ("TestJudged", "outcome"): _HELD,
    ("Inspected", "outcome"): PERIODIC_OUTCOMES,  # those of new work are among them
    ("Requirement", "outcome"): (MEETS, FAILS, NOT_DECIDED, "not stated"),
}


def to_json(a: Assessment) -> dict[str, object]:
    """The assessment as JSON values, danger that is there now first. Infinite numbers are the text ``over-range``; digits are text, as typed."""
    return {"schema": SCHEMA_ID, "stops": plain(stops(a)), **typing.cast("dict[str, object]", plain(a))}


def as_text(a: Assessment) -> str:
    """The assessment as JSON text."""
    return json.dumps(to_json(a), ensure_ascii=False, indent=1) + "\n"


def _kept(kind: type) -> list[attrs.Attribute[object]]:
    return [f for f in attrs.fields(kind) if f.metadata.get("kept", True)]


_NAMES: dict[type, tuple[str, ...] | None] = {}


def _names(kind: type) -> tuple[str, ...] | None:
    """The fields of one of our classes; None for any other. Looked up once for each class."""
    if kind not in _NAMES:
        _NAMES[kind] = tuple(f.name for f in _kept(kind)) if attrs.has(kind) else None
    return _NAMES[kind]


def plain(value: object) -> object:
    """Any of our frozen values as JSON values, each object with its kind."""
    kind = type(value)
    names = _names(kind)
    if names is not None:
        return {"is": kind.__name__, **{name: plain(getattr(value, name)) for name in names}}
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, (dt.date, dt.datetime)):
        return value.isoformat()
    if isinstance(value, dict):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain(v) for v in value]
    if isinstance(value, (frozenset, set)):
        return sorted(plain(v) for v in value)  # type: ignore[type-var]
    if isinstance(value, float) and not math.isfinite(value):
        return "over-range" if value > 0 else "not a number"
    return value


def json_schema() -> dict[str, object]:
    """JSON Schema (2020-12) of :func:`to_json`, made from the classes themselves so that it cannot drift."""
    definitions: dict[str, object] = {}
    root, danger = _schema_of(Assessment, definitions), _schema_of(tuple[Stop, ...], definitions)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:earthwright:{SCHEMA_ID}",
        "title": "earthwright assessment",
        "description": PROMISE,
        "type": "object",
        "allOf": [root],
        "required": ["schema", "stops"],
        "properties": {"schema": {"const": SCHEMA_ID}, "stops": danger},
        "$defs": definitions,
    }


def _schema_of(kind: object, definitions: dict[str, object]) -> dict[str, object]:
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        return {"anyOf": [_schema_of(k, definitions) for k in inner]}
    if origin in (tuple, list):
        return _array(inner, definitions)
    if origin in (frozenset, set):
        return {"type": "array", "items": _schema_of(inner[0], definitions), "uniqueItems": True}
    if origin is dict:
        return {"type": "object", "additionalProperties": _schema_of(inner[1], definitions)}
    if isinstance(kind, type) and attrs.has(kind):
        return _object(kind, definitions)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return {"enum": [member.value for member in kind]}
    return _SIMPLE[kind]


_SIMPLE: dict[object, dict[str, object]] = {
    str: {"type": "string"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"anyOf": [{"type": "number"}, {"enum": ["over-range", "not a number"]}]},
    Decimal: {"type": "string"},
    dt.date: {"type": "string", "format": "date"},
    type(None): {"type": "null"},
}


def _array(inner: tuple[object, ...], definitions: dict[str, object]) -> dict[str, object]:
    if len(inner) == 2 and inner[1] is Ellipsis:
        return {"type": "array", "items": _schema_of(inner[0], definitions)}
    return {"type": "array", "prefixItems": [_schema_of(k, definitions) for k in inner], "items": False}


def _words(of: str, field: str) -> dict[str, object] | None:
    """The words that a verdict or an outcome may be; None for any other field."""
    words = _VERDICTS.get((of, field)) or _VERDICTS.get(("", field) if field == "verdict" else ("", ""))
    return {"enum": list(words)} if words else None


def _described(kind: type) -> str:
    """What a class holds and each of its fields means: its own words, as one text."""
    return " ".join((inspect.getdoc(kind) or "").replace("``", "").split())


def _object(kind: type, definitions: dict[str, object]) -> dict[str, object]:
    name = kind.__name__
    if name not in definitions:
        definitions[name] = {}  # taken, so that a class may refer to itself
        hints = typing.get_type_hints(kind)
        properties = {f.name: _words(name, f.name) or _schema_of(hints[f.name], definitions) for f in _kept(kind)}
        definitions[name] = {
            "description": _described(kind),
            "type": "object",
            "properties": {"is": {"const": name}, **properties},
            "required": ["is", *properties],
        }
    return {"$ref": f"#/$defs/{name}"}
