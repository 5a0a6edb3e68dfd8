"""Adding and correcting what stands in the building and on the paper: one form for each table of the visit book."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from itertools import groupby
from typing import Any
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...records import JournalError
from ...records.replay import SINGLE, EntryNow
from ..address import part_of_address
from ..entrywords import entry_words
from ..forms import Typed, step_errors, table_errors
from ..render import see_other
from ..specs import FIXED, SPECS, body_from, choices_of, value_of
from ..words import say
from ..work import Opened, plain_body
from .common import base, by, desk, form_of, kept, opened, show, uid_of

# Where one goes on after a new thing was written.
THEN = {"part": "/add/bond?part={asked}", "bond": "/bond/{part}", "leads": "/leads", "instrument": "/leads", "board": "/circuits",
        "circuit": "/circuits", "electrode": "/circuits", "observation": "/findings", "visit": "/details", "supply": "/details",
        "report": "/details", "origin": "/details", "danger": "/details", "link": "/map"}  # fmt: skip
# Keys of a step that say what it is; the others may be corrected.
VERBS = ("read", "check", "clamp", "volts", "isolated", "look", "repair", "override", "off", "on", "tests")


async def add_page(request: Request) -> Response:
    """GET an empty form for a new thing."""
    found = opened(request)
    return _form(request, found, table_of(request), Typed(dict(request.query_params)))


def table_of(request: Request) -> str:
    """The table of the address. Answers 404 for one that has no form."""
    table = str(request.path_params["table"])
    if table not in SPECS:
        raise HTTPException(404)
    return table


def _form(request: Request, found: Opened, table: str, typed: Typed, entry: EntryNow | None = None) -> Response:
    body = plain_body(entry) if entry else {}
    fixed = FIXED.get(table, ()) if entry else ()
    rows: list[dict[str, Any]] = [
        {
            "spec": s,
            "label": s.short(table),
            "value": value_of(s, body) if entry else _start(found, table, s.key, s.start),
            "choices": choices_of(s, found.a, table, value_of(s, body)),
        }
        for s in SPECS[table]
        if s.key not in fixed
    ]
    more = [r for r in rows if r["spec"].more]
    return show(
        request,
        found,
        "thing.html",
        {
            "part": "map",
            "bond": "map",
            "link": "map",
            "circuit": "circuits",
            "board": "circuits",
            "leads": "leads",
            "instrument": "leads",
            "observation": "findings",
        }.get(table, "details"),
        typed,
        table=table,
        rows=_grouped(r for r in rows if not r["spec"].more),
        more=_grouped(more),
        more_open=any(typed.wrong(r["spec"].key) for r in more),
        entry=entry,
        about=entry_words(table, entry.body) if entry else "",
        past=_past(request, entry) if entry else [],
        action=f"{base(found)}/entry/{entry.id}" if entry else f"{base(found)}/add/{table}",
    )


def _grouped(rows: Iterable[dict[str, Any]]) -> list[tuple[str, list[dict[str, Any]]]]:
    """Rows that follow each other under one heading."""
    return [(group, list(mine)) for group, mine in groupby(rows, lambda r: str(r["spec"].group))]


def _start(found: Opened, table: str, key: str, start: str) -> str:
    """What a new form begins with: the next free id, the only board."""
    taken = [str(e.body.get("id", "")) for e in found.kept.entries if e.kind == table]
    if key == "id" and table in ("circuit", "board", "electrode", "leads", "instrument"):
        stem = re.sub(r"\d+$", "", start) or "c"
        numbers = [int(m[1]) for m in (re.fullmatch(rf"{stem}(\d+)", t) for t in taken) if m]
        return start if start and start not in taken else f"{stem}{max(numbers, default=len(taken)) + 1}"
    if key == "board" and table == "circuit" and found.a and found.a.visit.site.boards:
        last = next((str(e.body.get("board", "")) for e in reversed(found.kept.entries) if e.kind == "circuit"), "")
        return last or found.a.visit.site.boards[0].id
    return start


async def add_post(request: Request) -> Response:
    """POST a new thing: written when it can be read, else the form comes back with all its errors."""
    found, table = opened(request), table_of(request)
    form, _ = await form_of(request)
    body = body_from(table, form, {})
    if table == "part" and "id" not in body:
        body["id"] = free_id(found, str(body.get("kind", "part")))
    if table == "observation" and "id" not in body:
        body["id"] = str(1 + sum(e.kind == "observation" for e in found.kept.entries))
    uid = uid_of(form)
    if all(e.id != uid for e in found.kept.events):
        held = found.single(table) if table in SINGLE else None
        errors = table_errors(found, table, body, held.id if held else "")
        if table == "part" and not form.get("kind"):
            errors = {**errors, "kind": (say("wrong.kind"),)}
        if not set(body) - {"id"}:
            errors = {**errors, "": (say("tests.nothing"),)}
        if errors:
            return _form(request, found, table, Typed(form, errors))
        who, now = by(request, found), {**plain_body(held), **body} if held else body
        failed = kept(
            lambda: (
                desk(request).correct(held.id, now, say("things.filled"), who, id=uid)
                if held
                else desk(request).add(found.id, table, body, who, id=uid)
            )
        )
        if failed:
            return _form(request, found, table, Typed(form, failed))
    name = {k: part_of_address(str(body.get(k) or "")) for k in ("id", "part")}
    then = THEN[table].format_map(
        {"id": name["id"], "part": name["id"] or name["part"], "asked": quote(str(body.get("id")))}
    )
    return see_other(f"{base(found)}{then}")


def free_id(found: Opened, wanted: str) -> str:
    """An id that nothing has yet."""
    a = found.a
    taken = {str(e.body.get("id") or e.body.get("part", "")) for e in found.kept.entries} | (
        {p.id for p in a.visit.site.parts} if a else set()
    )
    return next(i for i in (wanted, *(f"{wanted}-{n}" for n in range(2, 1000))) if i not in taken)


async def entry_page(request: Request) -> Response:
    """GET one entry: what it says, what it said before, and the form to correct it."""
    found = opened(request)
    entry = found.entry(request.path_params["entry"])
    if entry is None:
        raise HTTPException(404)
    return _entry(request, found, entry, Typed())


def _entry(request: Request, found: Opened, entry: EntryNow, typed: Typed) -> Response:
    if entry.kind in SPECS:
        return _form(request, found, entry.kind, typed, entry)
    keys = [k for k in entry.body if k not in (*VERBS, "at", "by")]
    for key in ("shown", "note") if "read" in entry.body else ():
        if key not in keys and not (key == "shown" and {"outcome", "absent", "at_points"} & set(entry.body)):
            keys.append(key)
    body = plain_body(entry)
    return show(
        request,
        found,
        "entry.html",
        "steps",
        typed,
        entry=entry,
        about=entry_words(entry.kind, entry.body),
        rows=[{"key": k, "value": _typed(body.get(k, ""))} for k in keys],
        past=_past(request, entry),
    )


def _typed(value: object) -> str:
    if isinstance(value, dict):
        return "\n".join(f"{k} = {v}" for k, v in value.items())
    return "\n".join(map(str, value)) if isinstance(value, list) else str(value)


def _past(request: Request, entry: EntryNow) -> list[dict[str, str]]:
    """Every form the entry has had, oldest first."""
    found = []
    for e in desk(request).history(entry.id):
        body = e.body.get("body", {}) if e.kind == "correct" else e.body if e.kind not in ("strike",) else {}
        found.append(
            {
                "by": e.by or say("wrong.somebody"),
                "at": e.at[:19].replace("T", " "),
                "why": str(e.body.get("reason", "")) if e.kind in ("correct", "strike") else "",
                "what": entry_words(entry.kind, body) if body else say("entry.struck"),
            }
        )
    return found


async def entry_post(request: Request) -> Response:
    """POST a correction or a strike, with its reason."""
    found = opened(request)
    entry = found.entry(request.path_params["entry"])
    if entry is None:
        raise HTTPException(404)
    form, _ = await form_of(request)
    uid = uid_of(form)
    if any(e.id == uid for e in found.kept.events):
        return see_other(f"{base(found)}/entry/{entry.id}")
    why = form.get("why", "")
    errors: dict[str, tuple[str, ...]] = {} if why else {"why": (say("wrong.why"),)}
    try:
        if form.get("do") == "strike":
            if errors:
                return _entry(request, found, entry, Typed(form, errors))
            desk(request).strike(entry.id, why, by(request, found), id=uid)
        else:
            body = _corrected(entry, form)
            if not why and _only_filled(entry, body):
                why, errors = say("things.filled"), {}
            checked = (
                table_errors(found, entry.kind, body, entry.id) if entry.kind in SPECS else step_errors(found, body)
            )
            errors = {**checked, **errors}
            if errors:
                return _entry(request, found, entry, Typed(form, errors))
            desk(request).correct(entry.id, body, why, by(request, found), id=uid, seen=form.get("latest", ""))
    except JournalError as error:
        return _entry(request, found, entry, Typed(form, {"conflict": (str(error),)}))
    return see_other(back_of(found, entry))


def _only_filled(entry: EntryNow, body: Mapping[str, object]) -> bool:
    """Whether blanks were filled in and nothing that stood was changed: of that no reason is asked."""
    before = plain_body(entry)
    return entry.kind in SPECS and body != before and all(body.get(k) == v for k, v in before.items())


def back_of(found: Opened, entry: EntryNow) -> str:
    """Where one goes on after a correction."""
    of = entry.body.get("bond") or (entry.kind == "bond" and (entry.body.get("id") or entry.body.get("part")))
    if isinstance(of, str):
        return f"{base(found)}/bond/{part_of_address(of)}"
    return (
        f"{base(found)}{THEN[entry.kind].split('?')[0]}"
        if entry.kind in THEN and "{" not in THEN[entry.kind]
        else f"{base(found)}/steps"
    )


def _corrected(entry: EntryNow, form: Mapping[str, str]) -> dict[str, object]:
    body = plain_body(entry)
    if entry.kind in SPECS:
        return body_from(entry.kind, form, body)
    body = {k: v if isinstance(v, (str, bool, list, dict)) else str(v) for k, v in body.items()}
    for key, typed in form.items():
        if key in ("uid", "head", "why", "do", "latest", "knows", "key", *VERBS):
            continue
        old = body.get(key)
        if not typed:
            body.pop(key, None)
        elif isinstance(old, dict):
            pairs = (line.partition("=") for line in typed.splitlines() if line.strip())
            body[key] = {k.strip(): v.strip() for k, _, v in pairs}
        elif isinstance(old, bool):
            body[key] = {"yes": True, "True": True, "no": False, "False": False}.get(typed, typed)
        else:
            body[key] = typed.splitlines() if isinstance(old, list) else typed
    return body
