"""Text from outside as one printable line: what a file, a form, a table or a file name says can never fake a line of ours.

A line break in a name would print a second line under it, an escape sequence would move the cursor over a verdict, a
right-to-left override would turn it round. Every door through which text enters uses :func:`one_line` and nothing else.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping

_MOST_MARKS = 2  # accents on one letter; more of them climb over the lines above and below
# Letters by their class, and yet nothing can be seen of them.
_BLANK = "\u115f\u1160\u2800\u3164\uffa0"
# Blanks of that kind and accents that stand by themselves: only a text with one of them has to be looked at letter by letter.
_ODD = re.compile(f"[{_BLANK}\u0300-\u036f\u1ab0-\u1aff\u1dc0-\u1dff\u20d0-\u20ff\ufe20-\ufe2f]")


def one_line(text: str) -> str:
    """The text as a single line of characters that can be seen: breaks and odd blanks become a blank, hidden marks go."""
    if text.isprintable() and not _ODD.search(text):
        return text
    kept: list[str] = []
    marks = 0
    for char in text:
        marks = marks + 1 if unicodedata.combining(char) else 0
        if char.isspace() or char in _BLANK:
            kept.append(" ")
        elif char.isprintable() and marks <= _MOST_MARKS:
            kept.append(char)
    line = "".join(kept)
    # Blanks are drawn together only where a break was: a text that needed no mending stays as it was typed.
    return line if line == text else " ".join(line.split())


def hides(text: str) -> bool:
    """Whether a text holds marks that cannot be seen and are no blank or break, such as escape sequences."""
    return not (text.isprintable() or all(c.isprintable() or c.isspace() for c in text))


def cleaned(value: object) -> object:
    """A value of a table with every text in it as one line; tables and lists too. Two keys never become one."""
    if isinstance(value, str):
        return one_line(value)
    if isinstance(value, list):
        return [cleaned(x) for x in value]
    if isinstance(value, Mapping):
        keys = [one_line(str(k)) for k in value]
        return {
            (str(k) if keys.count(line) > 1 else line): cleaned(v)
            for line, (k, v) in zip(keys, value.items(), strict=True)
        }
    return value
