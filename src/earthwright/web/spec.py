"""One field of a form: its key in the visit book, its kind of value, what may be chosen."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import evolve, field, frozen

from ..site.circuit import NONE
from ..site.fields import FIRST, NEVER, THEN, Field, Kind, entered
from .words import say_or

_KINDS = {
    Kind.AREA: "area",
    Kind.FLAG: "flag",
    Kind.DATE: "date",
    Kind.NAMES: "list",
    Kind.POINTS: "list",
    Kind.PAIR: "pair",
}


@frozen
class Spec:
    """One field.

    key      key of the visit book; a dotted one stands in a table of its own (``continuity.pct``)
    kind     text, area, date, flag (yes or no), list (one on each line), pair (two of the places there are)
    choices  words to choose from; empty for free text;  more  shown only when asked for
    says     what choices mean that are codes;  group  name of the heading it stands under among what is asked for;  chips  choices side by side, one tap
    client  whether it belongs to the client
    puts     words to begin with, put in by a tap;  said, said_short  its label as declared; another language says it in its own catalogue
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
    puts: tuple[str, ...] = ()
    said: str = ""
    said_short: str = ""
    client: bool = False

    def label(self, table: str) -> str:
        """Its label."""
        parts = self.key.split(".")
        if len(parts) == 3:  # a row of a list: ``then.0.on`` is labelled ``then.on``, with its number
            return say_or(f"label.{parts[0]}.{parts[2]}", parts[2]).format(number=int(parts[1]) + 1)
        return say_or(f"label.{table}.{self.key}", "") or self.said

    def short(self, table: str) -> str:
        """Its label below the heading of its group."""
        return say_or(f"label.short.{table}.{self.key}", "") or self.said_short or self.label(table)

    def word(self, code: str) -> str:
        """A choice in words; a code stands before its meaning."""
        meaning = self.says.get(code)
        if meaning is None:
            return say_or(f"choice.{code}", code) if code in self.choices else code
        return meaning if meaning.startswith(("type ", code)) else f"{code}: {meaning}"


def specs_for(kind: type) -> tuple[Spec, ...]:
    """The fields of a form as they are declared on a class: what is asked at once, then the rest, group by group."""
    specs = [(f.ask, spec) for f in entered(kind) if f.ask is not NEVER for spec in _specs(f)]
    groups = list(dict.fromkeys(spec.group for _, spec in specs))
    specs.sort(key=lambda x: (x[0].value, groups.index("") - 1 if not x[1].group else groups.index(x[1].group)))
    return tuple(spec for _, spec in specs)


def _specs(f: Field) -> list[Spec]:
    if f.kind is not Kind.TABLE:
        return [_spec(f)]
    inside = {x.key: x for x in entered(f.of)}
    found = []
    for key in f.only or inside:
        spec = _spec(evolve(inside[key], group=f.group))
        said = f"{f.label}, {_lower(inside[key].short or inside[key].label)}"
        choices = tuple(c for c in spec.choices if c != NONE)  # such a table is there because there is one
        found.append(evolve(spec, key=f"{f.key}.{key}", said=said, choices=choices, more=True))
    return found


def _spec(f: Field) -> Spec:
    short = (f.short or f.label if f.group else f.label) + (f": {f.hint}" if f.hint else "")
    more, unit, kind = f.ask not in (FIRST, THEN), "" if f.unit == "1" else f.unit, _KINDS.get(f.kind, "text")
    return Spec(f.key, kind, unit, f.choices, more, f.start, f.says, f.group, f.chips, f.puts, f.label, short, f.client)


def _lower(text: str) -> str:
    return text if text[:2].isupper() else text[:1].lower() + text[1:]
