"""JSON Schema of a visit book, made from the declared fields, so that an editor completes and checks ``visit.toml``."""

from __future__ import annotations

from typing import Any

from ..site.fields import Field, Kind, entered
from ..site.inspection import INITIAL, INITIAL_OUTCOMES, ITEMS, PERIODIC_OUTCOMES, SPLIT
from ..site.reading import ASSUMED, Accuracy
from ..site.tables import BY_NAME, TABLES, Table
from .circuits import OWN

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_TEXT: dict[str, Any] = {"type": "string"}
_DIGITS: dict[str, Any] = {"type": ["string", "number"]}

_SIMPLE: dict[Kind, dict[str, Any]] = {
    Kind.FLAG: {"type": "boolean"},
    Kind.DATE: {"type": "string", "format": "date"},
    Kind.NAMES: {"type": ["string", "array"], "items": _TEXT},
    Kind.PAIR: {"type": "array", "items": _TEXT, "minItems": 2, "maxItems": 2},
    Kind.POINTS: {
        "anyOf": [{"type": "integer", "minimum": 1}, {"type": "array", "items": _TEXT}, {"type": "object", "additionalProperties": {"type": "number"}}]
    },
    Kind.CURVE: {"type": "array", "items": {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}},
    Kind.DIGITS: {"anyOf": [_DIGITS, {"type": ["array", "object"]}]},
}  # fmt: skip


def book_schema() -> dict[str, Any]:
    """The schema of a whole visit book. It knows kinds, bounds and words; what entries say of each other only the reader does."""
    tables = {t.name: _table(t) for t in TABLES}
    usual = {"$ref": "#/$defs/usual"}
    tables["board"]["items"]["properties"]["usual"] = usual
    tables |= {"usual": usual, "inspected": _inspected()}
    return {"$schema": DIALECT, **_object("earthwright visit book", tables, ["visit"]), "$defs": {"usual": _usual()}}


def _table(table: Table) -> dict[str, Any]:
    made = _entry(table.says, table.fields)
    if table.name == "instrument":
        made["properties"] |= {function: _entry("limits of error", entered(Accuracy)) for function in ASSUMED}
    return {"type": "array", "items": made} if table.many else made


def _usual() -> dict[str, Any]:
    """What is usual of circuits: their fields but those that each says of itself."""
    fields = tuple(f for f in BY_NAME["circuit"].fields if f.name not in OWN and f.kind is not Kind.ID)
    return _entry("what holds for every circuit that does not say otherwise", fields)


def _inspected() -> dict[str, Any]:
    outcomes = {i.id: INITIAL_OUTCOMES if i.kind == INITIAL else PERIODIC_OUTCOMES for i in ITEMS}
    outcomes |= dict.fromkeys(SPLIT, PERIODIC_OUTCOMES)
    lines = {i: {"type": "string", "pattern": f"^ *({'|'.join(some)}) *(:.*)?$"} for i, some in outcomes.items()}
    return _object("items of the schedule of inspections", lines, [])


def _entry(says: str, fields: tuple[Field, ...]) -> dict[str, Any]:
    return _object(
        says, {f.key: _field(f) for f in fields}, [f.key for f in fields if f.need and f.kind is not Kind.REFERENCE]
    )


def _object(says: str, properties: dict[str, Any], need: list[str]) -> dict[str, Any]:
    return {
        "type": "object",
        "description": says,
        "properties": properties,
        "required": need,
        "additionalProperties": False,
    }


def _field(f: Field) -> dict[str, Any]:
    unit = f" [{f.unit}]" if f.unit else ""
    meant = "; ".join(f"{code}: {words}" for code, words in f.says.items())
    return {"description": "; ".join(x for x in (f.label + unit, f.help, f.hint, meant) if x), **_value(f)}


def _value(f: Field) -> dict[str, Any]:
    if f.kind is Kind.TABLE:
        return _entry(f.label, entered(f.of))
    if f.kind is Kind.TABLES:
        return {"type": "array", "items": _entry(f.label, entered(f.of))}
    if f.kind is Kind.DEVICE:
        return {"anyOf": [_TEXT, _entry(f.label, entered(f.of))]}
    if f.kind is Kind.WHOLE:
        return {"enum": list(f.numbers)}
    if f.kind is Kind.WORD:
        return {"enum": list(f.choices)}
    if f.kind is Kind.CODE:  # one of digits alone may stand without quotes
        return {"enum": [*f.choices, *(int(c) for c in f.choices if c.isdigit())]}
    if f.kind in (Kind.NUMBER, Kind.COUNT):
        bounds = {"exclusiveMinimum": f.above, "minimum": f.least, "maximum": f.most}
        kind = "number" if f.kind is Kind.NUMBER else "integer"
        return {"type": kind, **{k: v for k, v in bounds.items() if v is not None}}
    return _SIMPLE.get(f.kind, _TEXT)
