"""What can go wrong: exceptions for a caller's mistake, findings for the user's data."""

from __future__ import annotations

from attrs import evolve, field, frozen

from .catalogue import Severity as Severity
from .catalogue import families
from .oneline import one_line


class EarthwrightError(Exception):
    """Parent of every exception this package raises on purpose; its message, which may name files, is one line."""

    def __str__(self) -> str:
        return one_line(super().__str__())


class UnitError(EarthwrightError):
    """Two quantities of different units were put together, or a value came without a unit."""


class RuleDataError(EarthwrightError):
    """Rule data on disk are not fit to be used; the message names file and key, all faults at once, a line for each."""

    def __str__(self) -> str:
        return "\n".join(one_line(line) for line in Exception.__str__(self).split("\n"))


class NoRule(EarthwrightError):
    """No rule in the data covers the case on that date. Shown to the user as the verdict *no rule*."""


class VisitBookError(EarthwrightError):
    """A visit book cannot be read at all (not a text file, not TOML, far too large)."""


@frozen
class Finding:
    """Something the tool says about an entry: where, what, why, and what to do.

    where     place in the visit, e.g. ``bond water, reading 2`` or ``step 7: shown``
    what      one sentence: what was seen
    severity  stop, error, warning or note
    family    stable short name of the check that speaks, e.g. ``leads.offset``
    entry     id of the bond, reading, circuit … concerned, empty when the whole visit is meant
    expected  what was expected there, in words or digits, empty if nothing definite
    found     what stood there
    do        what to do about it
    because   the reason, with innocent explanations first
    file      file the entry stands in, if it came from a file
    line      line in that file, counted from 1, 0 if unknown
    """

    where: str = field(converter=one_line)
    what: str = field(converter=one_line)
    severity: Severity = Severity.WARNING
    family: str = ""
    entry: str = field(default="", converter=one_line)
    expected: str = field(default="", converter=one_line)
    found: str = field(default="", converter=one_line)
    do: str = field(default="", converter=one_line)
    because: str = field(default="", converter=one_line)
    file: str = field(default="", converter=one_line)
    line: int = 0

    @classmethod
    def of(
        cls,
        family: str,
        where: str,
        what: str,
        entry: str = "",
        expected: str = "",
        found: str = "",
        do: str = "",
        because: str = "",
        file: str = "",
        line: int = 0,
    ) -> Finding:
        """A finding as loud as its family is in the catalogue. Raises ValueError for a family that has no one weight."""
        (severity,) = families()[family].weights
        return cls(where, what, severity, family, entry, expected, found, do, because, file, line)

    def at(self, file: str, line: int) -> Finding:
        """The same finding with its place in a file."""
        return evolve(self, file=file, line=line)

    @property
    def of_input(self) -> bool:
        """Whether it speaks of how an entry was read, and not of what it says."""
        return self.family.partition(".")[0] == "input"

    @property
    def not_read(self) -> bool:
        """Whether an entry could not be read: nothing may be issued or signed before it can."""
        return self.of_input and self.severity is Severity.ERROR

    def sentence(self) -> str:
        """The finding in one paragraph of plain text."""
        place = f"{self.file}:{self.line}: " if self.file and self.line else (f"{self.file}: " if self.file else "")
        parts = [f"{place}{self.where}: {self.what}"]
        if self.found:
            parts.append(f"Found: {self.found}.")
        if self.expected:
            parts.append(f"Expected: {self.expected}.")
        if self.because:
            parts.append(self.because)
        if self.do:
            parts.append(self.do)
        return " ".join(parts)
