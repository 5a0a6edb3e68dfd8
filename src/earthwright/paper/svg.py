"""A small SVG writer: elements as text, everything from outside escaped."""

from __future__ import annotations

from typing import Any
from xml.sax.saxutils import escape, quoteattr

# Characters that no XML text may hold, however they are written.
_FORBIDDEN = dict.fromkeys((*range(9), 11, 12, *range(14, 32), 65534, 65535), "�")


def clean(text: str) -> str:
    """Text that may stand in XML, escaped."""
    return escape(text.translate(_FORBIDDEN))


def tag(name: str, inner: str = "", **attributes: object) -> str:
    """One element; ``class_`` and ``stroke_width`` become ``class`` and ``stroke-width``."""
    written = "".join(
        f" {key.rstrip('_').replace('_', '-')}={quoteattr(_number(value).translate(_FORBIDDEN))}"
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{written}>{inner}</{name}>" if inner else f"<{name}{written}/>"


def _number(value: object) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def text(x: float, y: float, content: str, **attributes: Any) -> str:
    """A line of text at its baseline."""
    return tag("text", clean(content), x=x, y=y, **attributes)


def line(x1: float, y1: float, x2: float, y2: float, **attributes: Any) -> str:
    """A straight line."""
    return tag("line", x1=x1, y1=y1, x2=x2, y2=y2, **attributes)


def path(d: str, **attributes: Any) -> str:
    """A path, not filled unless told otherwise."""
    return tag("path", d=d, **{"fill": "none", **attributes})


def wrap(content: str, width: int, most: int) -> list[str]:
    """Words broken into at most ``most`` lines of ``width`` characters; the last ends in … when something was cut."""
    lines: list[str] = []
    for word in content.split():
        while len(word) > width:
            if lines and len(lines[-1]) < width - 3:
                room = width - len(lines[-1]) - 1
                lines[-1] += " " + word[:room]
                word = word[room:]
            else:
                lines.append(word[:width])
                word = word[width:]
        if lines and len(lines[-1]) + 1 + len(word) <= width:
            lines[-1] += " " + word
        elif word:
            lines.append(word)
    if len(lines) > most:
        lines = lines[:most]
        lines[-1] = lines[-1][: width - 1].rstrip() + "…"
    return lines
