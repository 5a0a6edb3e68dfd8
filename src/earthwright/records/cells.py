"""Tables of the journal for a spreadsheet (CSV), with nothing in them that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

from ..site.step import OF
from .event import OWN_KINDS
from .replay import Replayed

_NUMBER = re.compile(r"[+-]?[0-9]{1,15}(\.[0-9]{1,15})?")
_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%", "＝", "＋", "－", "＠")

READINGS = (
    "visit", "date", "place", "event", "seq", "kept_at", "by", "test", "of", "point", "between", "method", "test_v",
    "shown", "outcome", "absent", "leads", "instrument", "note", "source", "corrected", "struck",
)  # fmt: skip
ENTRIES = ("visit", "event", "seq", "kept_at", "by", "table", "key", "value", "corrected", "struck")


def cell(value: object) -> str:
    """A value as the text of a cell. What a spreadsheet might take for a formula begins with an apostrophe."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return cell("; ".join(f"{k}: {v}" for k, v in value.items()))
    if isinstance(value, (list, tuple)):
        return cell("; ".join(map(str, value)))
    text = str(value).replace("\0", "")
    return "'" + text if text.startswith(_STARTS) and not _NUMBER.fullmatch(text) else text


def table(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A CSV text (RFC 4180) with these columns; every cell through :func:`cell`."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(header)
    writer.writerows([cell(v) for v in row] for row in rows)
    return out.getvalue()


def reading_rows(read: Replayed) -> Iterable[list[object]]:
    """One row a reading, struck ones among them, with what it says now."""
    heading = read.tables.get("visit", {})
    for entry in read.entries:
        b = entry.body
        if entry.kind != "step" or "read" not in b:
            continue
        of = next((b[k] for k in OF if k in b), "")
        yield [
            read.visit_id, heading.get("date"), heading.get("place"), entry.id, entry.event.seq, entry.latest.kept_at,
            entry.latest.by, b["read"], of, *(b.get(k) for k in READINGS[9:20]),
            entry.latest is not entry.event, entry.struck is not None,
        ]  # fmt: skip


def entry_rows(read: Replayed) -> Iterable[list[object]]:
    """One row a key of every entry, with what it says now."""
    for entry in read.entries:
        if entry.kind in OWN_KINDS:
            continue
        for key, value in entry.body.items():
            yield [
                read.visit_id, entry.id, entry.event.seq, entry.latest.kept_at, entry.latest.by, entry.kind, key, value,
                entry.latest is not entry.event, entry.struck is not None,
            ]  # fmt: skip
