"""Tables on the terminal without the extra that draws them: the same rows, each as a line of its own.

Takes the calls of ``rich`` that the schedules make, so that one piece of code prints both.
"""

from __future__ import annotations

import re
import textwrap
from types import SimpleNamespace
from typing import Any

import click

_MARKUP = re.compile(r"(?<!\\)\[/?[a-z ]*\]")
_HEADINGS = {"Expected": "expected", "Limit": "limit"}  # the other columns speak for themselves
WIDTH = 96


def drawing() -> Any:
    """What schedules are drawn with: ``rich`` where the extra 'table' is installed, else the lines of this file."""
    try:
        from rich import box, console, markup, padding, table
    except ModuleNotFoundError:
        return SimpleNamespace(Console=Console, Table=Table, Padding=indented, escape=escape, SIMPLE_HEAD=None)
    return SimpleNamespace(
        Console=console.Console,
        Table=table.Table,
        Padding=padding.Padding,
        escape=markup.escape,
        SIMPLE_HEAD=box.SIMPLE_HEAD,
    )


def escape(text: str) -> str:
    """The text with its square brackets taken as they are."""
    return text.replace("[", "\\[")


def plain(text: str) -> str:
    """A text without its marks of style."""
    return _MARKUP.sub("", text).replace("\\[", "[")


class Table:
    """Rows under headings."""

    def __init__(self, title: str = "", **_: object) -> None:
        self.title, self.headings, self.rows = title, [], []  # type: ignore[var-annotated]

    @property
    def row_count(self) -> int:
        """How many rows there are."""
        return len(self.rows)

    def add_column(self, heading: str, **_: object) -> None:
        """One more column."""
        self.headings.append(heading)

    def add_row(self, *cells: str) -> None:
        """One more row."""
        self.rows.append([plain(c).replace("\n", ", ") for c in cells])

    def lines(self) -> list[str]:
        """Title and rows; the first cell of a row stands above those that belong to it."""
        said = [self.title]
        for first, *rest in self.rows:
            said += [f"  {first}"] if first else []
            named = zip(self.headings[1:], rest, strict=True)
            cells = [f"{_HEADINGS[h]} {cell}" if h in _HEADINGS else cell for h, cell in named if cell]
            said.append(textwrap.fill("; ".join(cells), WIDTH, initial_indent="    ", subsequent_indent="      "))
        return said


class Console:
    """Prints tables and lines."""

    def __init__(self, **_: object) -> None: ...

    def print(self, what: Table | str = "") -> None:
        """One table, or one line."""
        for line in what.lines() if isinstance(what, Table) else [plain(what)]:
            click.echo(line)


def indented(text: str, _: object) -> str:
    """A text set in a little from the left."""
    return f" {text}"
