"""The blank visit book for a kind of visit: every entry that its document will ask for, as a comment with its name.

What is asked for is what the document itself says it needs, so the two cannot drift apart.
"""

from __future__ import annotations

import datetime as dt
import re

from ..assess import assess
from ..site.fields import COUNT, DATE, FLAG, NAMES, NUMBER, WHOLE, Field, fields_of
from ..site.inspection import INITIAL_ITEMS, INITIAL_OUTCOMES, PERIODIC_ITEMS, PERIODIC_OUTCOMES
from ..site.installation import Supply
from ..site.particulars import Origin, Particulars
from ..visitbook import read_text
from ..visitbook.blank import BLANK
from .kinds import ENDS_IN
from .requirements import groups_of, missing_fields

_TABLES = {"supply": Supply, "report": Particulars, "origin": Origin}
# Of the visit itself, which the reader knows without a declaration.
_VISIT = {"client": '""', "firm": '""', "extent": '""', "limitations": "[]"}


def blank_book(today: dt.date, kind: str = "") -> str:
    """A blank visit book; for a kind of visit with all that its document needs. Raises KeyError for an unknown kind."""
    text = BLANK.format(today=today.isoformat())
    if not kind:
        return text
    document = ENDS_IN[kind]
    text = text.replace('kind = "bonding"            #', f'kind = "{kind}" #', 1)
    for table, keys in _asked(document, today, kind).items():
        lines = [line for key in keys if not _stands(text, table, key) and (line := _line(table, key, today))]
        text = _with_lines(text, table, lines)
    return text + _inspected(kind)


def _asked(document: str, today: dt.date, kind: str) -> dict[str, list[str]]:
    """Table → keys that the document of an empty visit names, in the order of its pages."""
    book = read_text(f'[visit]\nplace = "-"\ndate = {today.isoformat()}\nkind = "{kind}"\n')
    if book.visit is None:
        return {}
    a = assess(book.visit)
    ats = [f.at for g in groups_of(a, document) for f in g.fields if f.at is not None]
    ats += [m.at for m in missing_fields(a, document)]
    found: dict[str, list[str]] = {}
    for at in (place for x in ats for place in x.places):
        if at.key and not at.id and at.key not in found.setdefault(at.table, []):
            found[at.table].append(at.key)
    return found


def _section(text: str, table: str) -> tuple[int, int]:
    """Where the lines of a table begin and end in a blank book; twice the end of the text where it has none."""
    head = re.search(rf"^#?\[{table}\].*\n", text, re.MULTILINE)
    if head is None:
        return len(text), len(text)
    end = re.compile(r"^(#?\[|\s*$|# ----)", re.MULTILINE).search(text, head.end())
    return head.end(), end.start() if end else len(text)


def _stands(text: str, table: str, key: str) -> bool:
    begin, end = _section(text, table)
    return bool(re.search(rf"^#?{key} =", text[begin:end], re.MULTILINE))


def _with_lines(text: str, table: str, lines: list[str]) -> str:
    if not lines:
        return text
    _, end = _section(text, table)
    if end == len(text) and not re.search(rf"^#?\[{table}\]", text, re.MULTILINE):
        return text + f"\n#[{table}]\n" + "".join(lines)
    return text[:end] + "".join(lines) + text[end:]


def _line(table: str, key: str, today: dt.date) -> str:
    """An entry as a comment: a value of the right kind, then what it is; empty for a key that is no field."""
    if table == "visit":
        return f"#{key} = {_VISIT[key]}\n" if key in _VISIT else ""
    field = next((f for f in fields_of(_TABLES[table]) if f.key == key), None) if table in _TABLES else None
    if field is None:
        return ""
    words = " or ".join(field.choices[:8])
    about = ", ".join(x for x in (field.label, field.unit, words if words != field.label else "") if x)
    return f"#{key} = {_example(field, today)}".ljust(32) + f"# {about}\n"


def _example(field: Field, today: dt.date) -> str:
    """A value of the right kind that claims as little as one can: what is left in by mistake must not sound like a finding."""
    number = str(max(1, int(field.least or 1)))
    whole = field.choices[0] if field.choices else "1"
    simple = {FLAG: "false", DATE: today.isoformat(), NAMES: "[]", NUMBER: number, COUNT: number, WHOLE: whole}
    return simple.get(field.kind, '""')


def _inspected(kind: str) -> str:
    """The schedule of inspections, a line for each item; none where the document has no such schedule."""
    items, outcomes = {
        "periodic": (PERIODIC_ITEMS, PERIODIC_OUTCOMES),
        "initial": (INITIAL_ITEMS, INITIAL_OUTCOMES),
    }.get(kind, ((), ()))
    if not items:
        return ""
    lines = [f'#{i.id} = ""'.ljust(32) + f"# {i.number} {i.words}\n" for i in items]
    return (
        f'\n# One of: {", ".join(outcomes)}; behind a colon what was seen, or why not: "LIM: why".\n#[inspected]\n'
        + "".join(lines)
    )
