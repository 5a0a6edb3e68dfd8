"""Editions, tables and the values looked up in them. Nothing here exists without a unit and a source."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from decimal import Decimal

from attrs import field, frozen

from ..base.errors import NoRule
from ..base.quantity import Limit


@frozen
class Source:
    """Where figures were taken from.

    confidence  ``read``: stood in a text that was read; ``memory``: from memory of it, and shown as such
    """

    document: str
    place: str
    read_by: str
    confidence: str


@frozen
class Range:
    """A range of a key with its edges written out: above ``above`` (or from ``start``) to ``to``, both as printed."""

    above: Decimal | None
    start: Decimal | None
    to: Decimal | None

    def holds(self, value: Decimal) -> bool:
        """Whether a value lies in the range; what is no number lies in none."""
        if value.is_nan():
            return False
        if self.above is not None and not value > self.above:
            return False
        if self.start is not None and not value >= self.start:
            return False
        return self.to is None or value <= self.to

    @property
    def low(self) -> Decimal:
        """Lower edge; minus infinity when it is open."""
        edge = self.above if self.above is not None else self.start
        return Decimal("-Infinity") if edge is None else edge

    def __str__(self) -> str:
        low = f"above {self.above}" if self.above is not None else ("" if self.start is None else f"from {self.start}")
        return f"{low} {'' if self.to is None else f'to {self.to}'}".strip()


Exact = str | Decimal | bool
Key = Exact | Range
Column = str | Decimal | bool | dt.date


@frozen
class PrintedRow:
    """One row of a table: keys, columns, and how sure its figures are. ``clause`` is empty when it is the table's."""

    keys: Mapping[str, Key]
    columns: Mapping[str, Column]
    confidence: str
    note: str
    clause: str = ""


@frozen
class RuleValue:
    """A looked-up row with everything needed to print it.

    columns  the figures of the row;  units  their units;  ``value`` is the column of that name
    keys     the row's keys as printed;  place  where in the document it was read
    origin   edition in whose folder the table stands; another than ``edition`` when it is shared by reference
    """

    table: str
    columns: Mapping[str, Column]
    units: Mapping[str, str]
    clause: str
    document: str
    standard: str
    edition: str
    confidence: str
    note: str
    place: str = ""
    origin: str = ""
    keys: Mapping[str, Key] = field(factory=dict)

    @property
    def value(self) -> Decimal:
        """The figure of the column ``value``."""
        return self.number("value")

    @property
    def unit(self) -> str:
        """Unit of the column ``value``."""
        return self.units["value"]

    def number(self, column: str) -> Decimal:
        """A figure of the row. Raises TypeError when the column holds something else."""
        found = self.columns[column]
        if not isinstance(found, Decimal):
            raise TypeError(f"table {self.table}: column {column} holds {'text' if isinstance(found, str) else found}")
        return found

    def text(self, column: str) -> str:
        """A text of the row."""
        return str(self.columns[column])

    def flag(self, column: str) -> bool:
        """A yes or no of the row. Raises TypeError when the column holds something else."""
        found = self.columns[column]
        if not isinstance(found, bool):
            raise TypeError(f"table {self.table}: column {column} holds no yes or no")
        return found

    def date(self, column: str) -> dt.date:
        """A day of the row. Raises TypeError when the column holds something else."""
        found = self.columns[column]
        if not isinstance(found, dt.date):
            raise TypeError(f"table {self.table}: column {column} holds no date")
        return found

    @property
    def applies_under(self) -> str:
        """Standard and edition under which the value was looked up, e.g. ``BS 7671:2018+A4``."""
        return f"{self.standard}:{self.edition}"

    def as_limit(self, side: str, what: str, column: str = "value") -> Limit:
        """The figure as a limit to hold a value against."""
        return Limit(
            float(self.number(column)),
            self.units[column],
            side,
            what,
            self.clause,
            self.document,
            self.applies_under,
            self.confidence,
            self.note,
            self.table,
        )


