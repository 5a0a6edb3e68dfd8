"""A document as pages of text for a small screen: every word that its paper prints, part by part, one tap away."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from attrs import frozen

from .words import say_or

# Of a page: not printed, printed elsewhere on its screen, or heads of columns that stand with their rows.
APART = frozenset(
    ("title", "place", "date", "day_said", "year", "month", "day", "hash", "content", "program", "draft", "missing",
     "voided", "network", "details_head", "results_head", "circuit_head", "bond_head", "details_wide", "results_wide", "maps", "map_text", "legend_text", "counts")
)  # fmt: skip
HEADS = {"readings": ("", "", "expected", "", "with"), "codes": ("", "means", "what to do")}
NAMED = ("title", "role", "name", "what", "words")  # what a part of a list is called by
FLAGS = frozenset(("wide", "blank", "coded", "pen", "void", "counts", "hash", "strokes"))


@frozen
class Sheet:
    """One part of a document: sentences, then pairs of a label and what stands there, then its own parts."""

    title: str
    lines: tuple[str, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()
    parts: tuple[Sheet, ...] = ()


def sheets(page: Mapping[str, object]) -> list[Sheet]:
    """The parts of a document in the order of its page; empty ones are left out."""
    return [made for key, value in page.items() if key not in APART and (made := _part(page, key, value))]


def _label(key: str) -> str:
    return say_or(f"sheet.{key}", key.replace("_", " ").capitalize())


def _part(page: Mapping[str, object], key: str, value: object, title: str = "") -> Sheet | None:
    """One value of a page under its heading; None when there is nothing in it."""
    title = title or _label(key)
    if isinstance(value, str):
        return Sheet(title, (value,)) if value else None
    if isinstance(value, Mapping):
        return _of_table(page, value, title)
    if not isinstance(value, Sequence) or not value:
        return None
    if all(isinstance(x, str) for x in value):
        return Sheet(title, tuple(value))
    if all(isinstance(x, Mapping) for x in value):
        if {"label", "value"} <= set(value[0]):
            return Sheet(title, (), tuple((x["label"], x["value"]) for x in value))
        return Sheet(title, (), (), tuple(_of_table(page, x) for x in value))
    return _of_rows(page, key, value, title)


def _of_table(page: Mapping[str, object], table: Mapping[str, Any], title: str = "") -> Sheet:
    """A table of a page: short texts are facts, lists are parts of their own."""
    name = title or " ".join(str(table[k]) for k in ("id", "number", *NAMED) if table.get(k))
    facts = [(_label(k), str(v)) for k, v in table.items() if isinstance(v, str) and v and k not in FLAGS]
    if not title:
        facts = [(k, v) for k, v in facts if v not in name.split(" ") and v not in [table.get(n) for n in NAMED]]
    parts = (_part(page, k, v) for k, v in table.items() if not isinstance(v, str | bool) and k not in FLAGS)
    return Sheet(name, (), tuple(facts), tuple(x for x in parts if x))


def _of_rows(page: Mapping[str, object], key: str, rows: Iterable[Sequence[Any]], title: str) -> Sheet:
    """Rows of columns: pairs as they are, longer ones each as a part named by its first columns."""
    rows = [[str(x) for x in row] for row in rows]
    head = page.get(f"{key}_head")
    if isinstance(head, Sequence):
        named = [(" ".join(r[:2]), list(zip(map(str, head[2:]), r[2:], strict=False))) for r in rows]
        return Sheet(title, (), (), tuple(Sheet(n, (), tuple((k, v) for k, v in f if v)) for n, f in named))
    if all(len(r) == 2 for r in rows):
        return Sheet(title, (), tuple((r[0], r[1]) for r in rows))
    heads = HEADS.get(key, ())
    return Sheet(title, (), tuple((r[0], "; ".join(_with(heads, r))) for r in rows))


def _with(heads: Sequence[str], row: Sequence[str]) -> list[str]:
    """The columns behind the first, each with what it is where a bare word would not say so."""
    named = [(heads[i] if i < len(heads) else "", x) for i, x in enumerate(row) if i and x]
    return [f"{h} {x}" if h else x for h, x in named]
