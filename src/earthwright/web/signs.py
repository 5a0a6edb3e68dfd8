"""The drawn signs beside each word: the same ones as on the earth map, so that colour is never needed."""

from __future__ import annotations

from markupsafe import Markup

PATHS = {
    "proved": "M2 8 H50 M2 14 H50",
    "open": "M2 11 H20 M20 4 V18 M32 4 V18 M32 11 H50",
    "impaired": "M2 11 H50 M16 17 l5 -12 M23 17 l5 -12 M30 17 l5 -12",
    "not shown": "M2 11 H11 M17 11 H26 M32 11 H41 M47 11 H50",
    "meets": "M8 11 l8 7 l18 -16",
    "fails": "M14 3 l18 16 M32 3 l-18 16",
    "not decided": "M2 11 H11 M17 11 H26 M32 11 H41 M47 11 H50",
    "no rule": "M14 11 H36",
    "warn": "M26 2 L44 20 H8 Z M26 9 V14 M26 16.5 V18.5",
    "off": "M2 11 H18 M18 4 V18 M26 18 L46 4",
}
TONES = {
    "proved": "good", "meets": "good", "open": "bad", "impaired": "bad", "disproved": "bad", "fails": "bad",
    "not shown": "open", "not decided": "open", "warn": "open", "off": "bad",
}  # fmt: skip


def sign(word: str, named: str = "") -> Markup:
    """The sign of a verdict as SVG, hidden from screen readers because the word stands beside it."""
    key = named if word == "disproved" and named in PATHS else "open" if word == "disproved" else word
    d = PATHS.get(key, PATHS["no rule"])
    return Markup(
        '<svg class="sign" viewBox="0 0 52 22" aria-hidden="true" focusable="false"><path d="{}"/></svg>'
    ).format(d)


def tone(word: str) -> str:
    """The colour class that goes with a word; empty for a neutral one."""
    return TONES.get(word, "")
