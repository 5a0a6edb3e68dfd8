"""One entry of the journal in a line."""

from __future__ import annotations

from collections.abc import Mapping

from ..records.event import CORRECT, STRIKE, Kept
from ..records.replay import EntryNow
from ..site.step import DOES, OF
from .words import say, say_or, title_of

VERBS = ("off", "on", *(d for d in DOES if d != "tests"))


class _Known(dict[str, str]):
    def __missing__(self, key: str) -> str:
        return "–"


def entry_words(kind: str, body: Mapping[str, object]) -> str:
    """What an entry says, by its kind and its keys."""
    texts = {k: _text(v) for k, v in body.items()}
    if kind != "step":
        return _filled(f"words.{kind}", texts, kind)
    of = next((texts[k] for k in OF if texts.get(k)), "–")
    outcome = texts.get("shown") or texts.get("outcome") or texts.get("absent") or "–"
    read = texts.get("read", "")
    where = (texts.get(k, "") for k in ("between", "method", "point"))
    test = " ".join(x for x in (title_of(read), *where) if x)
    filled = {**texts, "of": of, "test": test, "kind": texts.get("check", ""), "shown": outcome}
    filled["set"] = f" {texts['leads']}" if texts.get("leads") else ""
    return (
        "; ".join(_filled(f"words.{verb}", filled, verb) for verb in VERBS if verb in texts) or texts.get("note") or "–"
    )


def event_words(entry: EntryNow | None, event: Kept) -> str:
    """One event of the journal in a line. ``entry``: what a correction or a strike names."""
    if event.kind not in (CORRECT, STRIKE):
        return entry_words(event.kind, event.body)
    kind, was = (entry.kind, entry_words(entry.kind, entry.event.body)) if entry else ("", "–")
    if event.kind == STRIKE:
        return say("words.struck", what=was)
    return say("words.corrected", what=was, now=entry_words(kind, event.body.get("body", {})))


def _filled(name: str, texts: Mapping[str, str], kind: str) -> str:
    return say_or(name, say("words.other", kind=kind)).format_map(_Known({"kind": kind, **texts}))


def _text(value: object) -> str:
    if isinstance(value, dict):
        return ", ".join(map(_text, value.values()))
    return ", ".join(map(_text, value)) if isinstance(value, list) else str(value)
