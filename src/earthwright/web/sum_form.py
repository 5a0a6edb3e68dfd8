"""A single sum as the pages ask for it: its fields, and what comes out. Who works it out is handed in from outside."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from attrs import field, frozen


@frozen
class SumField:
    """One field of a sum.

    choices  words to choose from, empty for digits or text;  many  several values, divided by blanks
    """

    name: str
    label: str
    start: str = ""
    choices: tuple[str, ...] = ()
    needed: bool = False
    many: bool = False


@frozen
class Outcome:
    """What came out: the result, the case, the formula, the source, and every number of it; or what is wrong, by field."""

    result: str = ""
    what: str = ""
    formula: str = ""
    source: str = ""
    numbers: Mapping[str, object] = field(factory=dict)
    errors: Mapping[str, tuple[str, ...]] = field(factory=dict)


@frozen
class SingleSum:
    """One sum: its name in the address, what it works out, its fields, and how to work it out from texts."""

    name: str
    title: str
    fields: tuple[SumField, ...]
    work: Callable[[Mapping[str, str]], Outcome]

    @property
    def names(self) -> dict[str, str]:
        """What each field is called on the page."""
        return {f.name: f.label[:1].upper() + f.label[1:] for f in self.fields}