@frozen
class Worked:
    """A value worked out from looked-up ones, with the sum in words.

    rests_on  the looked-up values, the one that gives clause and document first
    """

    value: float
    unit: str
    how: str
    rests_on: tuple[RuleValue, ...]

    @property
    def confidence(self) -> str:
        """``memory`` as soon as one value it rests on is from memory."""
        return "memory" if any(r.confidence == "memory" for r in self.rests_on) else "read"

    @property
    def clause(self) -> str:
        """The clauses it rests on, each once."""
        return "; ".join(dict.fromkeys(r.clause for r in self.rests_on))

    def as_limit(self, side: str, what: str) -> Limit:
        """The value as a limit; the sum stands in its note."""
        first = self.rests_on[0]
        notes = "; ".join(dict.fromkeys(n for n in (self.how, *(r.note for r in self.rests_on)) if n))
        return Limit(
            self.value,
            self.unit,
            side,
            what,
            self.clause,
            first.document,
            first.applies_under,
            self.confidence,
            notes,
            first.table,
        )


@frozen
class Table:
    """A table as printed: rows found by exact keys or by ranges."""

    id: str
    title: str
    clause: str
    note: str
    units: Mapping[str, str]
    names: tuple[str, ...]
    source: Source
    rows: tuple[PrintedRow, ...]
    standard: str
    edition: str
    origin: str
    _exact: Mapping[tuple[Exact, ...], PrintedRow] = field(init=False, repr=False, eq=False)
    _found: dict[tuple[tuple[str, type, Exact], ...], tuple[RuleValue, ...]] = field(
        init=False, repr=False, eq=False, factory=dict
    )

    def __attrs_post_init__(self) -> None:
        plain: dict[tuple[Exact, ...], PrintedRow] = {}
        for row in self.rows:
            keys = [row.keys[n] for n in self.names]
            exact = tuple(k for k in keys if not isinstance(k, Range))
            if len(exact) == len(keys):
                plain[exact] = row
        object.__setattr__(self, "_exact", plain)

    def look(self, **keys: str | float | Decimal | bool) -> RuleValue:
        """The row that the keys fall in. Raises NoRule when there is none.

        A key that the table does not have, or one too few, is a NoRule as well: nothing is matched by half.
        """
        if set(keys) == set(self.names):
            wanted = [_as_key(keys[n]) for n in self.names]
            plain = self._exact.get(tuple(wanted))
            if plain is not None and self._all_fit(plain, wanted):
                return self._value(plain)
            if len(self._exact) < len(self.rows):
                for row in self.rows:
                    if self._all_fit(row, wanted):
                        return self._value(row)
        asked = ", ".join(_spoken(k, v) for k, v in keys.items())
        raise NoRule(f"{self.standard}:{self.edition}, {self.clause} ({self.title}) has no row for {asked or 'that'}")

    def all(self) -> tuple[RuleValue, ...]:
        """Every row, in printed order."""
        return tuple(self._value(row) for row in self.rows)

    def where(self, **keys: str | float | Decimal | bool) -> tuple[RuleValue, ...]:
        """The rows that fit some of the keys, in printed order; empty when there is none."""
        wanted = {name: _as_key(value) for name, value in keys.items()}
        asked = tuple((name, type(value), value) for name, value in wanted.items())  # a yes is not the number 1
        if (held := self._found.get(asked)) is not None:
            return held
        rows = [r for r in self.rows if all(n in r.keys and _fits(r.keys[n], v) for n, v in wanted.items())]
        found = tuple(map(self._value, rows))
        if not any(isinstance(r.keys[n], Range) for r in rows for n in wanted) and found:  # as many as are printed
            self._found[asked] = found
        return found

    def keys_of(self, name: str) -> tuple[Key, ...]:
        """The entries of one key column, in printed order, each once."""
        return tuple(dict.fromkeys(row.keys[name] for row in self.rows))

    def _all_fit(self, row: PrintedRow, wanted: list[Exact]) -> bool:
        return all(_fits(row.keys[n], w) for n, w in zip(self.names, wanted, strict=True))

    def _value(self, row: PrintedRow) -> RuleValue:
        return RuleValue(
            self.id,
            row.columns,
            self.units,
            row.clause or self.clause,
            self.source.document,
            self.standard,
            self.edition,
            row.confidence,
            row.note,
            self.source.place,
            self.origin,
            row.keys,
        )


