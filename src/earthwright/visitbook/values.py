"""Fields as they are declared, read strictly: one reader for a visit book, a form and a table."""

from __future__ import annotations

import re
from collections.abc import Callable, Container
from functools import lru_cache
from itertools import pairwise
from typing import Any

import attrs

from ..site.circuit import NONE
from ..site.fields import (
    AREA,
    CODE,
    COUNT,
    CURVE,
    DATE,
    DELAY,
    FLAG,
    NAMES,
    NUMBER,
    POINTS,
    REFERENCE,
    RUNS,
    TEXT,
    TIME,
    WHOLE,
    WORD,
    Field,
    Kind,
    fields_of,
)
from ..site.stretch import EXPECTED, written
from .fields import Entry, short
from .places import read_points

_DELAY = re.compile(r"([1-9][0-9]{0,3}) ?ms")
DELAY_SAID = 'S, none, or a set time such as "150 ms"'


def values(entry: Entry, kind: type, base: object = None, but: Container[str] = ()) -> dict[str, Any]:
    """What an entry says of a thing, by attribute; what it does not say is as in ``base``, else as declared.

    but  attributes that are left to a reader of their own, as ids and tables inside are
    """
    return {
        f.name: read(entry, f, usual if base is None else getattr(base, f.name))
        for f, read, usual in _plan(kind)
        if f.name not in but
    }


def value(entry: Entry, field: Field) -> Any:
    """The value of one field; a wrong one is told, and then what holds is what would hold without it."""
    return _READERS[field.kind](entry, field, field.default)


@lru_cache(maxsize=64)
def _plan(kind: Any) -> tuple[tuple[Field, Callable[[Entry, Field, Any], Any], Any], ...]:
    """The fields of a class, each with its reader and with what holds while nothing is said."""
    fields = (f for f in fields_of(kind) if f.kind in _READERS)
    return tuple((f, _READERS[f.kind], None if f.default is attrs.NOTHING else f.default) for f in fields)


def _text(entry: Entry, f: Field, usual: Any) -> Any:
    return entry.text(f.key, need=f.need, choices=f.choices if f.kind is WORD else (), default=usual or "") or (
        None if f.default is None else ""
    )


def _code(entry: Entry, f: Field, usual: Any) -> Any:
    return entry.code(f.key, f.choices, default=usual)


def _number(entry: Entry, f: Field, usual: Any) -> Any:
    found = entry.number(f.key, f.unit, need=f.need, above=f.above, least=f.least, most=f.most)
    return found if entry.has(f.key) and (found is not None or f.default is None) else usual


def _whole(entry: Entry, f: Field, usual: Any) -> Any:
    return entry.whole(f.key, f.numbers, default=usual)


def _count(entry: Entry, f: Field, usual: Any) -> Any:
    return entry.count(f.key, int(f.least or 0), int(f.most), default=usual)


def _flag(entry: Entry, f: Field, usual: Any) -> Any:
    found = entry.flag(f.key)
    return usual if found is None else found


def _date(entry: Entry, f: Field, usual: Any) -> Any:
    return entry.date(f.key, need=f.need)


def _time(entry: Entry, f: Field, usual: Any) -> Any:
    return entry.time(f.key)


def _names(entry: Entry, f: Field, usual: Any) -> Any:
    return entry.names(f.key)


def _delay(entry: Entry, f: Field, usual: Any) -> Any:
    return read_delay(entry, f.key, usual)


def _points(entry: Entry, f: Field, usual: Any) -> Any:
    return read_points(entry)


def _runs(entry: Entry, f: Field, usual: Any) -> Any:
    typed = entry.text(f.key, default=usual)
    try:
        return written(typed)
    except ValueError as error:
        entry.fault(f.key, str(error), EXPECTED, short(typed))
        return usual


def _curve(entry: Entry, f: Field, usual: Any) -> Any:
    return read_curve(entry, usual)


_READERS: dict[Kind, Callable[[Entry, Field, Any], Any]] = {
    TEXT: _text, AREA: _text, WORD: _text, REFERENCE: _text, CODE: _code, NUMBER: _number, WHOLE: _whole, COUNT: _count, FLAG: _flag,
    DATE: _date, TIME: _time, NAMES: _names, DELAY: _delay, POINTS: _points, CURVE: _curve, RUNS: _runs,
}  # fmt: skip


def read_delay(entry: Entry, key: str, default: str) -> str:
    """The delay of a residual current device: ``S``, ``none`` or a set time such as ``150 ms``."""
    typed = entry.text(key, default=default)
    if not entry.has(key) or typed in ("S", NONE):
        return typed
    match = _DELAY.fullmatch(typed)
    if match is None:
        if isinstance(entry.raw(key), str):  # another kind of value was told already
            near = "S" if typed in ("s", "Type S", "type S") else ""
            do = f"Did you mean '{near}'?" if near else ""
            entry.fault(key, "This is not a delay.", DELAY_SAID, short(typed), do)
        return default
    return f"{match[1]} ms"


def read_curve(entry: Entry, base: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
    """Points of a time-current curve: (current [A], time [s]), falling from left to right."""
    raw = entry.raw("curve")
    if raw is None:
        return base
    expected = "[[87, 5], [200, 0.4], [350, 0.1]]: amperes rising, seconds falling"
    points: list[tuple[float, float]] = []
    if isinstance(raw, list):
        for pair in raw:
            numbers = [entry.plain(x) for x in pair] if isinstance(pair, list) else []
            if len(numbers) == 2 and numbers[0] is not None and numbers[1] is not None:
                points.append((numbers[0], numbers[1]))
    if not isinstance(raw, list) or not raw or len(points) != len(raw):
        entry.fault("curve", "These are not points of a curve.", expected, short(raw))
        return base
    good = all(0 < a <= 1e6 and 0 < s <= 1e5 for a, s in points)
    if not good or not all(a < c and s > d for (a, s), (c, d) in pairwise(points)):
        entry.fault("curve", "A curve falls from left to right.", expected, str(points)[:80])
        return base
    return tuple(points)
