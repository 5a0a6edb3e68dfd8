"""One thing that is due, and how its last day was counted."""

from __future__ import annotations

import datetime as dt

from attrs import define, field, frozen

from ..rules.documents import Deadline
from ..rules.model import Edition, RuleValue

INSPECTION, COMPLETION, WORK = "inspection and test", "completion of the work", "remedial or investigative work"


@frozen
class Due:
    """One thing that is due.

    last_day  last day on which it is done in time;  now  danger is there: no day is given, it is done at once;  counted  how the day was found;  source  document and clause
    duty, event  which duty it is and what it is counted from, where one of those named above
    memory    True when a value or the counting is from memory of the document;  occupier  it is owed to whoever lives there
    """

    what: str
    last_day: dt.date
    counted: str
    source: str
    memory: bool = False
    note: str = ""
    now: bool = False
    occupier: bool = False
    duty: str = ""
    event: str = ""


@define
class Found:
    """What one set of rules leads to: things with a last day, duties without one, and what must be said about them."""

    due: list[Due] = field(factory=list)
    undated: list[str] = field(factory=list)
    said: list[str] = field(factory=list)

    def add(self, more: Found) -> None:
        """Takes over what other rules lead to."""
        self.due += more.due
        self.undated += more.undated
        self.said += more.said


def reviewed(law: Edition, on: dt.date) -> list[str]:
    """A sentence where nobody has looked whether rules still stand on a day; nothing where they were reviewed."""
    if law.reviewed(on):
        return []
    return [f"{law.title}: not reviewed since {law.reviewed_until}; a later text may ask for something else."]


def source_of(row: RuleValue) -> str:
    """Document and clause of a duty."""
    return f"{row.document}, {row.clause}"


def due_by(d: Deadline, event_on: dt.date, about: str = "") -> Due:
    """A deadline as something due."""
    row = d.rule
    first = bool(row.columns.get("counts_first_day"))
    how = f"from {d.event} on {event_on}" + (", that day counted as the first" if first else "")
    how += "; period of the report, shorter than the law's" if d.shorter else ""
    note = ". ".join(x for x in (about, row.note) if x)
    source = source_of(row)
    what = "Next inspection, by law" if d.duty == INSPECTION else d.duty[0].upper() + d.duty[1:]
    owed = bool(row.columns.get("to_occupier"))
    return Due(
        what, d.last_day, how, source, row.confidence == "memory", note, occupier=owed, duty=d.duty, event=d.event
    )