# Units by the suffix of a key, as in every name of the program.
UNITS = {
    "mm2": "mm²",
    "mm": "mm",
    "m": "m",
    "ohm": "Ω",
    "a": "A",
    "ma": "mA",
    "ka": "kA",
    "v": "V",
    "s": "s",
    "c": "°C",
    "w": "W",
}


def _spoken(key: str, value: str | float | Decimal | bool) -> str:
    """A key and its value as a person says it: ``rating_a`` 32.0 is ``rating 32 A``."""
    stem, _, suffix = key.rpartition("_")
    words, unit = (stem, f" {UNITS[suffix]}") if stem and suffix in UNITS else (key, "")
    said = value if isinstance(value, str) else ("yes" if value else "no") if isinstance(value, bool) else f"{value:g}"
    return f"{words.replace('_', ' ')} {said}{unit}"


def _as_key(value: str | float | Decimal | bool) -> Exact:
    if isinstance(value, (str, bool, Decimal)):
        return value
    return Decimal(str(value))


def _fits(key: Key, value: Exact) -> bool:
    if isinstance(key, Range):
        return isinstance(value, Decimal) and key.holds(value)
    # True equals 1 and hashes like it; a yes must not find the row of a number.
    return type(key) is type(value) and key == value


@frozen
class Difference:
    """Something that an edition changed against the one before, in our own words."""

    what: str
    before: str
    now: str
    clause: str
    confidence: str


@frozen
class Edition:
    """One edition of a standard with the days on which it may be used.

    may_be_used_from  first day;  in_force  from then on it is the one to use unless another is chosen
    withdrawn         first day on which it may no longer be used; None: open
    reviewed_until    last day for which the data claim to know what is in force
    tables            ids of its tables;  shared  table id to the edition whose folder holds it
    differs           what it changed against the edition before
    """

    standard: str
    edition: str
    title: str
    may_be_used_from: dt.date
    in_force: dt.date
    withdrawn: dt.date | None
    reviewed_until: dt.date
    source: Source
    note: str
    tables: tuple[str, ...]
    fetch: Callable[[str], Table] = field(eq=False, repr=False)
    shared: Mapping[str, str] = field(factory=dict)
    differs: tuple[Difference, ...] = ()

    def open_on(self, day: dt.date) -> bool:
        """Whether the edition may be used for an inspection on that day."""
        return self.may_be_used_from <= day and (self.withdrawn is None or day < self.withdrawn)

    def reviewed(self, day: dt.date) -> bool:
        """Whether the data still claim to know what is in force on that day."""
        return day <= self.reviewed_until

    def titled(self, day: dt.date) -> str:
        """The title, with how far the data were reviewed where the day lies beyond it."""
        return self.title if self.reviewed(day) else f"{self.title}, not reviewed since {self.reviewed_until}"

    def has(self, table_id: str) -> bool:
        """Whether the edition has a table of that id, its own or shared."""
        return table_id in self.tables

    def table(self, table_id: str) -> Table:
        """A table of this edition, its own or shared by reference. Raises NoRule when it has none of that id."""
        if table_id not in self.tables:
            raise NoRule(f"{self.standard}:{self.edition} has no table '{table_id}' in the data")
        return self.fetch(table_id)

    def clause(self, requirement: str) -> str:
        """The clause of a requirement, by the name the program has for it; empty where the edition holds none."""
        try:
            return self.table("clauses").look(requirement=requirement).clause
        except NoRule:
            return ""


def clause_of(edition: Edition | None, requirement: str) -> str:
    """The same; empty without an edition as well."""
    return "" if edition is None else edition.clause(requirement)


def cited(edition: Edition | None, requirement: str, *more: str) -> str:
    """The clause in brackets, with what else belongs there, to stand behind a sentence: `` (543.1.3)``; else nothing."""
    clause = clause_of(edition, requirement)
    return f" ({', '.join((clause, *more))})" if clause else ""
