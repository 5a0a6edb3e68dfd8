"""The columns of the table of circuits: what stands at the head of each, in which unit, and what it says."""

from __future__ import annotations

import difflib
import re
from functools import lru_cache

from attrs import frozen

from ..site.circuit import Circuit
from ..site.fields import Field, Kind, entered
from ..site.tests import BY_NAME, CPC, CROSSED, ENDS, TESTS
from ..site.tests import CIRCUIT as OF_CIRCUIT
from ..visitbook.readings import test_of

TEXT, NUMBER, WHOLE, WORD, YES_NO, POINTS, CURVE = "text", "number", "whole", "word", "yes or no", "points", "curve"
READING = "reading"


@frozen
class Reads:
    """The test that a column holds readings of; ``test_v`` 0 means the voltage of the row's own column."""

    test: str
    between: str = ""
    method: str = ""
    test_v: float = 0.0


@frozen
class Column:
    """One column.

    header  as it stands in the first row, with its unit in brackets;  key  of the visit book, empty for readings
    kind    what its cells hold;  says  the sentence in the documentation;  words  the only words there may be
    """

    header: str
    key: str
    kind: str
    says: str
    unit: str = ""
    words: tuple[str, ...] = ()
    reads: Reads | None = None


# Tests of a circuit; the others belong to the origin, a board, a part or an electrode and have no column here.
_TRADE = {t.name: t.headed for t in TESTS if OF_CIRCUIT in t.of}
_TESTS = {trade: test for test, trade in _TRADE.items()}
OF_CIRCUITS = tuple(_TRADE)

BOARD, CIRCUIT, REASON, TEST_V, INSTRUMENT, LEADS = "board", "id", "reason", "test_v", "instrument", "leads"


def header_of(reads: Reads) -> str:
    """The head of a column of readings: ``Insulation L-E (MΩ)``, ``RCD x1 0° (ms)``."""
    unit = BY_NAME[reads.test].unit
    volts = f"{reads.test_v:g} V" if reads.test_v else ""
    name = " ".join(w for w in (_TRADE[reads.test], reads.method, reads.between, volts) if w)
    return f"{name} ({unit})" if unit else name


def _readings(*names: str) -> list[Column]:
    """The standing columns of tests; those of a new test stand behind all others."""
    return [
        Column(header_of(reads), "", READING, c.says, BY_NAME[name].unit, reads=reads)
        for name in names
        for c in BY_NAME[name].columns
        for reads in (Reads(name, c.between, c.method),)
    ]


_KINDS = {
    Kind.NUMBER: NUMBER,
    Kind.COUNT: WHOLE,
    Kind.WHOLE: WHOLE,
    Kind.WORD: WORD,
    Kind.CODE: WORD,
    Kind.FLAG: YES_NO,
    Kind.POINTS: POINTS,
    Kind.CURVE: CURVE,
}


def _fields() -> list[Column]:
    """A column for every field of a circuit and its device; the board stands first."""
    fields = [f for f in entered(Circuit) if f.kind is not Kind.DEVICE]
    fields.sort(key=lambda f: f.key != BOARD)
    return [_field(f) for f in fields]


def _field(f: Field) -> Column:
    name = f.head or f.label
    words = ("yes", "no") if f.kind is Kind.FLAG else f.choices
    return Column(f"{name} ({f.unit})" if f.unit else name, f.key, _KINDS.get(f.kind, TEXT), f.help, f.unit, words)


_BEFORE_VOLTS = (*ENDS, *CROSSED, *CPC)  # a ring is read first
COLUMNS: tuple[Column, ...] = (
    *_fields(),
    *_readings(*_BEFORE_VOLTS),
    Column("Insulation test (V)", TEST_V, NUMBER, "test voltage of the row's insulation readings", "V"),
    *_readings(*(name for name in OF_CIRCUITS if name not in _BEFORE_VOLTS)),
    Column("Reason", REASON, TEXT, "why, for every LIM, N/A or not tested of the row that has no reason of its own"),
    Column("Instrument", INSTRUMENT, TEXT, "id of the instrument; may be empty while there is one"),
    Column("Leads", LEADS, TEXT, "id of the lead set; may be empty while there is one"),
)
BY_HEADER = {c.header: c for c in COLUMNS}
BY_KEY = {c.key: c for c in COLUMNS if c.key}

_UNIT = re.compile(r"^(.*?)\s*\(([^()]*)\)$")
_SPELLINGS = {"ohm": "Ω", "ohms": "Ω", "Mohm": "MΩ", "Mohms": "MΩ", "mm2": "mm²", "C": "°C", "A2s": "A²s"}
_VOLTS = re.compile(r"^(.*?)\s+([0-9]{2,4}) V$")


@lru_cache(maxsize=1024)
def column_of(header: str) -> tuple[Column | None, str]:
    """The column a header stands for, or None and what is wrong with it.

    Besides the standing columns every test of a circuit may have one: its name, how it was made, the unit in brackets.
    """
    clean = " ".join(header.replace("\u2126", "Ω").split())
    match = _UNIT.match(clean)
    name, unit = (match[1], _SPELLINGS.get(match[2], match[2])) if match else (clean, "")
    spelled = f"{name} ({unit})" if unit else name
    if spelled in BY_HEADER:
        return BY_HEADER[spelled], ""
    reads = _reads(name)
    if reads is not None:
        column = Column(header_of(reads), "", READING, "", BY_NAME[reads.test].unit, reads=reads)
        known = next((c for c in COLUMNS if c.reads == reads), column)
        return (known, "") if column.unit == unit else (None, _wrong_unit(known, unit))
    same_name = [c for c in COLUMNS if _UNIT.sub(r"\1", c.header) == name]
    if same_name:
        return None, _wrong_unit(same_name[0], unit)
    near = difflib.get_close_matches(spelled, BY_HEADER, 1)
    return None, f"There is no such column. Did you mean '{near[0]}'?" if near else "There is no such column."


def _wrong_unit(column: Column, unit: str) -> str:
    if not unit:
        return f"The unit is missing: this column is headed '{column.header}'."
    if not column.unit:
        return f"This column has no unit and is headed '{column.header}'."
    return f"This column is in {column.unit}, not in {unit}: convert every value and head it '{column.header}'."


def _reads(name: str) -> Reads | None:
    """The test that a name without its unit stands for."""
    volts = 0.0
    if match := _VOLTS.match(name):
        name, volts = match[1], float(match[2])
    for trade in sorted(_TESTS, key=len, reverse=True):
        if name != trade and not name.startswith(trade + " "):
            continue
        found = test_of(_TESTS[trade] + name[len(trade) :])
        if found is not None and found[0] == _TESTS[trade] and (not volts or found[0] == "insulation"):
            return Reads(*found, volts)
    return None
