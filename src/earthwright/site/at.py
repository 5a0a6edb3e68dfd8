"""Where something is entered, as values: table, thing, field, or the reading. Its sentence is made from it, and pages follow it."""

from __future__ import annotations

import re
from collections.abc import Iterable

from attrs import evolve, frozen

from ..base.errors import Finding
from .tables import BY_NAME

STEP, SIGN, INSPECTED = "step", "sign", "inspected"
Test = tuple[str, str, str]  # test, between, method or function: the place where a reading is taken


@frozen
class At:
    """The place of an entry.

    table   of the visit book;  id  of the thing, empty for a new one;  key  of the field, dotted where a table stands inside
    test    what is read, of the thing with that id
    new     keys that a new entry begins with: what it is about
    others  other places that would do as well
    """

    table: str
    id: str = ""
    key: str = ""
    test: Test | None = None
    new: tuple[tuple[str, str], ...] = ()
    others: tuple[At, ...] = ()

    def or_at(self, *others: At) -> At:
        """The same place, and others that would do."""
        return evolve(self, others=others)

    @property
    def places(self) -> tuple[At, ...]:
        """Every place that would do, this one first."""
        return (self, *self.others)

    def said(self) -> str:
        """As the visit book has it: ``[report] concealed (or "none")``, ``[[circuit]] c1 device``."""
        return " or ".join(p.as_in_book() for p in self.places)

    def as_in_book(self) -> str:
        """This place alone."""
        if self.table == SIGN:
            return f'earthwright sign VISIT --role "{self.key}"'
        if self.test is not None:
            test, between, method = self.test
            keys = {"read": test, "between": between, "method": method}
            return f"[[step]] {_pairs(keys.items())} of {self.id}"
        known = BY_NAME.get(self.table)
        head = f"[[{self.table}]]" if known is not None and known.many else f"[{self.table}]"
        if self.table == "observation" and self.key == "then":
            return f"[[observation.then]] of {self.id}"
        return " ".join(
            x for x in (head, self.id, ", ".join(x for x in (_pairs(self.new), self.key) if x), self._word()) if x
        )

    def _word(self) -> str:
        """The word that a field of words has ready where there is nothing to say."""
        known = BY_NAME.get(self.table)
        puts = next((f.puts for f in known.fields if f.key == self.key), ()) if known else ()
        return f'(or "{puts[0]}")' if len(puts) == 1 else ""


def _pairs(keys: Iterable[tuple[str, str]]) -> str:
    return ", ".join(f'{k} = "{v}"' for k, v in keys if v)


def field_at(table: str, key: str) -> At:
    """A field of a table that a visit has one of."""
    return At(table, key=key)


def reading_at(of: str, test: str, between: str = "", method: str = "") -> At:
    """A reading of a thing."""
    return At(STEP, of, test=(test, between, method))


def of_finding(f: Finding) -> At:
    """The entry and the field that a finding of the reader names: ``circuit c5: device``, ``step 3: shown``, ``visit``."""
    title, _, keys = f.where.partition(": ")
    table, _, name = title.partition(" ")
    stage = re.sub(r"^then (\d+)", lambda n: f"then.{int(n[1]) - 1}", keys)
    return At(table, name, stage.replace(": ", "."))
