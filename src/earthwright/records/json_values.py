"""Visit-book values as JSON and back: digits stay text exactly as typed, and its field says how a text is meant.

A form posts ``{"csa_mm2": "10", "shown": "0.03"}`` as typed; the visit book's reader needs 10 as a number and 0.03 as
digits. How a key is meant is declared with its field; what that does not tell is marked: ``{"number": "2.5"}``, ``{"date": …}``, ``{"time": …}``, ``{"text": …}``.
Canonical JSON sorts keys; where their order says something (several tests of one step were made one after another),
it is kept as ``{"in order": [[key, value], …]}``.
"""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal
from typing import Any

from ..site.board import Switch
from ..site.circuit import Device
from ..site.fields import Kind, fields_of
from ..site.particulars import Stage
from ..site.reading import Accuracy
from ..site.tables import TABLES
from .trouble import NotKept

ORDERED = ("tests", "at_points", "points")  # tables whose keys stand in the order in which it was done
IN_ORDER = "in order"
_FIELDS = (
    *(f for t in TABLES for f in t.fields),
    *(f for x in (Switch, Device, Accuracy, Stage) for f in fields_of(x)),
)
DIGITS = {f.key for f in _FIELDS if f.kind is Kind.DIGITS}  # of a display, or a table of such: always text
NUMBERS = {f.key for f in _FIELDS if f.kind in (Kind.NUMBER, Kind.COUNT, Kind.WHOLE)}
DATES = {f.key for f in _FIELDS if f.kind is Kind.DATE}
TIMES = ("at",)
_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?|[+-]?(inf|nan)", re.ASCII)
_WHOLE = re.compile(r"[+-]?\d+", re.ASCII)
_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_TIME = re.compile(r"(\d{4}-\d\d-\d\d[T ])?\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d)?", re.ASCII)
_MARKS = ("number", "date", "time", "text")


def to_json(value: Any, key: str = "", *, exact: bool = False) -> Any:
    """A visit-book value as JSON. Raises NotKept for a binary fraction.

    exact  the value comes from a visit book, where a text is a text: ``csa_mm2 = "10"`` is not taken for a number.
    From a form every value is a text, and its key says how it is meant.
    """
    if isinstance(value, dict):
        made = {str(k): to_json(v, _under(key, str(k)), exact=exact) for k, v in value.items()}
        in_order = key in ORDERED and list(made) != sorted(made, key=lambda k: k.encode("utf-16-be", "surrogatepass"))
        return {IN_ORDER: [[k, v] for k, v in made.items()]} if in_order else made
    if isinstance(value, (list, tuple)):
        return [to_json(v, key, exact=exact) for v in value]
    if value is None or isinstance(value, bool):
        return value
    if key in DIGITS and isinstance(value, (int, Decimal)):
        return str(value)
    if isinstance(value, str):
        return {"text": value} if exact and from_json(value, key) != value else value
    if isinstance(value, int):
        return value if abs(value) < 2**53 else _marked("number", str(value), value, key)
    if isinstance(value, Decimal):
        return _marked("number", str(value), value, key)
    if isinstance(value, (dt.datetime, dt.time)):
        return _marked("time", value.isoformat(), value, key)
    if isinstance(value, dt.date):
        return _marked("date", value.isoformat(), value, key)
    raise NotKept(f"{key or 'entry'}: expected text, digits, a date, true or false, found {value!r}.")


def _under(key: str, inner: str) -> str:
    """The key that says how a value inside a table is meant: what stands in a table of digits is digits."""
    return key if key in DIGITS else inner


def _marked(mark: str, text: str, value: object, key: str) -> object:
    back = from_json(text, key)
    return text if back == value and type(back) is type(value) else {mark: text}


def ordered(value: Any) -> Any:
    """JSON of the journal with tables in their order again, everything else as it is."""
    if isinstance(value, dict):
        pairs = value.get(IN_ORDER) if len(value) == 1 else None
        if isinstance(pairs, list) and all(
            isinstance(p, list) and len(p) == 2 and isinstance(p[0], str) for p in pairs
        ):
            return {k: ordered(v) for k, v in pairs}
        return {k: ordered(v) for k, v in value.items()}
    return [ordered(v) for v in value] if isinstance(value, list) else value


def from_json(value: Any, key: str = "") -> Any:
    """The value as TOML would have given it, for the visit book's reader."""
    return _typed(ordered(value), key)


def _typed(value: Any, key: str) -> Any:
    if isinstance(value, dict):
        if len(value) == 1 and (mark := next(iter(value))) in _MARKS and isinstance(value[mark], str):
            return _meant(mark, value[mark])
        return {k: _typed(v, _under(key, k)) for k, v in value.items()}
    if isinstance(value, list):
        return [_typed(v, key) for v in value]
    if isinstance(value, str) and key not in DIGITS:
        text = value.strip()
        if key in NUMBERS and _NUMBER.fullmatch(text):
            return _meant("number", text)
        if key in DATES and _DATE.fullmatch(text):
            return _meant("date", text)
        if key in TIMES and _TIME.fullmatch(text):
            return _meant("time", text)
    return value


def _meant(mark: str, text: str) -> Any:
    try:
        if mark == "number":
            return int(text) if _WHOLE.fullmatch(text) and len(text) < 30 else Decimal(text)
        if mark == "date":
            return dt.date.fromisoformat(text)
        if mark == "time":
            return dt.datetime.fromisoformat(text) if "-" in text[:8] else dt.time.fromisoformat(text)
    except (ValueError, ArithmeticError):
        return text
    return text
