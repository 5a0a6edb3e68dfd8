"""An answer in words: codes, numbers and days turned back into what a person reads; homes by their place where it is known."""

from __future__ import annotations

import datetime as dt
from typing import Any

from attrs import frozen

from ..base.oneline import one_line
from .engines import POLARS, Frames, rows_of
from .questions import Asked, Question
from .store import Store
from .tables import CODE, KEY, MILLI


@frozen
class Answer:
    """The answer to a question. ``raw``: as worked out;  ``rows``: the same in words, in the order of the columns."""

    question: Question
    head: tuple[str, ...]
    raw: list[tuple[Any, ...]]
    rows: list[tuple[str, ...]]


def answer(store: Store, question: Question, asked: Asked, *, engine: str = POLARS, session: Any = None) -> Answer:
    """Ask, and say it in words. A home is named by its place where the list that stands apart is there, else by its number."""
    store.said()
    raw = rows_of(question.ask(Frames(store, engine, session), asked).select(*question.columns))
    words, places = store.words(), dict(store.names().select("home", "place").iter_rows())
    kinds = list(question.columns.items())

    def said(name: str, kind: str, value: Any) -> str:
        if value is None:
            return "–"
        if kind == CODE:
            return words.get(value, str(value))
        if name == "home":
            return one_line(places.get(value, "")) or number(value)
        if kind == KEY:
            return number(value)
        if kind == MILLI:
            return f"{value / 1000:g}"
        return value.isoformat() if isinstance(value, dt.date) else str(value)

    rows = [tuple(said(n, k, v) for (n, k), v in zip(kinds, row, strict=True)) for row in raw]
    return Answer(question, tuple(question.columns), raw, rows)


def number(key: int) -> str:
    """A keyed number as it stands in the tables."""
    return str(key)


def as_csv(found: Answer) -> str:
    """The answer as CSV with a line of heads; a cell that a spreadsheet would take for a formula stays text."""
    from ..records.cells import table

    return table(list(found.head), found.rows)
