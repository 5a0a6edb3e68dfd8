"""One field of a form: its key in the visit book, its kind of value, what may be chosen."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import field, frozen

from ..site.codes import LIVE, live_words
from .words import say_or

LIVE_SAID = {code: live_words(code) for code in LIVE}


@frozen
class Spec:
    """One field.

    key      key of the visit book; a dotted one stands in a table of its own (``continuity.pct``)
    kind     text, area, date, flag (yes or no), list (one on each line), pair (two of the places there are)
    choices  words to choose from; empty for free text;  more  shown only when asked for
    says     what choices mean that are codes;  group  name of the heading it stands under among what is asked for;  chips  choices side by side, one tap
    """

    key: str
    kind: str = "text"
    unit: str = ""
    choices: tuple[str, ...] = ()
    more: bool = False
    start: str = ""
    says: Mapping[str, str] = field(factory=dict, hash=False)
    group: str = ""
    chips: bool = False

    def label(self, table: str) -> str:
        """Its label."""
        parts = self.key.split(".")
        if len(parts) == 3:  # a row of a list: ``then.0.on`` is labelled ``then.on``, with its number
            return say_or(f"label.{parts[0]}.{parts[2]}", parts[2]).format(number=int(parts[1]) + 1)
        return say_or(f"label.{table}.{self.key}", "") or say_or(f"label.{self.key}", self.key)

    def short(self, table: str) -> str:
        """Its label below the heading of its group."""
        return say_or(f"label.short.{table}.{self.key}", "") or self.label(table)

    def word(self, code: str) -> str:
        """A choice in words; a code stands before its meaning."""
        meaning = self.says.get(code)
        if meaning is None:
            return say_or(f"choice.{code}", code) if code in self.choices else code
        return meaning if meaning.startswith(("type ", code)) else f"{code}: {meaning}"
