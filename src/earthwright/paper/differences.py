"""Where two records differ: every difference once, with both values, what was entered before what follows from it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

from attrs import frozen

from .attachments import printable_line

DEEPEST = 60
_NAMES = ("id", "of", "test", "point", "part", "bond", "seq", "item", "role", "name", "what", "where", "title")
_VERDICTS = {"verdict", "named", "outcome", "proposed"}
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
_NOTHING = object()


@frozen
class Difference:
    """One value that is not the same: where it stands, what the record says, what the readings lead to.

    rank  0 it was entered;  1 it is a verdict;  2 it follows from others (a sum, a sentence)
    """

    where: str
    before: str
    now: str
    rank: int

    @property
    def words(self) -> str:
        """The difference as a clause of a sentence."""
        return f"{self.where}: {self.before} in the record, {self.now} from the readings"


def differences(record: object, again: object) -> list[Difference]:
    """All differences between a record and the one its readings lead to, both as JSON."""
    found: dict[tuple[str, str, str], Difference] = {}
    for place, before, now in _walk((), record, again):
        d = Difference(_said(place), _value(before), _value(now), _rank(place))
        # One entry stands in a record more than once; the same change to the same thing is one difference.
        found.setdefault((d.where, d.before, d.now), d)
    return sorted(found.values(), key=lambda d: d.rank)


def _walk(place: tuple[str, ...], a: Any, b: Any) -> Iterator[tuple[tuple[str, ...], Any, Any]]:
    if _digits(a) != _digits(b):
        yield place, _digits(a), _digits(b)
    elif isinstance(a, dict) and isinstance(b, dict) and len(place) < DEEPEST:
        for key in dict.fromkeys((*a, *b)):
            yield from _walk((*place, key), a.get(key, _NOTHING), b.get(key, _NOTHING))
    elif isinstance(a, list) and isinstance(b, list) and len(place) < DEEPEST:
        mine, theirs = _labelled(a), _labelled(b)
        for label in dict.fromkeys((*mine, *theirs)):
            yield from _walk((*place, label), mine.get(label, _NOTHING), theirs.get(label, _NOTHING))
    elif type(a) is not type(b) or a != b:
        yield place, a, b


def _digits(value: Any) -> object:
    """What a display showed, as typed; nothing for any other value."""
    return value.get("text") if isinstance(value, dict) and value.get("is") == "Shown" else None


def _labelled(values: list[Any]) -> dict[str, Any]:
    """The values of a list by what they are about; two about the same thing are numbered in their order."""
    return dict(numbered((_label(v), v) for v in values))


def numbered(pairs: Iterable[tuple[str, Any]]) -> Iterator[tuple[str, Any]]:
    """The pairs with names that are taken already told apart by their number: two readings of one thing are two."""
    taken: dict[str, int] = {}
    for name, value in pairs:
        taken[name] = taken.get(name, 0) + 1
        yield (name if taken[name] == 1 else f"{name} ({taken[name]})"), value


def _label(value: Any) -> str:
    if not isinstance(value, dict):
        return "*"
    inner = next(
        (v for k, v in value.items() if k in ("bond", "circuit", "board", "reading") and isinstance(v, dict)), {}
    )
    named = [str(v) for k in _NAMES for v in (value.get(k, inner.get(k)),) if isinstance(v, (str, int)) and v != ""]
    kind = _CAMEL.sub(" ", str(value.get("is") or "")[:40]).lower().removesuffix(" judged")
    return "*" + " ".join([kind, *dict.fromkeys(named[:4])]).strip()


def _rank(place: tuple[str, ...]) -> int:
    if place[:1] == ("visit",) and place[-1] != "content":
        return 0
    return 1 if place and place[-1] in _VERDICTS else 2


def _said(place: tuple[str, ...]) -> str:
    """The place in a few words: the innermost named thing, and the way from there."""
    last = max((i for i, step in enumerate(place) if len(step) > 1 and step[0] == "*"), default=0)
    steps = [s.removeprefix("*").strip() or "entry" for s in place[last:] if s != "visit"]
    return printable_line(", ".join(steps), 160) or "record"


def _value(value: object) -> str:
    if value is _NOTHING:
        return "nothing"
    if isinstance(value, (dict, list)):
        found = value.get("is") if isinstance(value, dict) else None
        shown = value.get("shown") or value.get("verdict") or value.get("outcome") if isinstance(value, dict) else ""
        shown = shown.get("text") if isinstance(shown, dict) else shown
        return printable_line(f"{found or 'entries'} {shown or ''}".strip(), 60)
    plain = {None: "not stated", True: "yes", False: "no"}
    simple = value is None or isinstance(value, bool)
    return printable_line(plain[value] if simple else str(value) or "nothing", 120)  # type: ignore[index]
