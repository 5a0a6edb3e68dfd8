"""The schedule by board: entry along a row or along a test, the ring's profile as its sockets are entered."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import quote

from attrs import frozen
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...gates.shut import Gate
from ...outcomes.assessment import Assessment
from ...outcomes.verdict import MEETS
from ...paper.ring import ring_profile
from ...site.events import ABSENT, BETWEEN, CIRCUIT_TESTS, ORIGIN, OUTCOMES, Reading
from ...site.ledger import readings, state_now
from ...site.needs import ALWAYS, CONTINUITY, ENDS, LOOP, RESIDUAL, SEQUENCE, keys_of
from ...site.tests import CROSSED, LIVE
from ..address import part_of_address
from ..boardline import board_line
from ..drawing import circuit_drawing
from ..forms import Typed, step_errors
from ..lacks import AT_SOCKETS
from ..merge import conflict
from ..render import drawn, see_other
from ..repair_offer import mend_of_thing
from ..rownames import by_leads, earthing_near, leads_in_hand, names_of
from ..schedule_rows import (
    FUNCTIONAL,
    Cell,
    Key,
    Thing,
    cell,
    closed_gates,
    key_words,
    reading_words,
    things,
)
from ..shows import shown_of
from ..words import connect_of, say, title_of
from ..work import Opened
from .common import (
    Files,
    base,
    form_of,
    judged,
    opened,
    opened_for,
    settings,
    show,
    taken_back,
    uid_of,
    undoable,
    write_steps,
)

MOST_ROWS = 40  # circuits on one page of the schedule; above that it shows one board at a time
BRIEF = 5  # above so many circuits a phone shows of each only what is not as it should be
EVERY = "*"
COLUMNS: tuple[tuple[Key, ...], ...] = (
    keys_of(CONTINUITY),
    keys_of(ENDS),
    *(keys_of((need,)) for need in (*ALWAYS, *SEQUENCE, *LOOP, *RESIDUAL)),
)
SOCKETS = {t: AT_SOCKETS[t] for t in CROSSED}  # the end of a cell for each reading at a socket
MORE_SOCKETS = 3
NEVER_AT_ONCE = ("phase sequence",)  # "all good" never covers it: most boards have none


@frozen
class Past:
    """One reading in the history of a thing."""

    what: str
    digits: str
    note: str
    entry: str


async def circuits_page(request: Request) -> Response:
    """GET the schedule by board."""
    found = opened(request)
    a = judged(found)
    every = things(a)
    shown = boards_shown(request, a)
    on = {c.circuit.id for b in a.boards if b.board.id in shown for c in b.circuits}
    rows = {t.id: [cell(a, t, k, settings(request).blind) for k in t.keys] for t in every if t.id in on}
    along = [k for column in COLUMNS for k in column if any(k in t.keys for t in every)]
    boards = [
        {
            "thing": t,
            "board": b,
            "circuits": [x for x in every if x.circuit is not None and x.circuit.circuit.board == b.board.id],
            "edit": found.of("board", b.board.id),
            "line": board_line(b).words,
        }
        for b in a.boards
        if b.board.id in shown
        for t in every
        if t.kind == "board" and t.id == b.board.id
    ]
    single = [t for t in every if t.kind in ("origin", "electrode", "part")]
    return show(
        request,
        found,
        "circuits.html",
        "circuits",
        boards=boards,
        single=single,
        rows=rows,
        index=[board_line(b) for b in a.boards] if len(shown) < len(a.boards) or many_boards(a) else (),
        shown=shown,
        folded=len(shown) > 1 and many_boards(a),
        brief=len(on) > BRIEF,
        along=[("|".join(k), key_words(k)) for k in along],
        asked=asked_board(request),
        kept=request.query_params.get("kept", ""),
    )


def many_boards(a: Assessment) -> bool:
    """Whether the schedule is too long for one page: one board at a time is then shown."""
    return len(a.boards) > 1 and sum(len(b.circuits) for b in a.boards) > MOST_ROWS


def boards_shown(request: Request, a: Assessment) -> frozenset[str]:
    """The boards that are shown: all of a small site, of a large one the board asked for, or the first that is not done."""
    every = [b.board.id for b in a.boards]
    asked = request.query_params.get("board", "")
    if not many_boards(a) or asked == EVERY:
        return frozenset(every)
    if asked in every:
        return frozenset({asked})
    lines = {b.board.id: board_line(b).worst for b in a.boards}
    return frozenset({next((name for name in every if lines[name] != MEETS), every[0])})


def order_of(a: Assessment) -> list[str]:
    """Everything that has tests, by id, in the order of the schedule."""
    site = a.visit.site
    boards = [i for b in site.boards for i in (b.id, *(c.id for c in site.circuits if c.board == b.id))]
    return [ORIGIN, *boards, *(e.id for e in site.electrodes), *(p.id for p in site.parts)]


def thing_of(request: Request, a: Assessment) -> Thing:
    """The origin, board, circuit or electrode of the address. Answers 404 when there is none."""
    for t in things(a):
        if t.id == request.path_params["of"]:
            return t
    raise HTTPException(404)


async def row_page(request: Request) -> Response:
    """GET every test of one thing: entry along a row."""
    found = opened_for(request, request.path_params["of"])
    return _row(request, found, Typed())


def _row(request: Request, found: Opened, typed: Typed) -> Response:
    a = judged(found)
    thing = thing_of(request, a)
    cells = [cell(a, thing, k, settings(request).blind) for k in thing.keys]
    order = order_of(a)
    place = order.index(thing.id)
    return show(
        request,
        found,
        "row.html",
        "map" if thing.kind == "part" else "circuits",
        typed,
        thing=thing,
        names=names_of([(thing, c) for c in cells], _sockets(thing, a)),
        cells=cells,
        words=[c.title for c in cells if c.word and not c.shown and c.key[0] not in NEVER_AT_ONCE],
        live=[c.title for c in cells if c.key[0] in LIVE],
        gates=gates_once(cells),
        acting=_acting(cells),
        drawings=_drawings(thing),
        picture=_profile_of(thing),
        sockets=_sockets(thing, a),
        ends_read=all(c.shown for c in cells if c.key[0].startswith("ring ")),
        last=undoable(request, found) if "said" in request.query_params else "",
        shows=shown_of(thing, cells),
        past=_past(found, a, thing),
        before=order[place - 1] if place else "",
        after=order[place + 1] if place + 1 < len(order) else "",
        earthing=earthing_near(a) if thing.kind == "origin" else "",
        edit=found.of(thing.kind, thing.id),
        action=f"{base(found)}/circuits/{part_of_address(thing.id)}",
        mend=mend_of_thing(a, thing),
        place=thing.circuit.circuit.location.strip() if thing.circuit is not None else "",
        asked=[r for t in thing.tests for r in t.asked if r.by_look],
        cpc_end=_cpc_end(thing),
        cpc_off=_cpc_end(thing) in state_now(a.visit.events).off,
        leads=leads_in_hand(a) if any(by_leads(k) for k in thing.keys) else None,
        lead_ends=[(x, say("tests.r2_" + x.lower().replace(" ", "_"))) for x in BETWEEN["r2"] if x],
    )


def _profile_of(thing: Thing) -> str:
    """The readings at the sockets of a ring drawn along its cable; empty where there are none."""
    judged = thing.circuit
    if judged is None or judged.ring is None or not judged.ring.sockets:
        return ""
    return drawn(ring_profile(judged.ring, judged.circuit))


def _cpc_end(thing: Thing) -> str:
    """The end by which the protective conductor of a radial is taken off; empty where there is none."""
    circuit = thing.circuit.circuit if thing.circuit else None
    return "" if circuit is None or circuit.kind == "ring" or circuit.cpc == "none" else f"{circuit.id}:cpc"


def _acting(cells: list[Cell]) -> bool:
    """Whether the live tests come next: nothing dead is left to read, and something live is."""
    left = {c.key[0] in LIVE for c in cells if not c.shown}
    return left == {True}


def gates_once(cells: list[Cell]) -> list[tuple[Gate, str]]:
    """Each closed gate once, with the tests it holds back."""
    held: dict[tuple[str, str], tuple[Gate, list[str]]] = {}
    for c in cells:
        for g in c.gates:
            held.setdefault((g.name, g.why), (g, []))[1].append(c.title)
    return [(g, ", ".join(titles)) for g, titles in held.values()]


def _drawings(thing: Thing) -> list[tuple[str, Markup, str]]:
    """How to connect each test of a thing, once for each kind of test."""
    found: dict[str, tuple[str, Markup, str]] = {}
    for test, between, _ in (*thing.keys, *((test, "", "") for test in SOCKETS if _is_ring(thing))):
        if test not in found:
            found[test] = (title_of(test), drawn(circuit_drawing(test, between=between)), connect_of(test))
    return list(found.values())


def _is_ring(thing: Thing) -> bool:
    return thing.circuit is not None and thing.circuit.circuit.kind == "ring"


def _sockets(thing: Thing, a: Assessment) -> list[tuple[str, dict[str, str]]]:
    """The points of a ring whose profile is entered, each with what was read there, and a few empty places."""
    if not _is_ring(thing) or thing.circuit is None:
        return []
    blank = dict.fromkeys(SOCKETS.values(), "")
    held: dict[str, dict[str, str]] = {name: dict(blank) for name, _ in thing.circuit.circuit.points}
    for test, short in SOCKETS.items():
        for r in readings(a.visit.events, thing.id, test):
            held.setdefault(r.point, dict(blank))[short] = reading_words(r)
    return [*held.items(), *[("", blank)] * (1 if held else MORE_SOCKETS)]


def _past(found: Opened, a: Assessment, thing: Thing) -> list[Past]:
    lines = []
    for r in a.visit.events:
        if isinstance(r, Reading) and r.of == thing.id and r.test in CIRCUIT_TESTS:
            what = " ".join(x for x in (title_of(r.test), r.between, r.method, r.point) if x)
            refused = "; ".join(f.what for f in r.refused)
            lines.append(Past(what, reading_words(r) or "–", refused or r.note, found.kept.event_at(r.line)))
    return lines


async def row_post(request: Request) -> Response:
    """POST what was entered along a row, all of it or none."""
    found = opened_for(request, request.path_params["of"])
    a = judged(found)
    thing = thing_of(request, a)
    form, _ = await form_of(request)
    typed = write_readings(request, found, form, [(thing, k) for k in thing.keys], _profile(thing, form))
    return (
        _row(request, found, typed)
        if typed
        else see_other(f"{base(found)}/circuits/{part_of_address(thing.id)}?said=1")
    )


def asked_board(request: Request, mark: str = "?") -> str:
    """The board of the address, to be kept from page to page."""
    board = request.query_params.get("board", "")
    return f"{mark}board={quote(board, safe='*')}" if board else ""


Wanted = tuple[str, dict[str, object], Key, str]  # field, body, key, of


def _profile(thing: Thing, form: Mapping[str, str]) -> list[Wanted]:
    """Readings at the sockets of a ring."""
    found: list[Wanted] = []
    for i in range(200):
        if f"p.{i}.ln" not in form and f"p.{i}.le" not in form:
            break
        for test, short in SOCKETS.items():
            value = form.get(f"p.{i}.{short}", "")
            if value:
                body: dict[str, object] = {
                    "read": test,
                    "of": thing.id,
                    "point": form.get(f"p.{i}.point", ""),
                    "shown": value,
                    **_beside(form),
                }
                found.append((f"p.{i}.{short}", body, (test, "", ""), thing.id))
    return found


def write_readings(
    request: Request,
    found: Opened,
    form: Mapping[str, str],
    places: list[tuple[Thing, Key]],
    more: list[Wanted],
    files: Files = (),
) -> Typed | None:
    """Write the readings of a form, and the files they come from. Returns it with every error at its field when anything is wrong."""
    a = judged(found)
    uid = uid_of(form)
    if any(e.id == uid for e in found.kept.events):
        return taken_back(found, form)
    form = {**form, **_good(a, places, form)} if form.get("all") == "good" else form
    wanted = [w for thing, key in places if (w := _wanted(thing, key, form)) is not None] + more
    errors: dict[str, tuple[str, ...]] = {} if wanted else {"": (say("tests.nothing"),)}
    drafts: list[dict[str, object]] = []
    reason, name = form.get("reason", ""), form.get("by", "")
    sets = [x.id for x in a.visit.leads]
    leads = form.get("leads") or (sets[0] if len(sets) == 1 else "")  # of one set alone nobody is asked
    for field, body, key, of in wanted:
        if "shown" in body and by_leads(key) and leads:
            body["leads"] = leads
        errors |= _refused(found, a, form, (field, body, key, of), leads_needed=bool(sets) and not leads)
        for gate in closed_gates(a, of, key) if "absent" not in body else ():  # what is not tested needs no gate
            if reason and name:
                drafts.append({"override": gate.name, "reason": reason, "by": name})
            else:
                errors["reason"] = (f"{gate.why} {gate.instead}".strip(),)
        drafts.append(body)
    errors = errors or conflict(found, form, drafts)
    return Typed(form, errors) if errors else write_steps(request, found, form, drafts, files)


def _refused(
    found: Opened, a: Assessment, form: Mapping[str, str], wanted: Wanted, *, leads_needed: bool
) -> dict[str, tuple[str, ...]]:
    """What is wrong with one reading, by field; ``leads_needed``: nobody said yet which set it was read through."""
    field, body, key, of = wanted
    errors: dict[str, tuple[str, ...]] = {}
    if "shown" in body and by_leads(key) and leads_needed:
        errors["leads"] = (say("tests.leads_needed"),)
    if said := step_errors(found, body):
        errors[field] = tuple(dict.fromkeys(x for v in said.values() for x in v))
    if field.startswith("p.") and not body["point"]:
        errors[field.rsplit(".", 1)[0] + ".point"] = (say("tests.point_needed"),)
    cpc_off = f"{of}:cpc" in state_now(a.visit.events).off
    if key[0] == "r2" and "shown" in body and "between" not in body and cpc_off:
        place = "between_r2" if "between_r2" in form else field
        errors[place] = (say("tests.r2_end_needed" if place != field else "tests.r2_end_elsewhere", circuit=of),)
    return errors


def _beside(form: Mapping[str, str]) -> dict[str, object]:
    """What is said once for all readings of a form."""
    return {name: form[name] for name in ("instrument", "note") if form.get(name)}


def _good(a: Assessment, places: list[tuple[Thing, Key]], form: Mapping[str, str]) -> dict[str, str]:
    """Good for every test whose outcome is a word, that the form shows and nobody read yet."""
    cells = (cell(a, thing, key, False) for thing, key in places if not CIRCUIT_TESTS[key[0]].unit)
    known = (c for c in cells if c.key[0] not in NEVER_AT_ONCE)
    return {c.name: "good" for c in known if not c.shown and form.get(c.name) == ""}


def _wanted(thing: Thing, key: Key, form: Mapping[str, str]) -> Wanted | None:
    test, between, method = key
    field = f"c.{thing.id}.{'.'.join(key)}"
    value = form.get(field, "")
    if not value:
        return None
    body: dict[str, object] = {"read": test, "of": thing.id}
    which = "point" if test == FUNCTIONAL else "method"
    body |= {k: v for k, v in (("between", between), (which, method)) if v}
    absent = next((x for x in ABSENT if x.lower() == value.lower()), "")
    if absent:
        body["absent"] = absent
    elif not CIRCUIT_TESTS[test].unit:
        body["outcome"] = value if value in OUTCOMES else value.lower()
    else:
        body["shown"] = value
    if test == "r2" and form.get("between_r2"):
        body["between"] = form["between_r2"]
    body |= _beside(form)
    if test == "insulation" and form.get("test_v"):
        body["test_v"] = form["test_v"]
    return field, body, key, thing.id
