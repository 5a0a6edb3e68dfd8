"""What an inspector brings from one job to the next: instruments, leads, the words of the paper, clients. Never a result."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import select

from ..records import schema
from ..records.replay import Replayed
from ..site.fields import Kind, entered
from ..site.tables import BY_NAME
from .desk import Desk
from .next_visit import OF_CLIENT, TOOLS

MOST_VISITS = 12  # the newest ones say what is usual now
MOST_WORDS = 3  # of one field
MOST_CLIENTS = 8


def _habits(table: str) -> tuple[str, ...]:
    """The keys of a table that are much the same from job to job, those of a table inside among them."""
    fields = BY_NAME[table].fields
    inside = tuple(f"{f.key}.{x.key}" for f in fields if f.kind is Kind.TABLE for x in entered(f.of) if x.habit)
    return (*(f.key for f in fields if f.habit), *inside)


HABITS = {table: _habits(table) for table in BY_NAME}


def visits_of(desk: Desk, inspector: str, beside: str = "") -> Iterator[Replayed]:
    """The newest visits of an inspector, the latest first, without the one that is open."""
    mine = [v for v in desk.visits() if v.inspector and v.inspector == inspector and v.id != beside]
    for line in mine[:MOST_VISITS]:
        yield desk.read(line.id)


def tools_of(desk: Desk, inspector: str) -> list[tuple[str, dict[str, Any]]]:
    """Instruments and lead sets of the inspector's last job, without what was measured of them on that day."""
    for read in visits_of(desk, inspector):
        found = [
            (e.kind, {k: v for k, v in e.body.items() if k not in TOOLS[e.kind]})
            for e in read.entries
            if e.kind in TOOLS and e.struck is None
        ]
        if found:
            return found
    return []


def habits_of(desk: Desk, inspector: str, beside: str) -> dict[tuple[str, str], tuple[str, ...]]:
    """Words the inspector wrote before, by table and field, the newest first. They are offered, never put in."""
    found: dict[tuple[str, str], dict[str, None]] = {}
    for read in visits_of(desk, inspector, beside):
        for e in read.entries:
            for key in HABITS.get(e.kind, ()) if e.struck is None else ():
                value = _text(e.body, key)
                if value:
                    found.setdefault((e.kind, key), {}).setdefault(value)
    return {k: tuple(v)[:MOST_WORDS] for k, v in found.items()}


def clients_of(desk: Desk, inspector: str, beside: str = "") -> dict[str, str]:
    """Clients of an inspector by name, each with the visit that holds them last, the newest first; erased ones never."""
    c = schema.personal.c
    with desk.store.reading() as connection:
        rows = connection.execute(select(c.visit, c.value).where(c.field == "client"))
        named: dict[str, list[str]] = {}
        for visit, value in rows:
            named.setdefault(visit, []).append(value)
    found: dict[str, str] = {}
    for v in desk.visits():
        if v.id in named and v.id != beside and v.inspector and v.inspector == inspector:
            names = named[v.id]
            found.setdefault(names[0] if len(names) == 1 else _client_of(desk.read(v.id)), v.id)  # a name put right
    return {name: visit for name, visit in found.items() if name}


def _client_of(read: Replayed) -> str:
    heading = next((e for e in read.entries if e.kind == "visit" and e.struck is None), None)
    return _text(heading.body, "client") if heading else ""


def client_words(desk: Desk, visit_id: str) -> dict[str, str]:
    """What belongs to the client of a visit, by the key of the report. It is proposed at the next job for them."""
    if not visit_id:
        return {}
    report = next((e for e in desk.read(visit_id).entries if e.kind == "report" and e.struck is None), None)
    return {key: text for key in OF_CLIENT if report and (text := _text(report.body, key))}


def phrases_of(desk: Desk, inspector: str) -> list[dict[str, str]]:
    """Observations the inspector wrote before, each once, the newest first: what, code, clause and about what."""
    found: dict[str, dict[str, str]] = {}
    for read in visits_of(desk, inspector):
        for e in reversed(read.entries):
            what = str(e.body.get("what", "")).strip()
            if e.kind == "observation" and e.struck is None and what:
                found.setdefault(what, {k: str(e.body.get(k, "")) for k in ("what", "code", "clause", "about")})
    return list(found.values())


def _text(body: dict[str, Any], key: str) -> str:
    outer, _, inner = key.partition(".")
    value = body.get(outer)
    if inner:
        value = value.get(inner) if isinstance(value, dict) else None
    if isinstance(value, dict):  # a number or a date as the journal keeps it
        return next((str(v) for v in value.values()), "")
    return "\n".join(map(str, value)) if isinstance(value, list) else "" if value is None else str(value)
