"""Editions, tables and the values looked up in them. Nothing here exists without a unit and a source."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from decimal import Decimal

from attrs import frozen

from ..errors import NoRule
from ..quantity import Limit


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
        """Whether a value lies in the range."""
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


Key = str | Decimal | bool | Range


@frozen
class Row:
    """One row of a table: keys, columns, and how sure its figures are."""

    keys: Mapping[str, Key]
    columns: Mapping[str, Decimal | str]
    confidence: str
    note: str


@frozen
class RuleValue:
    """A looked-up row with everything needed to print it.

    columns  the figures of the row;  units  their units;  ``value`` is the column of that name
    """

    table: str
    columns: Mapping[str, Decimal | str]
    units: Mapping[str, str]
    clause: str
    document: str
    standard: str
    edition: str
    confidence: str
    note: str

    @property
    def value(self) -> Decimal:
        """The figure of the column ``value``."""
        return self.number("value")

    @property
    def unit(self) -> str:
        """Unit of the column ``value``."""
        return self.units["value"]

    def number(self, column: str) -> Decimal:
        """A figure of the row. Raises TypeError when the column holds text."""
        found = self.columns[column]
        if not isinstance(found, Decimal):
            raise TypeError(f"table {self.table}: column {column} holds text")
        return found

    def text(self, column: str) -> str:
        """A text of the row."""
        return str(self.columns[column])

    def as_limit(self, side: str, what: str, column: str = "value") -> Limit:
        """The figure as a limit to hold a value against."""
        return Limit(
            float(self.number(column)),
            self.units[column],
            side,
            what,
            self.clause,
            self.document,
            f"{self.standard}:{self.edition}",
            self.confidence,
            self.note,
        )


@frozen
class Table:
    """A table as printed: rows found by exact keys or by ranges."""

    id: str
    title: str
    clause: str
    units: Mapping[str, str]
    source: Source
    rows: tuple[Row, ...]
    standard: str
    edition: str

    def look(self, **keys: str | float | Decimal | bool) -> RuleValue:
        """The row that the keys fall in. Raises NoRule when there is none."""
        wanted = {k: _as_key(v) for k, v in keys.items()}
        for row in self.rows:
            if set(row.keys) == set(wanted) and all(_fits(row.keys[k], v) for k, v in wanted.items()):
                return self._value(row)
        asked = ", ".join(f"{k} {v}" for k, v in keys.items())
        raise NoRule(f"{self.standard}:{self.edition}, {self.clause} ({self.title}) has no row for {asked or 'that'}")

    def all(self) -> tuple[RuleValue, ...]:
        """Every row, in printed order, keys included in the columns as text."""
        return tuple(self._value(row) for row in self.rows)

    def keys_of(self, name: str) -> tuple[Key, ...]:
        """The entries of one key column, in printed order, each once."""
        return tuple(dict.fromkeys(row.keys[name] for row in self.rows))

    def _value(self, row: Row) -> RuleValue:
        return RuleValue(
            self.id,
            row.columns,
            self.units,
            self.clause,
            self.source.document,
            self.standard,
            self.edition,
            row.confidence,
            row.note,
        )


def _as_key(value: str | float | Decimal | bool) -> str | Decimal | bool:
    if isinstance(value, (str, bool, Decimal)):
        return value
    return Decimal(str(value))


def _fits(key: Key, value: str | Decimal | bool) -> bool:
    if isinstance(key, Range):
        return isinstance(value, Decimal) and key.holds(value)
    return type(key) is type(value) and key == value


@frozen
class Edition:
    """One edition of a standard with the days on which it may be used.

    may_be_used_from  first day;  in_force  from then on it is the one to use unless another is chosen
    withdrawn         first day on which it may no longer be used; None: open
    reviewed_until    last day for which the data claim to know what is in force
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
    fetch: Callable[[str], Table]

    def open_on(self, day: dt.date) -> bool:
        """Whether the edition may be used for an inspection on that day."""
        return self.may_be_used_from <= day and (self.withdrawn is None or day < self.withdrawn)

    def table(self, table_id: str) -> Table:
        """A table of this edition, its own or shared by reference. Raises NoRule when it has none of that id."""
        if table_id not in self.tables:
            raise NoRule(f"{self.standard}:{self.edition} has no table '{table_id}' in the data")
        return self.fetch(table_id)
