"""Entry along a test: one test of every circuit, and on to the next test by itself when nothing needs a second look."""

from __future__ import annotations

from urllib.parse import quote

from attrs import evolve
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...outcomes.assessment import Assessment
from ...outcomes.verdict import FAILS
from ...site.tests import LIVE
from ..boardline import board_line
from ..drawing import circuit_drawing
from ..forms import Typed
from ..render import drawn, see_other
from ..rownames import by_leads, leads_in_hand, names_of
from ..schedule_rows import Cell, Key, Thing, cell, in_parts, key_words, things
from ..words import connect_of, say
from ..work import Opened
from .circuits import (
    COLUMNS,
    asked_board,
    boards_shown,
    gates_once,
    many_boards,
    write_readings,
)
from .common import base, form_of, judged, opened, settings, show, undoable


async def along_page(request: Request) -> Response:
    """GET one test of every circuit: entry along a test."""
    return _along(request, opened(request), Typed())


def _key_of(request: Request) -> Key:
    parts = str(request.path_params["key"]).split("|")
    if len(parts) == 3:
        key: Key = (parts[0], parts[1], parts[2])
        if any(key in column for column in COLUMNS):
            return key
    raise HTTPException(404)


def _along(request: Request, found: Opened, typed: Typed) -> Response:
    a, key = judged(found), _key_of(request)
    shown, many = boards_shown(request, a), many_boards(a)
    on = {c.circuit.id for b in a.boards if b.board.id in shown for c in b.circuits}
    mine = [t for t in things(a) if key in t.keys and t.kind == "circuit" and (t.id in on or not many)]
    cells = [(t, cell(a, t, key, settings(request).blind)) for t in mine]
    name = "|".join(key)
    return show(
        request,
        found,
        "along.html",
        "circuits",
        typed,
        key=name,
        title=key_words(key),
        leads=leads_in_hand(a) if by_leads(key) else None,
        cells=cells,
        names=names_of(cells),
        parts=in_parts(cells),
        words=[key_words(key)] if any(c.word and not c.shown for _, c in cells) else [],
        live=[key_words(key)] if key[0] in LIVE else [],
        acting=not all(c.shown for _, c in cells),
        went_on=_went_on(request, a),
        following=_following(a, key),
        last=undoable(request, found) if {"after", "said"} & set(request.query_params) else "",
        gates=[(g, f"{key_words(key)} {on}") for g, on in gates_once([evolve(c, title=t.id) for t, c in cells])],
        drawing=drawn(circuit_drawing(key[0], between=key[1])),
        connect=connect_of(key[0]),
        action=f"{base(found)}/along/{name}{asked_board(request)}",
        index=[board_line(b) for b in a.boards] if many else (),
        shown=shown,
        here=f"{base(found)}/along/{quote(name, safe='|')}",
    )


async def along_post(request: Request) -> Response:
    """POST what was entered along a test, all of it or none."""
    found = opened(request)
    a, key = judged(found), _key_of(request)
    form, _ = await form_of(request)
    typed = write_readings(
        request, found, form, [(t, key) for t in things(a) if key in t.keys and t.kind == "circuit"], []
    )
    if typed:
        return _along(request, found, typed)
    name = "|".join(key)
    now = judged(opened(request))
    following = _following(now, key)
    done = _cells(now, key)
    if following and all(c.shown and c.outcome != FAILS for _, c in done):  # nothing here to look at again
        return see_other(f"{base(found)}/along/{following}?after={quote(name, safe='|')}{asked_board(request, '&')}")
    return see_other(f"{base(found)}/along/{name}?said=1{asked_board(request, '&')}")


def _cells(a: Assessment, key: Key) -> list[tuple[Thing, Cell]]:
    return [(t, cell(a, t, key, False)) for t in things(a) if key in t.keys and t.kind == "circuit"]


def _following(a: Assessment, key: Key) -> str:
    """The next test in the order of the schedule that some circuit has and none was read of; empty after the last."""
    order = [k for column in COLUMNS for k in column]
    for k in order[order.index(key) + 1 :]:
        cells = _cells(a, k)
        if cells and not any(c.shown for _, c in cells) and k != ("r2", "", ""):
            return "|".join(k)
    return ""


def _went_on(request: Request, a: Assessment) -> str:
    """What was saved of the test before this one, where the page went on by itself."""
    parts = request.query_params.get("after", "").split("|")
    if len(parts) != 3:
        return ""
    key: Key = (parts[0], parts[1], parts[2])
    said = "; ".join(f"{t.id} {c.shown}{', ' + c.outcome if c.outcome else ''}" for t, c in _cells(a, key) if c.shown)
    return say("tests.went_on", what=f"{key_words(key)}: {said}.") if said else ""
