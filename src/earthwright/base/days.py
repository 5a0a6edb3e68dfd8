"""Dates as people write them."""

from __future__ import annotations

import datetime as dt
import re

ISO = re.compile(r"(?<![\w-])(\d{4}-\d\d-\d\d)(?:T(\d\d:\d\d)(?::\d\d)?(?:[+-]\d\d:\d\d|Z)?)?(?![\w-])")


def day(value: dt.date | None) -> str:
    """A date as printed, e.g. ``20 November 2026``; blank for none."""
    return "" if value is None else f"{value.day} {value:%B} {value.year}"


def in_words(text: str) -> str:
    """A text with its dates (and times of a date) written out: ``2026-11-23T17:05`` is 23 November 2026, 17:05."""

    def said(found: re.Match[str]) -> str:
        try:
            written = day(dt.date.fromisoformat(found[1]))
        except ValueError:  # digits in the form of a date that are none
            return found[0]
        return f"{written}, {found[2]}" if found[2] else written

    return ISO.sub(said, text)


def moment(at: str) -> str:
    """A moment as people write it; as typed where it is none."""
    try:
        found = dt.datetime.fromisoformat(at)
    except ValueError:
        return at
    return f"{day(found)}, {found:%H:%M}"


def years_on(day: dt.date, years: int) -> dt.date:
    """The same day so many years later; 28 February for the 29th, and no later than the last day there is."""
    if day.year + years > dt.MAXYEAR:
        return dt.date.max
    try:
        return day.replace(year=day.year + years)
    except ValueError:  # 29 February
        return dt.date(day.year + years, 2, 28)
