"""What two people wrote without knowing of each other, in journals that go together: shown with all values until one is chosen.

Who knew what follows from the order in which each device kept its own events and received those of others
(:meth:`~.event.Kept.knew`), not from anybody's clock. Until somebody who knows all of it writes which one stands, the entry
goes to the reader with a mark that nothing can be judged by: neither value counts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from attrs import frozen

from ..visitbook.fields import CONFLICT
from .event import CORRECT, STRIKE, Kept
from .json_values import ordered

CLOCK = "clock"
OUT = "taken out"
# Ends of another circuit that change nothing at the earth of what is read.
APART = ("line", "neutral", "device", "loads")
Values = Mapping[str, Any]


@frozen
class Rivals:
    """Changes of one entry, none of which knew of the others, and all of them put together.

    said  key by key; where two changed one key to different ends it is a mark with both values
    """

    each: tuple[Kept, ...]
    said: dict[str, Any]

    @property
    def clash(self) -> bool:
        """Whether one has to be chosen: a key has two values, or one took out what another kept."""
        return CONFLICT in self.said or any(is_mark(v) for v in self.said.values())

    @property
    def shown(self) -> dict[str, Any]:
        """The entry as a form begins with it: for a key with two values the one that came last."""
        last: Values = next((c.body["body"] for c in reversed(self.each) if c.kind == CORRECT), {})
        plain = {k: last.get(k) if is_mark(v) else v for k, v in self.said.items() if k != CONFLICT}
        return {k: v for k, v in plain.items() if v is not None}


def rivals_of(events: Sequence[Kept], struck: Mapping[str, Kept]) -> dict[str, Rivals]:
    """Of each entry that several changed unknown to each other, and not all to the same: those changes."""
    if not several(events):
        return {}
    changes: dict[str, list[Kept]] = {}
    for e in events:
        if e.kind in (CORRECT, STRIKE) and e.id not in struck:
            changes.setdefault(e.about, []).append(e)
    named = {e.id: e for e in events}
    found = {}
    for about, each in changes.items():
        last = tuple(c for c in each if not any(later.knew(c) for later in each))
        if len({_outcome(c) for c in last}) > 1 and about in named:
            known = [c for c in each if c.kind == CORRECT and all(x.knew(c) for x in last)]
            before = ordered(_body(known[-1] if known else named[about]))
            kept = [ordered(c.body["body"]) for c in last if c.kind == CORRECT]
            out = {CONFLICT: [OUT, "kept"]} if len(kept) < len(last) else {}
            found[about] = Rivals(last, {**_put_together(before, kept), **out})
    return found


def is_mark(value: object) -> bool:
    """Whether a value is a mark with the values of a conflict."""
    return isinstance(value, dict) and set(value) == {CONFLICT}


def several(events: Sequence[Kept]) -> bool:
    """Whether more than one device wrote to a visit."""
    return len({e.device for e in events}) > 1


def _outcome(change: Kept) -> str:
    return OUT if change.kind == STRIKE else repr(_sorted(change.body["body"]))


def _sorted(value: Any) -> Any:
    return sorted((k, _sorted(v)) for k, v in value.items()) if isinstance(value, dict) else str(value)


def mark_of(said: Values) -> list[str]:
    """The keys with the values of a conflict."""
    return [k for k, v in said.items() if is_mark(v)]


def mixed(
    events: Sequence[Kept], struck: Mapping[str, Kept], corrected: Mapping[str, Kept]
) -> dict[str, tuple[Kept, ...]]:
    """Of each reading: what others took off or put back while neither device knew of the other.

    Whether it was off at that moment nobody wrote down. Once somebody who knows of both keeps the reading, it stands.
    """
    if not several(events):
        return {}
    steps = [e for e in events if e.kind == "step" and e.id not in struck]
    said = {e.id: corrected.get(e.id, e) for e in steps}
    moves = [e for e in steps if _ends(_body(said[e.id])) or _body(said[e.id]).get("isolated")]
    found = {}
    for e in steps:
        latest, body = said[e.id], _body(said[e.id])
        if "read" in body or "tests" in body:
            off = tuple(
                m
                for m in moves
                if m.device != e.device and not latest.knew(m) and not m.knew(e) and _matters(_body(said[m.id]), body)
            )
            if off:
                found[e.id] = off
    return found


def _body(event: Kept) -> Values:
    return event.body["body"] if event.kind == CORRECT else event.body


def _ends(body: Values) -> list[str]:
    each = [v if isinstance(v, list) else [v] for v in (body.get("off"), body.get("on")) if v]
    return [str(name) for names in each for name in names]


def _matters(move: Values, reading: Values) -> bool:
    """Whether what was moved can be seen in a reading: not the live ends of a circuit that it is not of."""
    of = {str(v) for k in ("of", "bond", "circuit") for v in _each(reading.get(k))}
    return bool(move.get("isolated")) or any(
        name.partition(":")[2] not in APART or name.partition(":")[0] in of or not of for name in _ends(move)
    )


def _each(value: object) -> list[object]:
    return value if isinstance(value, list) else [] if value is None else [value]


def clocks(events: Sequence[Kept]) -> dict[str, str]:
    """Whose clock the times of each device are of: nothing for the first to write to a visit, numbers for the others."""
    devices = dict.fromkeys(e.device for e in events)
    return {device: str(n) for n, device in enumerate(devices, 1) if n > 1}


def for_reader(event: Kept, body: Values, off: Sequence[Kept], watch: Mapping[str, str]) -> dict[str, Any]:
    """The entry as it is judged: whose clock its time is of, and what others had off, or not, while it was read."""
    found = dict(body)
    if event.device in watch and "at" in found:
        found[CLOCK] = watch[event.device]
    if off:
        ends = dict.fromkeys(end for m in off for end in _ends(_body(m)) or [f"supply {_body(m).get('isolated')}"])
        found[CONFLICT] = [*found.get(CONFLICT, ()), *(f"{end} off or not" for end in ends)]
    return found


def _put_together(before: Values, each: Sequence[Values]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key in dict.fromkeys(k for body in (*each, before) for k in body):
        changed = {repr(b.get(key)): b.get(key) for b in each if b.get(key) != before.get(key)}
        if len(changed) > 1:
            found[key] = {CONFLICT: [text_of(v) for v in changed.values()]}
        else:
            found[key] = next(iter(changed.values())) if changed else before.get(key)
    return {k: v for k, v in found.items() if v is not None}


def together(first: Values, second: Values, one: Kept, other: Kept) -> Values:
    """A table that a visit has once, entered twice: the first counts, unless neither knew of the other."""
    if one.knew(other) or other.knew(one):
        return first
    differ = {k: {CONFLICT: [text_of(first[k]), text_of(v)]} for k, v in second.items() if k in first and first[k] != v}
    return {**second, **first, **differ}


def text_of(value: Any) -> str:
    """A value of an entry in words."""
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        marked = len(value) == 1 and next(iter(value)) in ("number", "date", "time", "text")
        return str(next(iter(value.values()))) if marked else "; ".join(f"{k} {text_of(v)}" for k, v in value.items())
    return ", ".join(map(text_of, value)) if isinstance(value, (list, tuple)) else str(value)
