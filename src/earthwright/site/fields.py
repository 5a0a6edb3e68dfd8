"""One declaration of a field: what may be entered of a thing stands on its class, once, and everything else follows.

``line_mm2: float | None = field(NUMBER, "Line conductor", unit="mm²", above=0, most=1000)`` is read strictly from a visit
book, a form and a table, asked for on the pages, has its column, its line in the docs and in the JSON Schema. What two
fields may not say together is no field and stays code beside the reader.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from functools import lru_cache
from typing import Any

import attrs
from attrs import evolve, frozen

from .range import Range


class Kind(Enum):
    """How a field is written. The last ones have a form of their own, which their reader knows."""

    TEXT = "text"
    AREA = "text of several lines"
    NUMBER = "number"
    COUNT = "whole number"
    WHOLE = "whole number out of a few"
    WORD = "one of a few words"
    CODE = "code"
    FLAG = "yes or no"
    DATE = "date"
    TIME = "time"
    NAMES = "list"
    ID = "id"
    REFERENCE = "id of another entry"
    DELAY = "delay"
    POINTS = "points"
    CURVE = "curve"
    RUNS = "lengths of cable in their order"
    DEVICE = "device"
    INLINE = "fields of the entry itself"
    PAIR = "two places"
    DIGITS = "digits as a display showed them"
    TABLE = "table"
    TABLES = "tables"


class Ask(Enum):
    """When a form asks for a field: at once, right after (what a document needs), on request, or never."""

    FIRST, THEN, MORE, NEVER = 1, 2, 3, 4


TEXT, AREA, NUMBER, COUNT, WHOLE = Kind.TEXT, Kind.AREA, Kind.NUMBER, Kind.COUNT, Kind.WHOLE
WORD, CODE, FLAG, DATE, TIME, NAMES = Kind.WORD, Kind.CODE, Kind.FLAG, Kind.DATE, Kind.TIME, Kind.NAMES
ID, REFERENCE, DELAY, POINTS, CURVE, RUNS = Kind.ID, Kind.REFERENCE, Kind.DELAY, Kind.POINTS, Kind.CURVE, Kind.RUNS
DEVICE, DIGITS, INLINE, PAIR, TABLE, TABLES = Kind.DEVICE, Kind.DIGITS, Kind.INLINE, Kind.PAIR, Kind.TABLE, Kind.TABLES
FIRST, THEN, MORE, NEVER = Ask.FIRST, Ask.THEN, Ask.MORE, Ask.NEVER

ERASED = "[erased]"  # what a journal gives in the place of a personal value that was taken out
_DECLARED = "field"
# What a kind holds while nothing is said.
_NOTHING: dict[Kind, object] = {
    NUMBER: None,
    COUNT: None,
    FLAG: None,
    DATE: None,
    NAMES: (),
    POINTS: (),
    CURVE: (),
    TABLES: (),
}


@frozen
class Field:
    """One field as it is declared.

    label   what a form calls it, in the trade's words;  short  the same below a heading;  hint  what may be
            written, behind it;  help  a sentence more for docs and schema
    unit, above, least, most  of a number;  choices, says  the words there may be, and what codes mean
    ask, group, chips, start  how a form asks: when, below which heading, choices side by side, what stands there to begin with
    head    head of its column, without the unit;  paper  head of its own column in the printed details of a circuit; empty: none
    after   the field it stands behind where people see it. A class grows at its end, since records hold its fields in that order
    keep    whether the next visit is offered it: never what was read, looked at or declared for a day
    puts    words to begin with, put in by a tap (common practice, no source);  habit  whether it is much the same from job to
            job, so that the inspector's own words are offered; never what was measured, looked at, found or agreed
    person  whether it holds somebody's name or address: a journal keeps it apart, so that it can be erased
    local   whether it belongs to the one place, so that a board saved as a pattern leaves it out
    client  whether it belongs to the client, whatever the job: proposed again when that client is named
    need    whether the entry is nothing without it
    possible  what it may be at all, and usually is, where that is narrower than ``above``, ``least`` and ``most``
    fact    group of facts it belongs to, by which it is known which verdicts rest on it; empty: a group of its own; "nothing": none
    of, only  class of a table inside, and the fields of it that a form asks for
    key     in the visit book;  name  on the class;  default  what holds while nothing is said
    """

    kind: Kind
    label: str = ""
    help: str = ""
    unit: str = ""
    above: float | None = None
    least: float | None = None
    most: float = 1e9
    choices: tuple[str, ...] = ()
    says: Mapping[str, str] = attrs.field(factory=dict, hash=False)
    ask: Ask = MORE
    group: str = ""
    chips: bool = False
    start: str = ""
    short: str = ""
    hint: str = ""
    head: str = ""
    paper: str = ""
    after: str = ""
    keep: bool = True
    puts: tuple[str, ...] = ()
    habit: bool = False
    person: bool = False
    local: bool = False
    client: bool = False
    need: bool = False
    possible: Range | None = None
    fact: str = ""
    of: Any = None
    only: tuple[str, ...] = ()
    key: str = ""
    name: str = ""
    default: Any = None

    @property
    def numbers(self) -> tuple[int, ...]:
        """The choices of a whole number."""
        return _numbers(self.choices)


@lru_cache(maxsize=32)
def _numbers(choices: tuple[str, ...]) -> tuple[int, ...]:
    return tuple(map(int, choices))


def field(kind: Kind, label: str = "", help: str = "", **more: Any) -> Any:
    """Declares a field of a frozen class; ``default`` where nothing said is not the same as nothing."""
    if isinstance(more.get("choices"), Mapping):
        more["says"] = more["choices"]
    more["choices"] = tuple(more.get("choices", ()))
    default = more.pop("default", attrs.NOTHING if more.get("need") else _NOTHING.get(kind, ""))
    return attrs.field(default=default, metadata={_DECLARED: Field(kind, label, help, default=default, **more)})


def stays(kind: Kind, label: str = "", help: str = "", **more: Any) -> Any:
    """Declares a field that is asked for at once and that the next visit begins with."""
    return field(kind, label, help, ask=FIRST, **more)


def once(kind: Kind, label: str = "", help: str = "", **more: Any) -> Any:
    """Declares a field that is asked for at once and is said of one visit alone."""
    return field(kind, label, help, ask=FIRST, keep=False, **more)


def also() -> Any:
    """Declares an attribute that the field before it holds besides: the other end of two places."""
    return attrs.field()


@lru_cache(maxsize=64)
def fields_of(kind: Any) -> tuple[Field, ...]:
    """The declared fields of a class in the order in which people see them."""
    declared = [(a.name, a.metadata[_DECLARED]) for a in attrs.fields(kind) if _DECLARED in a.metadata]
    made = [evolve(f, name=name, key=f.key or name) for name, f in declared]
    found = [f for f in made if not f.after]
    later = [f for f in made if f.after]
    while later:
        f = later.pop(0)
        place = next((i + 1 for i, other in enumerate(found) if other.name == f.after), None)
        if place is None:
            later.append(f)  # what it stands behind is not placed yet itself
        else:
            found.insert(place, f)
    return tuple(found)


@lru_cache(maxsize=64)
def entered(kind: Any) -> tuple[Field, ...]:
    """The same with the fields of what it holds as keys of its own entry: of a circuit its device's, behind its short text."""
    found: list[Field] = []
    for f in fields_of(kind):
        found += [] if f.kind is INLINE else [f]
        found += entered(f.of) if f.kind in (DEVICE, INLINE) else ()
    return tuple(found)
