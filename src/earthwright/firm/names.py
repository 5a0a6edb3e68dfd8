"""Nobody acts in another's name: names that the eye takes for one, and what a book, an archive or a device says in whose name."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Mapping, Sequence

from ..records.event import Kept
from ..records.replay import entries_of
from ..site.particulars import AUTHORISED
from .rights import Person

_SAME_TO_THE_EYE = str.maketrans({"0": "o", "1": "l", "i": "l"})


def alike(name: str) -> str:
    """What is left of a name without what the eye passes over: case, accents, points, blanks; o for 0, l for i and 1."""
    plain = unicodedata.normalize("NFKD", name).casefold().translate(_SAME_TO_THE_EYE)
    return "".join(c for c in plain if c.isalnum())


def readable(name: str) -> bool:
    """Whether a name is what it looks like: nothing in it that does not show, and letters of one script."""
    letters = [c for c in unicodedata.normalize("NFKC", name) if unicodedata.category(c) in ("Lu", "Ll", "Lt", "Lo")]
    return name.isprintable() and len({unicodedata.name(c, "?").split()[0] for c in letters}) == 1


def not_theirs(
    person: Person, everybody: Collection[Person], before: Sequence[Kept], after: Sequence[Kept]
) -> tuple[str, str]:
    """What a visit would say in another's name once these events stand, and the entry that says so; empty when nothing.

    before, after  all events of the visit; what stood before is left alone, and so is what was taken out again
    """
    stood = {e.id: e.body for e in entries_of(before) if e.struck is None}
    new = [e for e in entries_of(after) if e.struck is None and stood.get(e.id) != e.body]
    inspectors = {_inspector(b) for b in stood.values()}  # who stood in a heading before may go on standing there
    new = [e for e in new if e.kind != "visit" or _inspector(e.body) not in inspectors]
    found = ((in_name_of_another(person, everybody, e.kind, e.body), e.id) for e in new)
    return next((one for one in found if one[0]), ("", ""))


def _inspector(body: Mapping[str, object]) -> str:
    """Who inspects by an entry, as text: an archive or a device may hold anything in its place."""
    return str(body.get("inspector", ""))


def in_name_of_another(person: Person, everybody: Collection[Person], kind: str, body: Mapping[str, object]) -> str:
    """What an entry says in the name of somebody else, in words; empty when nothing."""
    name = str(body.get({"sign": "name", "visit": "inspector", "step": "by"}.get(kind, ""), "") or "")
    if kind == "sign" and (name != person.name or body.get("role") == AUTHORISED):
        return f"a signature of {name or 'nobody'}, who has to give it at the office"
    if kind == "step" and "override" in body and name not in ("", person.name):
        return f"a gate opened in the name of {name}, who has to sign for it at the office"
    if kind == "visit" and name != person.name and any(alike(p.name) == alike(name) for p in everybody):
        return f"an inspection by {name}, who has to bring it"
    return ""
