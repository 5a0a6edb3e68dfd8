"""Writes visit-book.md, and the tables of schedule-columns.md, from what is declared: ./.venv/bin/python docs/reference.py"""

from __future__ import annotations

import re
from pathlib import Path

import attrs

from earthwright.schedule.columns import COLUMNS, READING, Column
from earthwright.site.events import BOND_TESTS
from earthwright.site.fields import Field, Kind, entered
from earthwright.site.tables import TABLES
from earthwright.site.tests import TESTS
from earthwright.visitbook.boards import ITSELF

HERE = Path(__file__).parent
HEAD = """# The visit book

Every key of a visit book (`visit.toml`), as declared in `src/earthwright/site`. This page is written by
`docs/reference.py`; a test holds it fresh. Values are TOML: a number plain, a text between quotes, a day as `2026-11-28`.
What is not known is left out. A circuit's keys may also stand in `[usual]` for all circuits and in `[board.usual]` for those
of a board, but for its id, board, points and `length_tol_m`. Lines of the schedule of inspections stand in `[inspected]`:
`earthwright observe --items` lists them.

`earthwright schema visit > visit.schema.json` writes all this as a JSON Schema: an editor that holds TOML against such a
schema then completes keys and words, and marks what cannot be.
"""


def value(f: Field) -> str:
    """What may stand in a field."""
    if f.choices:
        return ", ".join(f.choices) + (", or words" if f.kind is Kind.TEXT else "")
    if f.kind in (Kind.NUMBER, Kind.COUNT):
        low = f"above {f.above:g}" if f.above is not None else f"from {f.least:g}" if f.least is not None else ""
        top = f"to {f.most:g}" if f.most < 1e9 else ""
        return " ".join(x for x in (f.kind.value, low, top, "" if f.unit == "1" else f.unit) if x)
    return f.kind.value + (f": {f.hint}" if f.hint else "")


def usual(f: Field) -> str:
    """What holds while nothing is said."""
    said = f.kind in (Kind.NUMBER, Kind.WORD, Kind.WHOLE, Kind.COUNT) and f.default not in (
        None,
        "",
        False,
        attrs.NOTHING,
    )
    return f"{f.default:g}" if said and isinstance(f.default, float) else str(f.default) if said else ""


def rows(fields: tuple[Field, ...], prefix: str = "") -> list[str]:
    """Lines of the table of a table, tables inside it among them."""
    found = []
    for f in fields:
        key = f"`{prefix}{f.key}`" + (" (needed)" if f.need else "")
        cells = (key, f.label, value(f), usual(f), f.help if f.help.casefold() != f.label.casefold() else "")
        found.append("| " + " | ".join(c.replace("|", "\\|") for c in cells) + " |")
        if f.kind in (Kind.TABLE, Kind.TABLES):
            inside = tuple(g for g in entered(f.of) if f.key != "rcd" or g.key not in ITSELF)
            found += rows(inside, f"{prefix}{f.key}.")
    return found


def tests() -> str:
    """The tests that a step may read, as they are declared."""
    lines = [
        "## Tests",
        "",
        "What `read` and `tests` of a step may name; of a bond there are "
        + ", ".join(f"`{t}`" for t in BOND_TESTS)
        + " besides.",
        "",
    ]
    lines += [
        "| test | is | unit | of | how, between | state | not kept |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for t in TESTS:
        how = ", ".join(x for x in (*t.methods, *t.between) if x)
        state = (
            "after dead tests, supply on"
            if t.after_continuity
            else "supply on"
            if t.live
            else "dead"
            if t.function
            else "any"
        )
        lines.append(
            f"| `{t.name}` | {t.titled} | {t.unit or 'good or bad'} | {', '.join(t.of)} | {how} | {state} | {t.code} {t.fails} |"
        )
    return "\n".join(lines) + "\n"


def page() -> str:
    """The page as it should stand."""
    parts = [HEAD]
    for t in TABLES:
        name = f"[[{t.name}]]" if t.many else f"[{t.name}]"
        parts.append(
            f"## `{name}`\n\n{t.says[:1].upper()}{t.says[1:]}.\n\n| key | is | value | usual | |\n| --- | --- | --- | --- | --- |\n"
            + "\n".join(rows(t.fields))
            + "\n"
        )
    return "\n".join([*parts, tests()])


def columns_page() -> str:
    """The page of columns with its two tables as they should stand; what is said around them is left as it is."""
    first = next(i for i, c in enumerate(COLUMNS) if c.kind == READING)
    tables = iter((COLUMNS[:first], COLUMNS[first:]))

    def table(found: re.Match[str]) -> str:
        return found[1] + "".join(map(_column, next(tables)))

    text = (HERE / "schedule-columns.md").read_text(encoding="utf-8")
    return re.sub(r"(\| column \| says \|\n\| --- \| --- \|\n)(?:\|.*\n)+", table, text)


def _column(c: Column) -> str:
    says = c.says.replace("|", "\\|")
    return f"| {c.header} | {says} |\n"


if __name__ == "__main__":
    (HERE / "schedule-columns.md").write_text(columns_page(), encoding="utf-8")
    (HERE / "visit-book.md").write_text(page(), encoding="utf-8")
