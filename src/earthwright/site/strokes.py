"""A signature drawn by finger, stylus or mouse: its strokes, what they may be, and the hash that ties them to what was signed.

A stroke is a text of whole numbers, ``"12 30 14 33"``: x, y, x, y … on a pad of :data:`WIDE` × :data:`HIGH`, y downwards.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Sequence

import attrs

from ..base.limits import STROKE_POINTS, STROKES
from .fields import ERASED

WIDE, HIGH = 300, 100
_STROKE = re.compile(r"\d{1,3} \d{1,3}( \d{1,3} \d{1,3})*", re.ASCII)
ON_PAD = f"whole numbers x y x y …, x from 0 to {WIDE}, y from 0 to {HIGH}"


def points(stroke: str) -> list[tuple[int, int]]:
    """The points of a stroke; none where it is no stroke."""
    if not _STROKE.fullmatch(stroke):
        return []
    numbers = [int(n) for n in stroke.split(" ")]
    found = list(zip(numbers[::2], numbers[1::2], strict=True))
    return found if all(x <= WIDE and y <= HIGH for x, y in found) else []


def wrong_with(strokes: Sequence[str]) -> str:
    """Why these are no strokes of a signature, in words; empty where they are."""
    if STROKES.refuses(len(strokes)):
        return f"Too many strokes: {STROKES.said(len(strokes))}."
    for n, stroke in enumerate(strokes, 1):
        if not points(stroke) and stroke != ERASED:
            return f"Stroke {n} is none."
    count = sum(len(points(s)) for s in strokes)
    if STROKE_POINTS.refuses(count):
        return f"Too much was drawn: {STROKE_POINTS.said(count)}."
    return ""


def binding(act: attrs.AttrsInstance) -> str:
    """SHA-256 over everything that a signature says: who, as what, when, which version, and each point [64 hex digits]."""
    fields = [f.name for f in attrs.fields(type(act)) if f.name != "bound"]
    said = {name: value for name in fields if (value := getattr(act, name))}
    return hashlib.sha256(json.dumps(said, ensure_ascii=False, sort_keys=True).encode("utf-8", "replace")).hexdigest()


def as_svg(strokes: Sequence[str]) -> str:
    """The strokes as a picture; empty where there are none."""
    lines = [points(s) for s in strokes]
    paths = "".join(
        "M" + "L".join(f"{x} {y}" for x, y in (line if len(line) > 1 else line * 2)) for line in lines if line
    )
    if not paths:
        return ""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="-2 -2 {WIDE + 4} {HIGH + 4}" fill="none" stroke="currentColor" '
        f'stroke-width="2" stroke-linecap="round" stroke-linejoin="round"><path d="{paths}"/></svg>'
    )
