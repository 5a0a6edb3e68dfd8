"""An answer in words: codes, numbers and days turned back into what a person reads; homes by their place where it is known."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from typing import Any

from attrs import frozen

from ..base.errors import EarthwrightError
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


BY_DAYS, OLD_YEARS = (
    90,
    5,
)  # what is due is asked for so far ahead; older evidence is called old. Defaults, to be chosen


def asked_on(today: dt.date, by: dt.date | None = None, since: dt.date | None = None) -> Asked:
    """What a question needs beside the tables, with what is usual where nothing was chosen."""
    first_of_march = (today.month, today.day) == (2, 29)
    ago = today.replace(year=today.year - OLD_YEARS, **({"month": 3, "day": 1} if first_of_march else {}))
    return Asked(today, by or today + dt.timedelta(days=BY_DAYS), since or ago)


def frames_for(
    store: Store, question: Question, again: str = "", engine: str = POLARS, session: Any = None
) -> Mapping[str, Any]:
    """The tables that a question is asked of. Raises EarthwrightError where one that it needs is not there."""
    store.said()
    if question.needs == "home" and not store.files("home"):
        raise EarthwrightError("This needs the register of homes: earthwright portfolio build … --homes FILE.csv")
    frames = Frames(store, engine, session)
    if question.needs != "change":
        return frames
    names = store.judged_again
    if not names or (again and again not in names):
        what = f"'{again}' is not among what was judged again ({', '.join(names) or 'nothing yet'})."
        raise EarthwrightError(
            f"{what if again else 'Nothing was judged again yet.'} See: earthwright portfolio judge --help"
        )
    return frames.beside("change", store.again(again or names[0]))


def answer(
    store: Store, question: Question, asked: Asked, *, again: str = "", engine: str = POLARS, session: Any = None
) -> Answer:
    """Ask, and say it in words. A home is named by its place where the list that stands apart is there, else by its number.

    again  the name of the other rules, for a question of what changes. Raises EarthwrightError for a table that is not there.
    """
    frames = frames_for(store, question, again, engine, session)
    raw = rows_of(question.ask(frames, asked).select(*question.columns))
    words, places = store.words(), store.places()
    if question.needs == "change":
        words |= store.again(again or store.judged_again[0]).words()
    words_of = _Words(words, {**places, **store.people()})
    kinds = list(question.columns.items())
    rows = [tuple(words_of.said(n, k, v) for (n, k), v in zip(kinds, row, strict=True)) for row in raw]
    order = sorted(range(len(raw)), key=lambda i: _order(question, raw[i], rows[i]))
    return Answer(question, tuple(question.columns), [raw[i] for i in order], [rows[i] for i in order])


@frozen
class _Words:
    """What the numbers in an answer stand for."""

    codes: Mapping[int, str]
    names: Mapping[int, str]

    def said(self, name: str, kind: str, value: Any) -> str:
        """One value in words."""
        if value is None:
            return "–"
        if kind == CODE:
            return self.codes.get(value, str(value))
        if kind == KEY:
            return one_line(self.names.get(value, "")) or str(value)
        if kind == MILLI:
            return f"{value / 1000:g}"
        return value.isoformat() if isinstance(value, dt.date) else str(value)


def _order(question: Question, raw: tuple[Any, ...], words: tuple[str, ...]) -> tuple[Any, ...]:
    """By the columns that the question names, then by the words; figures in a place sort as figures."""
    names = list(question.columns)
    asked: list[Any] = []
    for name in question.first:
        at = names.index(name.lstrip("-"))
        value: Any = words[at] if question.columns[names[at]] == CODE else raw[at]
        asked.append(
            (value is not None, -value if name.startswith("-") else value) if value is not None else (False, 0)
        )
    plain = [w for n, w in zip(names, words, strict=True) if n != "visit"]
    return (*asked, *([(p.isdigit(), int(p) if p.isdigit() else 0, p) for p in re.split(r"(\d+)", w)] for w in plain))


def as_csv(found: Answer) -> str:
    """The answer as CSV with a line of heads; a cell that a spreadsheet would take for a formula stays text."""
    from ..records.cells import table

    return table(list(found.head), found.rows)
