"""The tables of a portfolio, declared once: columns, units and what they mean. The data dictionary is made from this.

Everything that is compared is a whole number, so that every engine gives the same answer: measured values and limits in
thousandths of their unit, words as codes (``code`` says what each means), people, homes and instruments as keyed numbers.
Only the digits of a display stand as text, as they were shown.
"""

from __future__ import annotations

import zlib

from attrs import frozen

KEY, CODE, COUNT, MILLI, DAY, FLAG, TEXT = "key", "code", "count", "thousandths", "day", "flag", "text"
LARGEST_MILLI = 2**31 - 1


def code(word: str) -> int:
    """The number that stands for a word: CRC-32 without its highest bit, so that it needs no list to be worked out."""
    return zlib.crc32(word.encode()) & 0x7FFFFFFF


@frozen
class Column:
    """One column. ``unit``: of a value; thousandths of it are stored where ``kind`` says so."""

    name: str
    kind: str
    about: str
    unit: str = ""
    optional: bool = False


@frozen
class Table:
    """One table; ``key`` names the columns that tell its rows apart, empty where rows may repeat."""

    name: str
    about: str
    columns: tuple[Column, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its columns in order."""
        return tuple(c.name for c in self.columns)


def _c(name: str, kind: str, about: str, unit: str = "") -> Column:
    return Column(name, kind, about, unit)


def _o(name: str, kind: str, about: str, unit: str = "") -> Column:
    return Column(name, kind, about, unit, optional=True)


_VISIT = _c("visit", KEY, "the visit")
_YEAR = _c("year", COUNT, "year of the visit", "year")
_THING = _o("thing", COUNT, "number of the thing within the visit; empty: the visit as a whole")
_COMMON = (_VISIT, _YEAR)

VISIT = Table(
    "visit",
    "one row for each visit that could be read",
    (
        *_COMMON,
        _c("home", KEY, "the home, by its place; the same place has the same number"),
        _c("day", DAY, "day of the inspection"),
        _c("kind", CODE, "kind of visit"),
        _c("edition", CODE, "edition of the wiring rules it was judged by; 'no rule' where none is known for its day"),
        _c("program", CODE, "version of the program that judged it"),
        _o("inspector", KEY, "who inspected"),
        _o("firm", KEY, "whose firm"),
        _o("system", CODE, "earthing system of the supply, as entered"),
        _o("pme", FLAG, "whether the supply is PME, as entered"),
        _o("age_years", COUNT, "age of the installation as entered", "year"),
        _o("premises", CODE, "kind of premises, as entered, where it is one of the usual words"),
        _o("said", CODE, "overall assessment by the inspector"),
        _o("proposed", CODE, "overall assessment that the codes lead to"),
        _o("next_by", DAY, "next inspection by the report"),
        _c("alarms", COUNT, "dangers that are there now"),
        _c("still_off", COUNT, "disconnections that nothing put back"),
        _c("unread", COUNT, "entries that could not be read"),
        _c("events", COUNT, "things done and read"),
    ),
)
NOT_JUDGED = Table(
    "not_judged",
    "one row for each visit that gave no result, with the reason",
    (
        *_COMMON,
        _c("why", CODE, "reason"),
        _c("in_tables", FLAG, "whether what could be judged without it stands in the other tables"),
    ),
)
THING = Table(
    "thing",
    "bonds, circuits, boards, parts, electrodes and the origin of each visit",
    (
        *_COMMON,
        _c("thing", COUNT, "number within the visit"),
        _c("kind", CODE, "bond, circuit, board, part, electrode, origin"),
        _o("use", CODE, "kind of part a bond goes to, use of a circuit, kind of electrode"),
        _o("board", COUNT, "number of the board of a circuit"),
        _o("csa", MILLI, "cross-section of the bond or of the line conductor", "mm²"),
        _o("cpc_csa", MILLI, "cross-section of the protective conductor", "mm²"),
        _o("length", MILLI, "length of the route", "m"),
        _o("device", CODE, "standard of the protective device"),
        _o("curve", CODE, "type of the protective device"),
        _o("rating", MILLI, "rating of the protective device", "A"),
        _o("rcd", MILLI, "rated residual current", "mA"),
    ),
)
READING = Table(
    "reading",
    "every reading with its digits as shown and the state it was taken in",
    (
        *_COMMON,
        _c("reading", COUNT, "place in the order of the visit"),
        _THING,
        _c("test", CODE, "what was measured"),
        _o("shown", TEXT, "digits as they stood on the display"),
        _o("value", MILLI, "the same as a number; empty for over-range, for words, and above 2 147 483 units", "of column unit"),
        _c("unit", CODE, "unit of value"),
        _c("display", CODE, "value, over-range, below resolution, or none"),
        _o("method", CODE, "how it was taken"),
        _o("between", CODE, "between what"),
        _o("isolated", FLAG, "whether the supply was isolated; empty: not noted"),
        _c("bonds_off", COUNT, "bonds that were off while it was taken"),
        _c("earthing_off", FLAG, "whether the earthing conductor was off"),
        _o("instrument", KEY, "which instrument"),
        _o("lapsed", FLAG, "whether the instrument's check had lapsed on the day; empty: no date is entered"),
        _o("absent", CODE, "why there is no reading"),
        _c("refused", FLAG, "the entry is void, and kept as typed"),
    ),
)  # fmt: skip
ROW = Table(
    "row",
    "results held against a limit: one row for each limit of each test",
    (
        *_COMMON,
        _THING,
        _c("test", CODE, "which test"),
        _o("point", COUNT, "place among rows of the same test of the same thing"),
        _c("slot", COUNT, "which limit of the row, from 0"),
        _c("outcome", CODE, "meets, fails, not decided, no rule, by this limit"),
        _c("whole", CODE, "the same of the whole row: the worst of its limits"),
        _o("absent", CODE, "why nothing was read"),
        _o("value", MILLI, "value that was held against the limit", "of column unit"),
        _o("limit", MILLI, "the limit", "of column unit"),
        _o("unit", CODE, "unit of value and limit"),
        _o("side", CODE, "max or min"),
        _o("rule", CODE, "document and clause of the limit"),
        _c("edition", CODE, "edition of the wiring rules of the visit"),
        _c("memory", FLAG, "the limit was written down from memory of the document"),
        _o("ze", MILLI, "on rows of Zs: Ze as read or stated", "Ω"),
        _o("r1r2", MILLI, "on rows of Zs: R1+R2 as read", "Ω"),
    ),
)
VERDICT = Table(
    "verdict",
    "what the readings prove of each conductor, with the weight of the evidence",
    (
        *_COMMON,
        _THING,
        _c("of", CODE, "bond, cpc or ring"),
        _c("verdict", CODE, "proved, disproved, not shown"),
        _o("named", CODE, "what it is when it is not whole"),
        _o("whole_open", MILLI, "weight of whole against open", "log10 of the ratio"),
        _o("whole_impaired", MILLI, "weight of whole against impaired", "log10 of the ratio"),
        _c("readings", COUNT, "readings that count"),
        _c("limited", FLAG, "a limitation says why it was not measured"),
    ),
)
FINDING = Table(
    "finding",
    "what the second pair of eyes and the reader said of the entries",
    (*_COMMON, _THING, _c("family", CODE, "which check"), _c("severity", CODE, "stop, error, warning, note")),
)
OBSERVATION = Table(
    "observation",
    "observations of the report, and codes proposed that nobody answered",
    (
        *_COMMON,
        _THING,
        _o("code", CODE, "C1, C2, FI, C3, none; empty: not coded yet"),
        _o("proposed", CODE, "code the tool proposes"),
        _o("name", CODE, "what it is about, by its short name"),
        _c("stage", CODE, "found, made safe, remedied, confirmed, overtaken; proposed: not answered"),
        _c("found", DAY, "day it was found"),
        _o("since", DAY, "day of its present stage"),
        _c("open", FLAG, "whether its code still counts"),
    ),
)
DUTY = Table(
    "duty",
    "what is due after the visit, by when",
    (
        *_COMMON,
        _c("what", CODE, "what is due"),
        _c("last_day", DAY, "last day on which it is done in time"),
        _c("now", FLAG, "danger is there: done at once"),
        _c("memory", FLAG, "the period was written down from memory of the document"),
    ),
)
HOME = Table(
    "home",
    "the homes of the register that was given",
    (
        _c("home", KEY, "the home, by its place as the register has it"),
        _o("area", CODE, "area, as the register calls it"),
        _o("built", COUNT, "decade in which it was built", "year"),
        _o("kind", CODE, "kind of building, as the register calls it"),
    ),
)
CHANGE = Table(
    "change",
    "each outcome that is another when judged again",
    (
        *_COMMON,
        _c("home", KEY, "the home"),
        _THING,
        _c("test", CODE, "test of the row, or bond, cpc, ring"),
        _c("point", COUNT, "place among rows of the same test of the same thing"),
        _c("old", CODE, "outcome or verdict as kept"),
        _c("new", CODE, "outcome or verdict judged again"),
        _c("why", CODE, "what made the difference"),
        _o("old_limit", MILLI, "limit as kept", "of column unit"),
        _o("new_limit", MILLI, "limit judged again", "of column unit"),
        _o("unit", CODE, "unit of the limits"),
    ),
)
WORD = Table("code", "what each code means", (_c("code", CODE, "the number"), _c("word", TEXT, "the word")))

# Tables that stand by year, and are made from a visit alone.
BY_YEAR = (VISIT, NOT_JUDGED, THING, READING, ROW, VERDICT, FINDING, OBSERVATION, DUTY)
TABLES = {t.name: t for t in (*BY_YEAR, HOME, CHANGE, WORD)}
