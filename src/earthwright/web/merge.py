"""What a form was filled in on, and what came since: what only one touched is put together, what two touched is shown.

Every form holds the head of the chain that its page was made from. From it follows what the form began with, so nothing
needs to be remembered between requests, and a form may be as old as it likes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from ..records.event import CORRECT, STRIKE, Kept
from ..records.replay import EntryNow, entries_of
from ..site.step import OF
from .entrywords import entry_words, event_words
from .forms import Clash, Typed
from .specs import SPECS, specs_of, value_of
from .words import label_of, say
from .work import Opened, plain_body

MINE, THEIRS = "mine", "theirs"
MOST_TOLD = 4  # fields of one correction that are named in a line
# Keys by which a step names the things that it is about; an end such as ``c5:cpc`` is of what stands before the mark.
NAMES = (*OF, "id", "off", "on", "clamp", "look", "repair")


def fields_of(kind: str, body: Mapping[str, object]) -> dict[str, str]:
    """The fields of an entry's form with what stands in them, as texts."""
    if kind in SPECS:
        return {s.key: value_of(s, body) for s in specs_of(kind, body)}
    if kind == "inspected":
        parts = {item: str(said).partition(": ") for item, said in body.items()}
        return {k: v for item, (word, _, note) in parts.items() for k, v in ((item, word), (f"{item}.note", note))}
    return {key: as_typed(value) for key, value in body.items()}


def as_typed(value: object) -> str:
    """What stands under a key as it would be typed."""
    if isinstance(value, dict):
        return "\n".join(f"{k} = {v}" for k, v in value.items())
    return "\n".join(map(str, value)) if isinstance(value, list) else str(value)


def entry_at(found: Opened, entry: EntryNow | None, head: str) -> EntryNow | None:
    """The entry as it stood at a head of the chain; None when it was not there, or the head is none of this visit."""
    if entry is None:
        return None
    events = found.kept.events
    upto = next((n for n, e in enumerate(events) if e.hash == head), -1)
    return next((e for e in entries_of(events[: upto + 1]) if e.id == entry.id), None)


def together(
    found: Opened, entry: EntryNow | None, form: Mapping[str, str], began: Mapping[str, str] | None = None
) -> tuple[dict[str, str], dict[str, Clash]]:
    """A form with what others wrote where it was left alone, and the fields that two wrote differently.

    entry  what the form would change, as it stands now; None when there is nothing yet
    began  what the form began with when it was an empty one; None: the entry as it stood at the form's head
    """
    result = dict(form)
    if entry is None:
        return result, {}
    at_head = entry_at(found, entry, form.get("head", ""))
    seen = fields_of(at_head.kind, plain_body(at_head)) if at_head else {}
    was = seen if began is None else began
    now = fields_of(entry.kind, plain_body(entry))
    shown = form.get("clash", "").split("\n")
    clashes = {}
    for name in (n for n in form if n in now or n in was):
        mine, before, standing = (x.get(name, "").strip() for x in (form, was, now))
        choice = form.get(f"settle.{name}", "")
        if choice == THEIRS or (mine == before and name not in shown):
            result[name] = standing
        elif mine != standing:
            known = seen.get(name, "").strip() if began is None or name in shown else ""
            if standing != known or (name in shown and choice != MINE):
                clashes[name] = Clash(mine, standing, entry.latest.by)
    return result, clashes


def told(found: Opened, event: Kept) -> str:
    """One event in a line; of a correction that reads the same in short, the fields that it changed."""
    entry = found.entry(event.about)
    if event.kind == CORRECT and entry is not None:
        before = next(e for e in entries_of(found.kept.events[: event.seq - 1]) if e.id == entry.id)
        if entry_words(entry.kind, before.body) == (now := entry_words(entry.kind, event.body["body"])):
            old, new = fields_of(entry.kind, before.body), fields_of(entry.kind, event.body["body"])
            changed = [k for k in (*new, *(k for k in old if k not in new)) if old.get(k, "") != new.get(k, "")]
            names = (
                {x.key: x.label(entry.kind) for x in specs_of(entry.kind, entry.body)} if entry.kind in SPECS else {}
            )
            each = (
                f"{names.get(k) or label_of(k, entry.kind)}: {old.get(k) or '–'} → {new.get(k) or '–'}"
                for k in changed[:MOST_TOLD]
            )
            more = say("words.more", count=len(changed) - MOST_TOLD) if len(changed) > MOST_TOLD else ""
            return f"{now}: {'; '.join(each)}{more}"
    return event_words(entry, event)


def only_theirs(form: Mapping[str, str], body: object, before: object) -> bool:
    """Whether a form that was asked which of two values stands ends with what others wrote: nothing is left to write."""
    return bool(form.get("clash")) and body == before


def both(
    form: Mapping[str, str], clashes: Mapping[str, Clash], errors: Mapping[str, tuple[str, ...]] | None = None
) -> Typed:
    """The form with each field that two wrote, and what else is wrong with it; the inspector says which stands."""
    said = {
        name: (say("clash.choose", by=c.by or say("wrong.somebody"), theirs=c.theirs or "–", mine=c.mine or "–"),)
        for name, c in clashes.items()
    }
    wrong = errors or {}
    every = {k: (*said.get(k, ()), *wrong.get(k, ())) for k in (*said, *(k for k in wrong if k not in said))}
    return Typed(form, every, clashes)


def conflict(
    found: Opened, form: Mapping[str, str], bodies: Iterable[Mapping[str, object]]
) -> dict[str, tuple[str, ...]]:
    """What was written about the same things since the form was made; told once, then both may stand."""
    mine = list(bodies)
    said = [
        say("wrong.conflict", by=e.by or say("wrong.somebody"), what=told(found, e))
        for e in found.since(form.get("head", ""))
        if any(_meet(_body(found, e), body) for body in mine)
    ]
    return {"conflict": tuple(dict.fromkeys(said))} if said else {}


def _body(found: Opened, event: Kept) -> Mapping[str, object]:
    """What an event is about: a correction or a strike is about the entry that it names."""
    if event.kind not in (CORRECT, STRIKE):
        return event.body
    entry = found.entry(event.about)
    return entry.event.body if entry else {}


def _meet(theirs: Mapping[str, object], mine: Mapping[str, object]) -> bool:
    """Whether two entries are about one thing; two different tests of it are not."""
    if (
        "read" in theirs
        and "read" in mine
        and any(theirs.get(k, "") != mine.get(k, "") for k in ("read", "between", "method", "point"))
    ):
        return False
    return bool(_things(theirs) & _things(mine))


def _things(body: Mapping[str, object]) -> set[str]:
    named = [str(v) for k in NAMES for v in _each(body.get(k))]
    return {x for name in named for x in (name, name.partition("@")[0], name.partition(":")[0])}


def _each(value: object) -> list[object]:
    return value if isinstance(value, list) else [] if value is None else [value]
