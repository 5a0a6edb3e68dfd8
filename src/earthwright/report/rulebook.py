"""The rule data as lists for people: what is from memory and what would settle it; what is judged, asked, not covered."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Iterator
from decimal import Decimal

from attrs import frozen

from ..rules import Edition, RuleBook, clause_of
from ..rules.model import PrintedRow, Table
from ..site.inspection import ITEMS

# Tables that no verdict rests on: they are quoted, listed or only say what is customary.
INFORMS = (
    "clauses", "extraneous.plastic", "inspection.intervals", "loop.uplift", "not.covered", "observation.codes", "penalty",
    "records.retention", "soil.resistivity", "sources.rules", "special.electrode", "special.zones", "supply.declared",
)  # fmt: skip
MOST_SHOWN = 12  # values of one table that are written out; of longer ones the number is told
JUDGED, ASKED, NOT_COVERED = "judged", "asked of the inspector", "not covered"


@frozen
class FromMemory:
    """The values of one table that are from memory.

    drives  whether a verdict rests on the table;  values  written out, or how many they are;  settled_by  what to read
    """

    edition: str
    clause: str
    title: str
    count: int
    of: int
    values: tuple[str, ...]
    drives: bool
    settled_by: str


@frozen
class Asked:
    """One requirement: its clause, in our words, and whether it is judged, asked of the inspector, or not covered."""

    clause: str
    what: str
    how: str


def editions_of_day(book: RuleBook, on: dt.date) -> tuple[Edition, ...]:
    """The edition of each standard that counts on a day, the wiring rules first; none where there is none yet."""
    found = [e for name in book.standards if (open_ := book.editions_open(name, on)) for e in open_[-1:]]
    return tuple(sorted(found, key=lambda e: (e.standard != "BS 7671", e.standard)))


def from_memory(editions: Iterable[Edition]) -> tuple[FromMemory, ...]:
    """Every value from memory in some editions, table by table, those first on which a verdict rests."""
    found = [m for e in editions for t in e.tables if (m := _of_table(e, e.table(t))) is not None]
    return tuple(sorted(found, key=lambda m: not m.drives))


def _of_table(edition: Edition, table: Table) -> FromMemory | None:
    rows = [r for r in table.rows if r.confidence == "memory"]
    if not rows:
        return None
    shown = (
        tuple(_said(table, r) for r in rows) if len(rows) <= MOST_SHOWN else (f"{len(rows)} of {len(table.rows)} rows",)
    )
    drives = table.id not in INFORMS and "duty" not in table.id and "notice" not in table.id
    return FromMemory(
        f"{edition.standard}:{edition.edition}",
        table.clause,
        table.title,
        len(rows),
        len(table.rows),
        shown,
        drives,
        f"{table.source.document}: {table.clause}",
    )


def _said(table: Table, row: PrintedRow) -> str:
    keys = ", ".join(_figure(k, "1") for k in row.keys.values() if k != "")
    figures = ", ".join(_figure(v, table.units[n]) for n, v in row.columns.items() if not isinstance(v, str) or v)
    return ": ".join(x for x in (keys, figures) if x)


def _figure(value: object, unit: str) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value} {unit}" if isinstance(value, Decimal) and unit != "1" else str(value)


def coverage(edition: Edition) -> tuple[Asked, ...]:
    """The requirements of the wiring rules that an inspection asks, in the order of their clauses.

    Judged is what a table of the edition decides; asked is an item of a schedule of inspections or a rule of a special
    location; not covered is said in the data so that silence is no verdict.
    """
    found = [
        Asked(table.clause, table.title, JUDGED)
        for t in edition.tables
        if t not in (*INFORMS, "special.rules", "special.rcd") and _of_standard(table := edition.table(t))
    ]
    found += [Asked(clause_of(edition, i.rule), i.words, ASKED) for i in ITEMS]
    if edition.has("special.rules"):
        rows = edition.table("special.rules").all()
        places = {r.keys["section"]: r.text("place") for r in rows}
        found += [
            Asked(r.clause, f"{places.get(r.keys['section'], 'section')}: {r.value} mA for {r.keys['what']}", JUDGED)
            for r in edition.table("special.rcd").all()
        ]
        found += [Asked(r.clause, f"{r.text('place')}: {r.keys['topic']}", ASKED) for r in rows]
    if edition.has("not.covered"):
        found += [Asked(r.clause, str(r.keys["what"]), NOT_COVERED) for r in edition.table("not.covered").all()]
    once = dict.fromkeys(found)
    return tuple(sorted(once, key=lambda a: (_order(a.clause), a.what)))


def _of_standard(table: Table) -> bool:
    """Whether a table holds requirements of the wiring rules rather than data of products or guidance."""
    return table.source.document.startswith("BS 7671")


def _order(clause: str) -> tuple[int, ...]:
    """The first number of a clause, part by part; words alone come last."""
    first = re.search(r"\d+(?:\.\d+)*", clause)
    if first is None or clause.startswith(("appendix", "part", "chapter")):
        return (999, int(first.group().split(".")[0]) if first else 0)
    return tuple(int(n) for n in first.group().split("."))


def memory_page(book: RuleBook, on: dt.date) -> Iterator[str]:
    """The list of what is from memory as lines of Markdown."""
    found = from_memory(editions_of_day(book, on))
    yield "# What is from memory"
    yield ""
    yield f"Made by `earthwright rules --memory --page` from the rule data of {on}; a test holds it fresh. Each is marked where it is used."
    for drives, head in ((True, "Verdicts rest on these"), (False, "These are only said, listed or counted")):
        rows = [m for m in found if m.drives is drives]
        yield ""
        yield f"## {head}: {sum(m.count for m in rows)} values in {len(rows)} tables"
        yield ""
        yield "| edition | what | values | what would settle it |"
        yield "| --- | --- | --- | --- |"
        for m in rows:
            yield f"| {m.edition} | {m.title} | {'; '.join(m.values)} | {m.settled_by} |"


def coverage_page(edition: Edition) -> Iterator[str]:
    """The table of requirements as lines of Markdown."""
    found = coverage(edition)
    yield "# What an inspection asks, and what is done about it"
    yield ""
    yield f"Made by `earthwright rules --coverage --page` from the data of {edition.title}; a test holds it fresh. In our own words."
    counts = ", ".join(f"{sum(a.how == how for a in found)} {how}" for how in (JUDGED, ASKED, NOT_COVERED))
    yield ""
    yield f"{len(found)} requirements: {counts}. What is asked of the inspector is never called met by the program."
    yield ""
    yield "| clause | requirement | |"
    yield "| --- | --- | --- |"
    for a in found:
        yield f"| {a.clause or '–'} | {a.what} | {a.how} |"
