"""Adding and correcting what stands in the building and on the paper: one form for each table of the visit book."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby
from typing import Any
from urllib.parse import quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...desk.memory import MOST_CLIENTS, client_words, clients_of, phrases_of
from ...desk.templates import templates_of
from ...records.replay import EntryNow
from ...site.step import DOES
from ...site.tables import SINGLE, named_by
from ..address import part_of_address
from ..circuitform import DEVICE_PARTS, PRESETS, like
from ..entrywords import entry_words
from ..forms import Typed, step_errors, table_errors
from ..merge import as_typed, both, entry_at, only_theirs, together, told
from ..render import see_other
from ..specs import SPECS, body_from, choices_of, specs_of, value_of
from ..words import say, say_or
from ..work import Opened, plain_body
from .common import base, corrected, desk, form_of, opened, show, struck, uid_of, whose_memory, write
from .findings import free_number, next_coded, of_item

# The page of a visit that shows an entry, if that is not the one of its details.
DETAILS = "details"
PAGE = {
    **dict.fromkeys(("part", "bond", "link"), "map"), **dict.fromkeys(("board", "circuit", "electrode"), "circuits"),
    **dict.fromkeys(("leads", "instrument"), "leads"), "observation": "findings", "departure": "paper", "picture": "photos",
}  # fmt: skip
# Where one goes on after a new thing was written, if not to that page.
THEN = {"part": "add/bond?part={asked}", "bond": "bond/{part}"}
MOST_PHRASES = 6
MOST_PLACES = 8
MOST_FIELDS = 16  # a longer form is in parts that open
# Keys of a step that say what it is; the others may be corrected.
VERBS = (*DOES, "off", "on")


async def add_page(request: Request) -> Response:
    """GET an empty form for a new thing."""
    found = opened(request)
    asked = dict(request.query_params)
    table = table_of(request)
    if table == "observation" and asked.get("about"):
        asked = of_item(found, asked["about"]) | asked
    if table == "circuit":
        asked = like(found, asked.pop("like", ""), asked.pop("as", "")) | asked
    return _form(request, found, table, Typed(asked))


def _phrases(request: Request, found: Opened, typed: Typed) -> list[dict[str, str]]:
    """Observations the inspector wrote before, those about the same item first."""
    known = phrases_of(desk(request), whose_memory(request, found))
    about = typed.value("about")
    return sorted(known, key=lambda p: not about or p["about"] != about)[:MOST_PHRASES]


def table_of(request: Request) -> str:
    """The table of the address. Answers 404 for one that has no form."""
    table = str(request.path_params["table"])
    if table not in SPECS:
        raise HTTPException(404)
    return table


def _form(request: Request, found: Opened, table: str, typed: Typed, entry: EntryNow | None = None) -> Response:
    body = plain_body(entry) if entry else {}
    fixed = named_by(table) if entry else ""
    proposed = _of_client(request, found) if table == "report" and not found.single("report") else {}
    rows: list[dict[str, Any]] = [
        {
            "spec": s,
            "label": s.short(table),
            "value": value_of(s, body) if entry else proposed.get(s.key) or _start(found, table, s.key, s.start),
            "choices": choices_of(s, found.a, table, value_of(s, body)),
            "puts": _puts(request, found, table, s.key),
        }
        for s in specs_of(table, body)
        if s.key != fixed
    ]
    more = [r for r in rows if r["spec"].more]
    return show(
        request,
        found,
        "thing.html",
        PAGE.get(table, DETAILS),
        typed,
        table=table,
        names={r["spec"].key: r["spec"].label(table) for r in rows},
        most_fields=MOST_FIELDS,
        rows=_grouped(r for r in rows if not r["spec"].more),
        more=_grouped(more),
        phrases=_phrases(request, found, typed) if table == "observation" and not entry else (),
        device_parts=DEVICE_PARTS,
        templates=templates_of(desk(request), whose_memory(request, found))
        if table == "board" and not entry and found.a
        else (),
        presets=PRESETS if table == "circuit" and not entry else (),
        more_open=any(typed.wrong(r["spec"].key) for r in more),
        entry=entry,
        about=entry_words(table, entry.body) if entry else "",
        past=_past(request, entry) if entry else [],
        action=f"{base(found)}/entry/{entry.id}" if entry else f"{base(found)}/add/{table}",
    )


def _puts(request: Request, found: Opened, table: str, key: str) -> Sequence[tuple[str, str]]:
    """Words beside a field, one tap each: where an observation may be, the clients there were."""
    if (table, key) == ("visit", "client") and found.a:
        return [(n, n) for n in list(clients_of(desk(request), whose_memory(request, found), found.id))[:MOST_CLIENTS]]
    return _places(found) if (table, key) == ("observation", "where") else ()


def _of_client(request: Request, found: Opened) -> dict[str, str]:
    """What is known of the client of this visit from the last job for them."""
    visit = found.a.visit if found.a else None
    known = clients_of(desk(request), whose_memory(request, found), found.id) if visit and visit.client else {}
    return client_words(desk(request), known.get(visit.client, "") if visit else "")


def _places(found: Opened) -> list[tuple[str, str]]:
    """Where an observation may be, one tap each: what was said before at this visit, boards, parts."""
    site = found.a.visit.site if found.a else None
    said = [str(e.body.get("where", "")) for e in found.kept.entries if e.kind == "observation" and e.struck is None]
    known = [*(b.where or b.name or b.id for b in site.boards), *(p.title for p in site.parts)] if site else []
    return [(x, x) for x in dict.fromkeys((*said, say("things.intake"), *known)) if x][:MOST_PLACES]


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
    held = found.single(table) if table in SINGLE else None
    began = {s.key: _start(found, table, s.key, s.start) for s in SPECS[table]} if held else {}
    merged, clashes = together(found, held, form, began)
    body = body_from(table, merged, plain_body(held) if held else {})
    if table == "part" and "id" not in body:
        body["id"] = free_id(found, str(body.get("kind", "part")))
    if table == "part" and "name" not in body and (called := say_or(f"choice.part_{body.get('kind')}", "")):
        body["name"] = called  # "bare metal of the water pipe", not "of the water"
    if table == "observation" and "id" not in body:
        body["id"] = free_number(found)
    if all(e.id != uid_of(form) for e in found.kept.events):
        wrong = table_errors(found, table, body, held.id) if held and clashes else {}
        refused = both(merged, clashes, wrong) if clashes else _add(request, found, table, form, body, held)
        if refused:
            return _form(request, found, table, refused)
    if table == "circuit" and form.get("next"):
        return see_other(f"{base(found)}/add/circuit?like={quote(str(body.get('id')))}")
    if table == "observation" and (coded := next_coded(opened(request))):
        return see_other(f"{base(found)}/{coded}")
    name = {k: part_of_address(str(body.get(k) or "")) for k in ("id", "part")}
    then = THEN.get(table, PAGE.get(table, DETAILS)).format_map(
        {"id": name["id"], "part": name["id"] or name["part"], "asked": quote(str(body.get("id")))}
    )
    return see_other(f"{base(found)}/{then}")


def _add(
    request: Request,
    found: Opened,
    table: str,
    form: Mapping[str, str],
    body: dict[str, object],
    held: EntryNow | None,
) -> Typed | None:
    """Write a new thing, or the blanks of a table that there is one of; the form when anything is wrong."""
    if held and only_theirs(form, body, plain_body(held)):
        return None
    errors = table_errors(found, table, body, held.id if held else "")
    if table == "part" and not form.get("kind"):
        errors = {**errors, "kind": (say("wrong.kind"),)}
    if not set(body) - {"id"} and table != "board":  # a board is begun by its id
        errors = {**errors, "": (say("tests.nothing"),)}
    if errors:
        return Typed(form, errors)
    return write(request, found, form, [corrected(held, body, say("things.filled")) if held else (table, body)])


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
    keys = [k for k in entry.body if k not in (*VERBS, "at", "by", "why")]  # "why" is that of the correction
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
        rows=[{"key": k, "value": as_typed(body.get(k, ""))} for k in keys],
        past=_past(request, entry),
    )


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
    if any(e.id == uid_of(form) for e in found.kept.events):
        return see_other(back_of(found, entry))
    refused = (
        _strike(request, found, entry, form) if form.get("do") == "strike" else _correct(request, found, entry, form)
    )
    return _entry(request, found, entry, refused) if refused else see_other(back_of(found, entry))


def _changed(found: Opened, entry: EntryNow, form: Mapping[str, str]) -> dict[str, tuple[str, ...]]:
    """That somebody took the entry out, or changed it, since the form was made."""
    last = entry.struck or entry.latest
    seen = entry_at(found, entry, form.get("head", ""))
    if entry.struck is None and seen is not None and seen.latest.id == last.id:
        return {}
    words = told(found, last)
    return {"conflict": (say("entry.changed", by=last.by or say("wrong.somebody"), what=words),)}


def _strike(request: Request, found: Opened, entry: EntryNow, form: Mapping[str, str]) -> Typed | None:
    """Take an entry out as it was seen; the form when it says no reason, or when the entry is no longer what was seen."""
    errors = _changed(found, entry, form) | ({} if form.get("why") else {"why": (say("wrong.why"),)})
    return Typed(form, errors) if errors else write(request, found, form, [struck(entry.id, form["why"])])


def _correct(request: Request, found: Opened, entry: EntryNow, form: Mapping[str, str]) -> Typed | None:
    """Correct the fields that were changed here, beside what others changed; the form when anything is wrong."""
    if entry.struck is not None:
        return Typed(form, _changed(found, entry, form))
    merged, clashes = together(found, entry, form)
    body, why = _corrected(entry, merged), form.get("why", "")
    if not clashes and only_theirs(form, body, plain_body(entry)):
        return None
    if not why and _only_filled(entry, body):
        why = say("things.filled")
    checked = table_errors(found, entry.kind, body, entry.id) if entry.kind in SPECS else step_errors(found, body)
    if clashes:
        return both(merged, clashes, checked)
    errors = checked if why else {**checked, "why": (say("wrong.why"),)}
    return Typed(merged, errors) if errors else write(request, found, form, [corrected(entry, body, why)])


def _only_filled(entry: EntryNow, body: Mapping[str, object]) -> bool:
    """Whether blanks were filled in and nothing that stood was changed: of that no reason is asked."""
    before = plain_body(entry)
    return entry.kind in SPECS and body != before and all(body.get(k) == v for k, v in before.items())


def back_of(found: Opened, entry: EntryNow) -> str:
    """Where one goes on after a correction."""
    of = entry.body.get("bond") or (entry.kind == "bond" and (entry.body.get("id") or entry.body.get("part")))
    if isinstance(of, str):
        return f"{base(found)}/bond/{part_of_address(of)}"
    return f"{base(found)}/{PAGE.get(entry.kind, DETAILS) if entry.kind in SPECS else 'steps'}"


def _corrected(entry: EntryNow, form: Mapping[str, str]) -> dict[str, object]:
    body = plain_body(entry)
    if entry.kind in SPECS:
        return body_from(entry.kind, form, body)
    body = {k: v if isinstance(v, (str, bool, list, dict)) else str(v) for k, v in body.items()}
    for key, typed in form.items():
        if key in ("uid", "head", "why", "do", "clash", "key", *VERBS) or key.startswith("settle."):
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
