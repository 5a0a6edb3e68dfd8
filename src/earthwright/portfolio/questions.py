"""Questions to a portfolio, each an expression written once over lazy frames; whatever engine there is works it out.

Everything compared is a whole number or a day. What comes out are numbers, codes and days; who asks turns them to words.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping

import narwhals.stable.v2 as nw
from attrs import frozen

from .engines import Frame, Frames
from .tables import COUNT, DAY, KEY, code

PROVED = code("proved")


@frozen
class Asked:
    """What a question may need beside the tables. ``today``: the day of asking;  ``by``: the last day that counts."""

    today: dt.date
    by: dt.date


@frozen
class Question:
    """One question: its short name, the sentence, the kind of each column of the answer, and the expression."""

    name: str
    sentence: str
    columns: Mapping[str, str]
    ask: Callable[[Frames, Asked], Frame]


def latest(t: Frames) -> Frame:
    """The last visit to each home: ``home, visit, day``. Of two on one day the one with the larger number."""
    every = t["visit"].select("home", "visit", "day")
    days = every.group_by("home").agg(nw.col("day").max())
    return every.join(days, on=["home", "day"]).group_by("home", "day").agg(nw.col("visit").max())


def _unproved(t: Frames, of: str, *uses: str) -> Frame:
    """Homes whose last visit proves nothing about a conductor of a kind, with how many of them."""
    open_ones = t["verdict"].filter(nw.col("of") == code(of), nw.col("verdict") != PROVED).select("visit", "thing")
    if uses:
        these = t["thing"].filter(nw.col("use").is_in([code(u) for u in uses])).select("visit", "thing")
        open_ones = open_ones.join(these, on=["visit", "thing"])
    found = latest(t).join(open_ones, on="visit").group_by("home", "visit", "day").agg(nw.len().alias("conductors"))
    return found.select("home", "visit", "day", nw.col("conductors").cast(nw.Int64))


HOME = {"home": KEY, "visit": KEY, "day": DAY}

QUESTIONS = {
    q.name: q
    for q in (
        Question(
            "gas-bond",
            "Which homes have a gas bond that no reading proves?",
            {**HOME, "conductors": COUNT},
            lambda t, asked: _unproved(t, "bond", "gas"),
        ),
        Question(
            "cpc",
            "Which homes have a circuit whose protective conductor no reading proves?",
            {**HOME, "conductors": COUNT},
            lambda t, asked: _unproved(t, "cpc"),
        ),
    )
}
