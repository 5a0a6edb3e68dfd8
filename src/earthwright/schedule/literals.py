"""Cells of the installation turned into values of a visit book, and compared with what it says already."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from contextlib import suppress
from decimal import Decimal

from ..base.errors import Finding
from ..site.stretch import written
from ..visitbook.devices import RCD_KEYS
from ..visitbook.places import place_of
from ..visitbook.write import toml_list, toml_table, toml_text
from .cells import LONGEST, fault, spoilt, wrong_number
from .columns import CURVE, NUMBER, POINTS, TEXT, WHOLE, YES_NO, Column
from .read import Cell
from .write import structure_cell

NONE = "none"
# Texts in which a date, a truth value or powers of ten can only be a spreadsheet's doing.
_NAMES = ("id", "board", "standard", "type", "location", "instrument", "leads")

Refuse = Callable[..., str | None]


def literal(column: Column, cell: Cell, findings: list[Finding], entry: str) -> str | None:
    """The cell as it is written in a visit book; None when it is refused, with a finding that says why."""

    def refuse(what: str, expected: str, do: str = "") -> str | None:
        findings.append(fault(cell.address, column.header, what, expected, cell.text, do, entry))
        return None

    text = cell.text
    if column.kind == TEXT:
        return _text(column, text, refuse)
    if made := spoilt(text):
        return refuse(made, "what is on site, typed again", "Format the column as text.")
    if column.kind == NUMBER:
        if wrong := wrong_number(text):
            return refuse(wrong, f"digits, in {column.unit}")
        return text
    if column.kind == CURVE:
        return _curve(text, refuse)
    if column.kind == POINTS:
        return _points(text, refuse)
    if column.kind == WHOLE and not column.words:
        if not (text.isascii() and text.isdigit() and len(text) < 4):
            return refuse("This is not a whole number.", "digits")
        return str(int(text))
    if text not in column.words:
        near = difflib.get_close_matches(text, column.words, 1)
        do = f"Did you mean '{near[0]}'?" if near else ""
        return refuse("This is not one of the words known here.", "one of: " + ", ".join(column.words), do)
    if column.kind == YES_NO:
        return "true" if text == "yes" else "false"
    return text if column.kind == WHOLE else toml_text(text)


def _text(column: Column, text: str, refuse: Refuse) -> str | None:
    made = spoilt(text)
    if made and (column.key in _NAMES or text.startswith("#")):
        return refuse(made, "what it was before", "Format the column as text and type it again.")
    if text[0] in "=@＝＠":
        return refuse(
            "This begins like a formula.", "the value itself", "Type the value; before a text put an apostrophe."
        )
    if len(text) > LONGEST:
        return refuse("This text is too long.", f"at most {LONGEST} characters")
    return toml_text(text)


def _curve(text: str, refuse: Refuse) -> str | None:
    points = []
    for part in text.split("|"):
        amperes, at, seconds = (x.strip() for x in part.partition(" at "))
        if not at or wrong_number(amperes) or wrong_number(seconds):
            return refuse("These are not points of a curve.", "87 at 5 | 200 at 0.4: amperes at seconds")
        points.append(toml_list((amperes, seconds)))
    return toml_list(points)


def _points(text: str, refuse: Refuse) -> str | None:
    if text.isascii() and text.isdigit():
        return str(int(text)) if len(text) < 4 else refuse("These are too many points.", "at most 200")
    parts = [p.strip() for p in text.split("|")]
    if len(parts) > 1 and not parts[-1]:
        parts.pop()
    named: list[tuple[str, str | None]] = []
    for part in parts:
        name, equals, metres = (x.strip() for x in part.partition("="))
        if equals and (wrong := wrong_number(metres)):
            return refuse(f"The place of '{name[:40]}': {wrong}", "name = metres")
        own = place_of(name)
        named.append((name, metres if equals else structure_number(own)))
        if not name:
            return refuse("A point has no name.", "hall = 12 | loft = 20.5, names only, or how many")
    if len({name for name, _ in named}) != len(named):
        return refuse("Every point has a name of its own.", "different names")
    if all(metres is not None for _, metres in named):
        return toml_table({name: metres or "" for name, metres in named})
    if any("=" in part for part in parts):
        return refuse("Some points have a place and some have none.", "metres for every point, or for none")
    return toml_list([toml_text(name) for name, _ in named])


def structure_number(value: float | None) -> str | None:
    """A number as plain digits, None for none."""
    return None if value is None else format(Decimal(repr(value)).normalize(), "f")


def says_the_same(column: Column, cell: Cell, value: object) -> bool:
    """Whether a cell says what the visit says already; 2.5 and 2.50 are the same size, and ``none`` is none."""
    before, text = structure_cell(column, value), cell.text
    if column.kind in (NUMBER, WHOLE) and before and not wrong_number(text):
        return Decimal(before) == Decimal(text)
    if column.kind == YES_NO:
        return text == ("yes" if value else "no")
    if column.kind in (POINTS, CURVE):
        return _parts(before, column.kind) == _parts(text, column.kind)
    if column.key == "runs":
        with suppress(ValueError):
            text = written(text)
    return before == text or (text == NONE and not before and column.key in RCD_KEYS)


def _parts(text: str, kind: str) -> list[tuple[str, str]]:
    """Points as (name, metres), a curve as (amperes, seconds), equal numbers written the same; a count as one of its own."""
    if kind == POINTS and text.isascii() and text.isdigit():
        return [("how many", str(int(text)))]
    parts = [p.strip() for p in text.split("|")]
    if len(parts) > 1 and not parts[-1]:
        parts.pop()
    found = []
    for part in parts:
        left, _, right = (x.strip() for x in part.partition(" at " if kind == CURVE else "="))
        own = structure_number(place_of(left)) if kind == POINTS else None
        found.append((_same_digits(left) if kind == CURVE else left, _same_digits(right) or own or ""))
    return found


def _same_digits(text: str) -> str:
    return text if wrong_number(text) else structure_number(float(text)) or ""
