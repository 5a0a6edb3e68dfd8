"""JSON Schema (2020-12) of the lines that an export is made of."""

from __future__ import annotations

from typing import Any

from .event import ID, KIND

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_HASH = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
_NAME = {"type": "string", "pattern": f"^{ID.pattern}$"}
_TEXT = {"type": "string"}
_APART = {
    "type": "object",
    "description": "Stands for a name or address in personal.jsonl; seal = SHA-256 of salt, colon, value as JSON text.",
    "properties": {"personal": _TEXT, "seal": _HASH},
    "required": ["personal", "seal"],
    "additionalProperties": False,
}
_CHANGE = {"event": _NAME, "reason": {"type": "string", "minLength": 1}}


def _object(title: str, properties: dict[str, Any], **more: Any) -> dict[str, Any]:
    return {
        "title": title,
        "type": "object",
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
        **more,
    }


def _when(kind: list[str], properties: dict[str, Any], required: list[str]) -> dict[str, Any]:
    return {
        "if": {"properties": {"kind": {"enum": kind}}},
        "then": {"properties": {"body": {"properties": properties, "required": required}}},
    }


def event_schema() -> dict[str, Any]:
    """One line of events.jsonl: an event as it is hashed, and its hash."""
    properties = {
        "no": {"type": "integer", "minimum": 1, "description": "place in the journal, without a gap"},
        "id": _NAME,
        "visit": _NAME,
        "seq": {"type": "integer", "minimum": 1, "description": "place in the visit, without a gap"},
        "kind": {"type": "string", "pattern": f"^{KIND.pattern}$", "description": "table of the visit book, or correct, strike, …"},
        "body": {"type": "object", "description": "the entry; digits are text as typed"},
        "at": {"type": "string", "description": "sender's clock, ISO 8601"},
        "kept_at": {"type": "string", "description": "journal's clock, ISO 8601, UTC"},
        "by": {"anyOf": [_APART, {"const": ""}]},
        "form": {"const": 1},
        "prev": _HASH,
        "hash": {**_HASH, "description": "SHA-256 of this line's canonical JSON (RFC 8785) without the key hash"},
    }  # fmt: skip
    file = {"hash": _HASH, "size": {"type": "integer", "minimum": 1}, "caption": _TEXT, "name": _TEXT, "media": _TEXT}
    by_kind = [
        _when(["correct"], {**_CHANGE, "body": {"type": "object"}}, ["event", "body", "reason"]),
        _when(["strike"], {**_CHANGE, "undo": {"type": "boolean"}}, ["event", "reason"]),
        _when(["photo", "file"], {**file, "about": _TEXT}, list(file)),
        _when(["erase"], {"keys": {"type": "array", "items": _TEXT}, "files": {"type": "array", "items": _HASH}},
              ["keys", "files", "reason"]),
    ]  # fmt: skip
    return {"$schema": DIALECT, **_object("earthwright journal event", properties, allOf=by_kind)}


def personal_schema() -> dict[str, Any]:
    """One line of personal.jsonl: a name or address that stands apart."""
    properties = {"key": _TEXT, "visit": _NAME, "field": _TEXT, "value": _TEXT, "salt": _TEXT}
    return {"$schema": DIALECT, **_object("earthwright personal value", properties)}


def erased_schema() -> dict[str, Any]:
    """One line of erased.jsonl: what a signed erasure took out."""
    return {"$schema": DIALECT, **_object("earthwright erasure", {"what": _TEXT, "event": _NAME})}


SCHEMAS = {"event": event_schema, "personal": personal_schema, "erased": erased_schema}
