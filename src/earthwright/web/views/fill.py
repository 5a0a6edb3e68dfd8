"""One form for everything that a document still lacks and nobody has to read off an instrument."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...desk.memory import MOST_CLIENTS, client_words, clients_of, habits_of
from ...records.replay import EntryNow
from ..fillfields import AT_ONCE, MOST_CHIPS, Ask, Known, asks
from ..forms import Typed, table_errors
from ..render import see_other
from ..specs import body_from
from ..words import say
from ..work import Opened, plain_body
from .common import base, corrected, desk, form_of, judged, recorded, settings, show, uid_of, whose_memory, write
from .paper import SLUGS


async def fill_page(request: Request) -> Response:
    """GET the fields that a document lacks; its own page when there are none."""
    found = recorded(request)
    every = _asks(request, found)
    return _fill(request, found, every, Typed()) if every else see_other(_paper(request, found))


def _document(request: Request) -> str:
    slug = str(request.path_params["document"])
    if slug not in SLUGS:
        raise HTTPException(404)
    return SLUGS[slug]


def _paper(request: Request, found: Opened) -> str:
    return f"{base(found)}/paper/{request.path_params['document']}"


def _asks(request: Request, found: Opened) -> list[Ask]:
    a = judged(found)
    journal, who = desk(request), whose_memory(request, found)
    visits = clients_of(journal, who, found.id)
    near = [n for n in visits if n == a.visit.client] if a.visit.client else list(visits)[:MOST_CLIENTS]
    known = Known(habits_of(journal, who, found.id), {n: client_words(journal, visits[n]) for n in near})
    return asks(found, a, _document(request), known, settings(request).now().date())


def _fill(request: Request, found: Opened, every: list[Ask], typed: Typed) -> Response:
    shown = [x for x in every if x.name in typed.values] or every[:AT_ONCE]
    return show(
        request,
        found,
        "fill.html",
        "paper",
        typed,
        document=_document(request),
        here=f"{base(found)}/fill/{request.path_params['document']}",
        asks=shown,
        left=len(every) - len(shown),
        most_chips=MOST_CHIPS,
        names={x.name: x.label for x in every},
    )


async def fill_post(request: Request) -> Response:
    """POST what was filled in, all of it or none; then what is still lacking."""
    found = recorded(request)
    form, _ = await form_of(request)
    here = f"{base(found)}/fill/{request.path_params['document']}"
    if any(e.id.startswith(uid_of(form)) for e in found.kept.events):
        return see_other(here)
    every = {x.name: x for x in _asks(request, found)}
    entries, errors = _entries(found, every, form)
    lost = [n for n, v in form.items() if ":" in n and v and n not in every]
    if lost:  # somebody filled it in meanwhile: what stands is not overwritten
        errors = {**errors, "conflict": (say("fill.taken", what=", ".join(n.rpartition(":")[2] for n in lost)),)}
    elif not entries and not errors:
        errors = {"": (say("tests.nothing"),)}
    refused = Typed(form, errors) if errors else write(request, found, form, entries)
    return _fill(request, found, list(every.values()), refused) if refused else see_other(here)


def _entries(
    found: Opened, every: Mapping[str, Ask], form: Mapping[str, str]
) -> tuple[list[tuple[str, dict[str, Any]]], dict[str, tuple[str, ...]]]:
    """The entries that the form makes or fills in, one for each table, and what is wrong with them by field."""
    mine: dict[tuple[str, str], list[Ask]] = {}
    for name, x in every.items():
        if form.get(name):
            mine.setdefault((x.table, x.entry.id if x.entry else ""), []).append(x)
    entries: list[tuple[str, dict[str, Any]]] = []
    errors: dict[str, tuple[str, ...]] = {}
    for (table, entry_id), fields in mine.items():
        entry = fields[0].entry
        before = plain_body(entry) if entry else {}
        body = body_from(table, {x.spec.key: _text(x, before, form[x.name]) for x in fields}, before)
        wrong = table_errors(found, table, body, entry_id)
        by_key = {x.spec.key: x.name for x in fields}
        errors |= {by_key.get(k, ""): v for k, v in wrong.items()}
        entries.append(_entry(table, entry, body))
    return entries, errors


def _text(x: Ask, before: Mapping[str, object], typed: str) -> str:
    """What goes into a field; what is not there is added to what was said to be not there."""
    held = before.get(x.spec.key)
    return "\n".join([*map(str, held), typed]) if x.many and isinstance(held, list) else typed


def _entry(table: str, entry: EntryNow | None, body: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    return corrected(entry, body, say("things.filled")) if entry else (table, body)
