"""One table of a visit book, read strictly: every fault becomes a finding with its place, and none hides another."""

from __future__ import annotations

import datetime as dt
import difflib
import math
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from decimal import Decimal

from attrs import evolve

from ..base.digits import Shown, read_shown
from ..base.errors import Finding, Severity
from ..base.oneline import cleaned, hides
from .lines import Lines

LONGEST_TEXT = 2000
CONFLICT = "conflict"  # stands in a table in place of a value: the values that were written unknown to each other
TWO_WROTE = "Two people wrote this without knowing of each other, so nothing rests on it until one is chosen."
_CONTESTED = object()  # fits no kind of value
_PLAIN = re.compile(r"[+-]?[0-9]{1,15}(\.[0-9]{1,15})?")


class Entry:
    """A table being read. Ask for each key once; then :meth:`close` tells which keys were not understood.

    ``broken`` is True as soon as something needed is missing or wrong, and ``bad`` says which keys are: what rests on
    them is reported and never judged; ``twice`` when another entry has the same id.
    ``loose`` is for tables that come from JSON or a form: plain digits in a text are a number there, an ISO date in a
    text is a date, and null is the same as leaving the key out. Nothing else is read more kindly.
    """

    def __init__(
        self,
        table: object,
        name: str,
        number: int,
        title: str,
        lines: Lines,
        file: str,
        findings: list[Finding],
        loose: bool = False,
    ) -> None:
        self._table: dict[str, object] = (
            {str(k): cleaned(v) for k, v in table.items()} if isinstance(table, dict) else {}
        )
        if loose:
            self._table = {k: v for k, v in self._table.items() if v is not None}
        self._loose = loose
        self.table, self._number, self.title = name, number, title
        self._lines, self._file, self._findings = lines, file, findings
        self._asked: list[str] = []
        self.broken = False
        self.twice = False
        self.bad: dict[str, str] = {}
        self._chosen_late: set[str] = set()
        if not isinstance(table, dict):
            self.fault("", "This is not a table of keys.", "a table", short(table))
            return
        self._conflicts()
        for key, value in table.items():
            if isinstance(value, str) and hides(value):
                what = "Marks that cannot be seen were taken out of this text."
                self.fault(str(key), what, "letters, digits and signs", short(value), severity=Severity.WARNING)

    def _conflicts(self) -> None:
        """Take nothing for a value where two people wrote two, unknown to each other, and none was chosen."""
        for key, value in list(self._table.items()):
            values = value if key == CONFLICT else value.get(CONFLICT) if isinstance(value, dict) else None
            if values is None or (key != CONFLICT and len(value) > 1):  # type: ignore[arg-type]
                continue
            said = " or ".join(map(str, values)) if isinstance(values, list) else str(values)
            at = "" if key == CONFLICT else key
            self.fault(at, TWO_WROTE, "one value", said[:200], "Choose on the page of the visit which one stands.")
            self._chosen_late.add(at)
            self._table[key] = _CONTESTED
        self._table.pop(CONFLICT, None)

    def inner(self, key: str) -> Entry:
        """The table that stands under a key of this one; :meth:`take` its faults when it has been read."""
        return Entry(
            self.raw(key),
            f"{self.table}.{key}",
            self._number,
            f"{self.title}: {key}",
            self._lines,
            self._file,
            self._findings,
            self._loose,
        )

    def take(self, inner: Entry) -> None:
        """Close an inner table; this entry is broken if that one is."""
        inner.close()
        self.broken = self.broken or inner.broken
        if inner.bad:
            self.bad.setdefault(inner.table.rpartition(".")[2], next(iter(inner.bad.values())))

    @property
    def loose(self) -> bool:
        """Whether the table comes from JSON or a form, whose keys have no order."""
        return self._loose

    @property
    def line(self) -> int:
        """Line the table begins on, 0 if unknown."""
        return self.line_of("")

    def line_of(self, key: str) -> int:
        """Line a key stands on; the table's own where the key is not found, 0 if unknown."""
        return self._lines.of(self.table, self._number, key)

    def has(self, key: str) -> bool:
        """Whether the key was written."""
        return key in self._table

    def keys(self) -> tuple[str, ...]:
        """The keys as written."""
        return tuple(self._table)

    def raw(self, key: str) -> object:
        """The value as the file gave it, None if it is not there."""
        self._asked.append(key)
        return self._table.get(key)

    def fault(
        self,
        key: str,
        what: str,
        expected: str,
        found: str,
        do: str = "",
        severity: Severity = Severity.ERROR,
    ) -> None:
        """Report a fault of this entry; an error makes the entry broken."""
        if severity is Severity.ERROR:
            self.broken = True
            self.bad.setdefault(key, what)
        if key in self._chosen_late:  # it was told
            return
        where = f"{self.title}: {key}" if key else self.title
        finding = Finding(where, what, severity, "input.entry", self.title, expected, found, do)
        self._findings.append(finding.at(self._file, self.line_of(key)))

    def cell(self, key: str, what: str, expected: str, found: str, do: str = "") -> Finding:
        """Report an error that costs what stands under this key and nothing else of the entry."""
        was = self.broken
        self.fault(key, what, expected, found, do)
        self.broken = was
        return self._findings[-1]

    def cannot(self, key: str, said: Finding) -> Finding:
        """Report a value that cannot be, at its key; it costs itself and no other."""
        where = f"{self.title}: {key}"
        finding = evolve(said, where=where, entry=said.entry or self.title).at(self._file, self.line_of(key))
        self._findings.append(finding)
        return finding

    @contextmanager
    def one_cell(self) -> Iterator[Callable[[], tuple[Finding, ...]]]:
        """What goes wrong inside costs one value of the entry, not the entry; gives the errors that were told there."""
        was, before = self.broken, len(self._findings)
        yield lambda: tuple(f for f in self._findings[before:] if f.severity is Severity.ERROR)
        self.broken = was

    def _typed(
        self,
        key: str,
        need: bool,
        what: str,
        fits: Callable[[object], bool],
        as_typed: Callable[[str], object] | None = None,
    ) -> object:
        value = self.raw(key)
        if self._loose and isinstance(value, str):
            value = as_typed(value) if as_typed else value
        if value is None:
            if need:
                self.fault(key, "This is needed and is missing.", what, "nothing")
            return None
        if not fits(value):
            self.fault(key, "This cannot be read.", what, short(value))
            return None
        return value

    def text(self, key: str, *, need: bool = False, choices: Iterable[str] = (), default: str = "") -> str:
        """A text, stripped; from ``choices`` if there are any."""
        allowed = tuple(choices)
        what = "one of: " + ", ".join(allowed) if allowed else "a text"
        value = self._typed(key, need, what, lambda v: isinstance(v, str))
        if not isinstance(value, str):
            return default
        value = value.strip()
        if need and not value:
            self.fault(key, "This is needed and is empty.", what, "an empty text")
        if allowed and value not in allowed:
            near = difflib.get_close_matches(value, allowed, 1)
            self.fault(
                key,
                "This is not one of the words known here.",
                what,
                value[:80],
                f"Did you mean '{near[0]}'?" if near else "",
            )
            return default
        if len(value) > LONGEST_TEXT:
            self.fault(
                key,
                "This text is too long.",
                f"at most {LONGEST_TEXT} characters",
                f"{len(value)} characters",
            )
            return value[:LONGEST_TEXT]
        return value

    def code(self, key: str, choices: Iterable[str], *, default: str = "") -> str:
        """One of a few codes. One that is all digits may stand without quotes: ``reference = 100``."""
        allowed, value = tuple(choices), self.raw(key)
        if isinstance(value, int) and not isinstance(value, bool) and str(value) in allowed:
            return str(value)
        return self.text(key, choices=allowed, default=default)

    def number(
        self,
        key: str,
        unit: str,
        *,
        need: bool = False,
        above: float | None = None,
        least: float | None = None,
        most: float = 1e9,
    ) -> float | None:
        """A plain number in a stated unit; a truth value, a text or an infinity is refused."""
        low = f", above {above:g}" if above is not None else f", at least {least:g}" if least is not None else ""
        what = f"a number{f' in {unit}' if unit != '1' else ''}{low}"
        value = self._typed(
            key, need, what, lambda v: isinstance(v, (int, float, Decimal)) and not isinstance(v, bool), _plain_number
        )
        if not isinstance(value, (int, float, Decimal)):
            return None
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        good = number == number and abs(number) <= most
        good = good and (above is None or number > above) and (least is None or number >= least)
        if not good:
            self.fault(key, "This number is not possible.", f"{what}, at most {most:g}", short(value))
            return None
        return number

    def whole(self, key: str, choices: Iterable[int], *, default: int) -> int:
        """A whole number out of a few."""
        allowed = tuple(choices)
        what = "one of: " + ", ".join(map(str, allowed))
        value = self._typed(
            key, False, what, lambda v: isinstance(v, int) and not isinstance(v, bool) and v in allowed, _plain_whole
        )
        return value if isinstance(value, int) else default

    def plain(self, value: object) -> float | None:
        """A number inside a list, None when it is none (a truth value, a text, an infinity)."""
        if self._loose and isinstance(value, str):
            value = _plain_number(value)
        if isinstance(value, bool) or not isinstance(value, (int, float, Decimal)):
            return None
        try:
            number = float(value)
        except OverflowError:
            return None
        return number if math.isfinite(number) else None

    def count(self, key: str, least: int, most: int, *, default: int) -> int:
        """A whole number from ``least`` to ``most``."""
        what = f"a whole number from {least} to {most}"
        value = self._typed(key, False, what, lambda v: isinstance(v, int) and not isinstance(v, bool), _plain_whole)
        if not isinstance(value, int):
            return default
        if not least <= value <= most:
            self.fault(key, "This number is not possible.", what, short(value))
            return default
        return value

    def flag(self, key: str) -> bool | None:
        """true or false; None when it is not there."""
        value = self._typed(key, False, "true or false", lambda v: isinstance(v, bool))
        return value if isinstance(value, bool) else None

    def date(self, key: str, *, need: bool = False) -> dt.date | None:
        """A date such as 2026-11-25."""
        value = self._typed(
            key,
            need,
            "a date such as 2026-11-25",
            lambda v: isinstance(v, dt.date) and not isinstance(v, dt.datetime),
            _iso_date,
        )
        return value if isinstance(value, dt.date) else None

    def time(self, key: str) -> str:
        """A time of day such as 10:15:00, or a text in its place."""
        value = self._typed(key, False, "a time such as 10:15:00", lambda v: isinstance(v, (str, dt.time, dt.datetime)))
        if isinstance(value, dt.time):
            return value.strftime("%H:%M")
        if isinstance(value, dt.datetime):
            return value.isoformat(timespec="minutes")
        return str(value).strip() if value is not None else ""

    def names(self, key: str) -> tuple[str, ...]:
        """One name, or a list of names."""
        value = self._typed(
            key,
            False,
            "a name or a list of names",
            lambda v: isinstance(v, str) or (isinstance(v, list) and all(isinstance(x, str) for x in v)),
        )
        if isinstance(value, str):
            return (value.strip(),)
        return tuple(str(x).strip() for x in value) if isinstance(value, list) else ()

    def shown(self, key: str, unit: str, *, need: bool = True, step: Decimal = Decimal("0.01")) -> Shown | None:
        """The digits of a display."""
        value = self.raw(key)
        return None if value is None and not need else self.digits(key, value, unit, step)

    def digits(self, key: str, value: object, unit: str, step: Decimal) -> Shown | None:
        """One display value of a key (a list of repeats is read value by value)."""
        if value is None:
            self.fault(key, "The digits are missing.", f"the digits as shown, in {unit}", "nothing")
            return None
        found, said = read_shown(value, unit, f"{self.title}: {key}", step=step, entry=self.title)
        line = self.line_of(key)
        self._findings.extend(f.at(self._file, line) for f in said)
        if found is None:
            self.broken = True
            self.bad.setdefault(key, said[-1].what)
        return found

    def knows(self, key: str) -> bool:
        """Whether the key is one of this kind of entry."""
        return key in self._asked

    def lost(self, needed: Iterable[str]) -> bool:
        """Whether the entry cannot be kept at all: it stands twice, a needed key is wrong, or one that nobody knows.

        An entry that is not lost is kept without the keys in :attr:`bad`, and what rests on those is not judged.
        """
        strange = [k for k in self.bad if k not in self._asked and not difflib.get_close_matches(k, self._asked, 1)]
        return self.twice or bool(strange) or any(k in self.bad for k in ("", *needed))

    def close(self) -> None:
        """Report the keys that nobody asked for."""
        for key in self._table:
            if key in self._asked:
                continue
            near = difflib.get_close_matches(key, self._asked, 1)
            if near:  # it may have been meant for that key, which then says nothing that counts
                self.bad.setdefault(near[0], "a key that is not known may have been meant for it")
            self.fault(
                key,
                "This key is not known here, so what it says would be lost.",
                "one of: " + ", ".join(dict.fromkeys(self._asked)),
                key[:80],
                f"Did you mean '{near[0]}'?" if near else "Take it out, or put it in a comment or a note.",
            )


def short(value: object) -> str:
    """A value as it is quoted in a finding; what is nested is named by its kind."""
    if isinstance(value, (dict, list)):
        return f"a table of {len(value)} keys" if isinstance(value, dict) else f"a list of {len(value)}"
    text = str(value) if isinstance(value, Decimal) else repr(value)
    return text if len(text) <= 80 else text[:77] + "…"


def _plain_number(text: str) -> object:
    return Decimal(text.strip()) if _PLAIN.fullmatch(text.strip()) else text


def _plain_whole(text: str) -> object:
    return int(text.strip()) if text.strip().isascii() and text.strip().isdigit() and len(text) < 16 else text


def _iso_date(text: str) -> object:
    try:
        return dt.date.fromisoformat(text.strip()) if len(text.strip()) == 10 else text
    except ValueError:
        return text
