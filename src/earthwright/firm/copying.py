"""The firm's people and what was done, taken along in a backup and back; browsers sign in anew, and wrong tries are forgotten."""

from __future__ import annotations

from sqlalchemy import insert, select

from ..records.store import Store
from ..records.trouble import JournalError
from . import tables
from .tables import is_there, make, writing

LEFT = (tables.form, tables.session, tables.wrong, tables.challenge)


def carry(source: Store, target: Store) -> int:
    """Copy the firm's tables into a journal that has none; how many people. Nothing where there is no firm."""
    if not is_there(source):
        return 0
    if is_there(target):
        raise JournalError(f"{target.name} has a firm already. The events were brought back, its people were not.")
    make(target)
    people = 0
    with source.reading() as there, writing(target) as here:
        for table in (t for t in tables.META.sorted_tables if t not in LEFT):
            columns = [
                c for c in table.columns if (table.name, c.name) != ("firm_deed", "no")
            ]  # counted anew, in their order
            found = [dict(r) for r in there.execute(select(*columns).order_by(*table.primary_key)).mappings()]
            if found:
                here.execute(insert(table), found)
            people = len(found) if table is tables.person else people
    return people
