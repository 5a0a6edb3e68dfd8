"""Photographs and sketches in print: numbered in the order they were taken in, each with its day, beside what it was taken of.

The record names each by the hash of its file. The file goes into the PDF byte for byte as the picture on the page, so whoever
has the document alone can hold it against that hash and print the page again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

from ..base.days import day
from ..base.jpeg import size_of, unfit
from ..outcomes.assessment import Assessment
from ..site.events import ORIGIN
from ..site.pictures import Picture
from ..site.visit import moment_of
from .kinds import BY_NAME, CLOSING

Held = Mapping[str, bytes | str]  # the files at hand by their hash, or why there is none: one of :data:`REASONS`
NOT_THERE = "Its file is not at hand."
CHANGED = "The file at hand is not the one that was taken in: it was changed."
NOT_READY = "It is not printed: its file was not made ready (smaller, without place and device)."
REASONS = (NOT_THERE, CHANGED, NOT_READY)


def photographs(a: Assessment, document: str, held: Held) -> list[dict[str, object]]:
    """What a document prints of each photograph; ``missing`` says why there is no picture where its file cannot be printed."""
    if not BY_NAME[document].photos:
        return []
    shown = [p for p in a.visit.paperwork.pictures if document != CLOSING or p.of.startswith("observation ")]
    numbers = {p: n for n, p in enumerate(a.visit.paperwork.pictures, 1)}
    return [
        {
            "number": f"{'Sketch' if p.sketch else 'Photo'} {numbers[p]}",
            "of": p.of,
            "title": _title(a, p.of),
            "caption": p.caption,
            "day": _day(p.taken),
            "file": _file(numbers[p]),
            "sketch": bool(p.sketch),
            "upright": not missing(p, held) and _upright(held[p.hash]),
            "missing": missing(p, held),
        }
        for p in shown
    ]


def missing(picture: Picture, held: Held) -> str:
    """Why a photograph cannot be printed, in words; empty if it can."""
    content = held.get(picture.hash, NOT_THERE)
    if isinstance(content, str):
        return content
    if hashlib.sha256(content).hexdigest() != picture.hash:
        return CHANGED
    return NOT_READY if unfit(content) else ""


def files(a: Assessment, page: Mapping[str, Any], held: Held) -> dict[str, bytes]:
    """The pictures that a page shows, by the names it gives them."""
    shown = {p["file"] for p in page["photos"] if not p["missing"]}
    every = {_file(n): held.get(p.hash) for n, p in enumerate(a.visit.paperwork.pictures, 1)}
    return {name: content for name, content in every.items() if name in shown and isinstance(content, bytes)}


def hashes(a: Assessment) -> dict[str, str]:
    """The hash of each picture by the name that a page gives it."""
    return {_file(n): p.hash for n, p in enumerate(a.visit.paperwork.pictures, 1)}


def _file(number: int) -> str:
    return f"photo-{number}.jpg"


def _upright(content: bytes | str) -> bool:
    width, height = size_of(content) if isinstance(content, bytes) else (0, 0)
    return height > width


def _day(taken: str) -> str:
    moment = moment_of(taken)
    return day(moment.date()) if moment else taken


def _title(a: Assessment, of: str) -> str:
    """What a photograph was taken of, in words; the place where it was of nothing that is entered."""
    kind, _, name = of.partition(" ")
    v = a.visit
    if kind == "observation" and any(o.id == name for o in v.paperwork.observations):
        return f"Observation {name}"
    titles = {f"bond {b.bond.id}": f"Bond to the {b.part.title}" for b in a.bonds}
    titles |= {f"part {p.id}": p.title for p in v.site.parts} | {ORIGIN: "Origin"}
    titles |= {f"electrode {e.id}": e.where or f"Electrode {e.id}" for e in v.site.electrodes}
    titles |= {f"board {b.id}": b.name or f"Board {b.id}" for b in v.site.boards}
    titles |= {f"circuit {c.id}": f"Circuit {c.id}" + (f", {c.name}" if c.name else "") for c in v.site.circuits}
    said = titles.get(of, "The place")
    return said[:1].upper() + said[1:]
