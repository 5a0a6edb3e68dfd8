"""Paperwork in a visit book: particulars, inspection items, observations, signatures."""

from __future__ import annotations

import difflib
import hashlib
import json
import re
from collections.abc import Callable, Iterable, Mapping
from copy import copy
from typing import TYPE_CHECKING, Any, TypeVar, cast

from attrs import evolve

from ..base.errors import Severity
from ..site.codes import DC, LIVE, RCD_SWITCH
from ..site.events import ORIGIN, Reading
from ..site.fields import fields_of
from ..site.inspection import INITIAL, INITIAL_OUTCOMES, ITEMS, PERIODIC, PERIODIC_OUTCOMES, SPLIT, lines_of
from ..site.installation import PART_KINDS, Site
from ..site.particulars import (
    CONFIRMED,
    DRAWN,
    NO_CODE,
    OVERTAKEN,
    Danger,
    Departure,
    Inspected,
    Observation,
    Origin,
    Particulars,
    Receipt,
    Sign,
    Stage,
)
from ..site.pictures import Picture
from ..site.strokes import ON_PAD, wrong_with
from ..site.visit import Visit
from .fields import Entry
from .values import values

if TYPE_CHECKING:
    from .read import Book

_HASH = re.compile("[0-9a-f]{64}")


Act = TypeVar("Act", Sign, Receipt)
GIVEN = ("sign", "receipt")  # tables that stand beside the version they name, and are no part of it


def content_hash(data: Mapping[str, object]) -> str:
    """SHA-256 of a visit's entries without signatures and receipts [64 hex digits]: what a signature freezes.

    Remarks and layout of the file do not count; every value does, with its digits as typed. The same whether the
    entries came as text or as tables.
    """
    return Content(data).hash


class Content:
    """The entries of a visit as they are hashed, each step by itself, so that with a further step only that one is written."""

    def __init__(self, data: Mapping[str, object]) -> None:
        kept = {key: value for key, value in data.items() if key not in GIVEN and value is not None}
        steps = kept.pop("step", None) if isinstance(kept.get("step"), list) else None
        self._tables = {key: _written(value) for key, value in kept.items()}
        self._steps = None if steps is None else [_written(step) for step in cast(list[object], steps)]

    def further(self, steps: Iterable[object]) -> Content:
        """The same with further steps behind those there are."""
        longer = copy(self)
        longer._steps = [*(self._steps or ()), *map(_written, steps)]
        return longer

    @property
    def hash(self) -> str:
        """As :func:`content_hash` says."""
        tables = self._tables if self._steps is None else {**self._tables, "step": f"[{', '.join(self._steps)}]"}
        text = ", ".join(f"{_written(key)}: {tables[key]}" for key in sorted(tables))
        return hashlib.sha256(f"{{{text}}}".encode("utf-8", "replace")).hexdigest()


def _written(value: object) -> str:
    return json.dumps(_canonical(value), ensure_ascii=False, sort_keys=True)


def _canonical(value: object) -> object:
    if isinstance(value, str):  # most are
        return str(value)
    if isinstance(value, Mapping):
        return {str(k): _canonical(v) for k, v in value.items() if v is not None}
    if isinstance(value, list):
        return [_canonical(v) for v in value]
    return str(value).lower() if isinstance(value, bool) else str(value)


def read_report(book: Book, visit: Visit) -> Visit:
    """The ``report`` table; takes the hash of the whole book on the way."""
    e = book.entry("report")
    report = Particulars(**values(e, Particulars))
    e.close()
    if report.circuit and report.circuit not in {c.id for c in visit.site.circuits}:
        e.fault("circuit", f"There is no circuit '{report.circuit}'.", "the id of a circuit", report.circuit)
    return evolve(visit, paperwork=evolve(visit.paperwork, report=report, content=book.content.hash))


def read_origin(book: Book, visit: Visit) -> Visit:
    """The ``origin`` table: what no reading gives."""
    e = book.entry("origin")
    origin = Origin(**values(e, Origin))
    _origin_agrees(e, origin, visit.site)
    for name in origin.not_present:
        if name not in PART_KINDS:
            e.fault("not_present", f"'{name}' is no kind of part.", "from: " + ", ".join(PART_KINDS), name)
    e.close()
    return evolve(visit, paperwork=evolve(visit.paperwork, origin=origin))


def _origin_agrees(e: Entry, origin: Origin, site: Site) -> None:
    """What the origin may not say at the same time, and what the rules are not asked for."""
    live = LIVE.get(origin.live)
    if live is not None and origin.current and origin.current != live.current:
        e.fault("current", f"'{origin.live}' is {live.words}.", live.current, origin.current)
    if live is not None and live.phases != site.supply.phases:
        expected = f"{live.phases} phases in [supply]"
        e.fault("live", f"'{origin.live}' is {live.words}.", expected, f"{site.supply.phases}")
    if origin.current == DC or (live is not None and live.current == DC):
        what = "The rules for direct current are not held here: what is judged is judged as if it were AC."
        e.fault("current", what, "a judgement of your own", DC, severity=Severity.WARNING)
    has_rcd = origin.switch_rcd_type or origin.switch_rcd_ma is not None or origin.switch_kind == RCD_SWITCH
    if origin.switch_rcd == "none" and (has_rcd or e.has("switch_rcd_delay")):
        e.fault("switch_rcd", "The main switch is said to be a residual current device.", "no switch_rcd", "none")
    first = [b for b in site.boards if not b.fed_by]
    switch = first[0].switch if len(first) == 1 else None
    if switch is None or (origin.switch_where and not first[0].is_at(origin.switch_where)):
        return  # no such board, or a switch that stands elsewhere
    for key, there in (
        ("switch_kind", switch.kind),
        ("switch_standard", switch.standard),
        ("switch_a", switch.rating_a),
        ("switch_v", switch.rated_v),
        ("switch_fuse_a", switch.fuse_a),
    ):
        here = getattr(origin, key)
        if here and there and here != there:
            what = f"Board '{first[0].id}' says something else of its main switch. Are there two?"
            do = "Where it is the same switch, say it there and take it out here."
            e.fault(key, what, str(there), str(here), do, Severity.WARNING)


def read_danger(book: Book, visit: Visit) -> Visit:
    """The ``danger`` table: what was done on the spot."""
    e = book.entry("danger")
    danger = Danger(**values(e, Danger))
    e.close()
    return evolve(visit, paperwork=evolve(visit.paperwork, danger=danger))


def read_inspected(book: Book, visit: Visit) -> Visit:
    """The ``inspected`` table: item = "outcome" or "outcome: what was seen".

    An item of earlier visit books stands for the lines it was split into; a line that is entered itself goes before.
    """
    e = book.entry("inspected")
    known = {i.id: i.kind for i in ITEMS} | dict.fromkeys(SPLIT, PERIODIC)
    found: dict[str, Inspected] = {}
    for key in sorted(e.keys(), key=lambda k: k not in SPLIT):
        if key not in known:
            continue  # told by close() together with every other key that is not known
        typed = e.text(key, need=True)
        outcome, _, note = typed.partition(":")
        outcome = outcome.strip()
        allowed = INITIAL_OUTCOMES if known[key] == INITIAL else PERIODIC_OUTCOMES
        if typed and outcome not in allowed:
            near = difflib.get_close_matches(outcome, allowed, 1)
            do = f"Did you mean '{near[0]}'?" if near else ""
            e.fault(key, "This is no outcome of an inspection item.", "one of: " + ", ".join(allowed), outcome[:80], do)
        elif typed:
            found |= {line: Inspected(line, outcome, note.strip()) for line in lines_of(key)}
    _close_items(e, known)
    return evolve(visit, paperwork=evolve(visit.paperwork, inspected=tuple(found.values())))


def _close_items(e: Entry, known: Mapping[str, object]) -> None:
    for key in tuple(e.keys()):
        if key not in known:
            near = difflib.get_close_matches(key, known, 1)
            do = f"Did you mean '{near[0]}'?" if near else "See the list: earthwright observe --items"
            e.fault(key, "There is no inspection item of that name.", "the name of an item", key[:80], do)


def read_observations(book: Book, visit: Visit) -> Visit:
    """The ``observation`` tables, each with what became of it."""
    found: list[Observation] = []
    readings = {r.id for r in visit.events if isinstance(r, Reading)}
    for number, e in enumerate(book.entries("observation"), 1):
        name = e.text("id") or str(number)
        if name in {o.id for o in found}:
            e.fault("id", f"'{name}' is taken by another observation.", "a number or name of its own", name)
        observation = Observation(name, stages=_stages(book, e, visit, readings), **values(e, Observation))
        if not observation.what and observation.code != NO_CODE:
            e.fault("what", "This is needed and is missing.", "what was found", "nothing")
        e.close()
        found.append(observation)
    return evolve(visit, paperwork=evolve(visit.paperwork, observations=tuple(found)))


def _stages(book: Book, parent: Entry, visit: Visit, readings: set[str]) -> tuple[Stage, ...]:
    raw = parent.raw("then")
    if raw is None:
        return ()
    if not isinstance(raw, list):
        parent.fault("then", "This cannot be read.", "[[observation.then]] tables", type(raw).__name__)
        return ()
    found: list[Stage] = []
    for number, table in enumerate(raw, 1):
        title = f"{parent.title}: then {number}"
        e = Entry(table, "observation.then", number - 1, title, book.lines, book.file, book.findings, book.loose)
        said = values(e, Stage)
        stage = Stage(**{**said, "on": said["on"] or visit.date})
        if stage.reading and stage.reading not in readings:
            e.fault(
                "reading", f"There is no reading '{stage.reading}' in this visit.", "the id of a reading", stage.reading
            )
        if stage.stage == CONFIRMED and not (stage.reading or stage.seen):
            e.fault("", "A confirmation says by what.", "a reading, or what was seen", "neither")
        if stage.stage == OVERTAKEN and not (stage.what or stage.seen or stage.reading):
            e.fault("what", "Say why it no longer applies.", "what was done, or what was seen", "neither")
        if found and stage.on < found[-1].on:
            e.fault("on", "This is earlier than the stage before it.", f"{found[-1].on} or later", str(stage.on))
        e.close()
        parent.broken = parent.broken or e.broken
        found.append(stage)
    return tuple(found)


def read_departures(book: Book, visit: Visit) -> Visit:
    """The ``departure`` tables: thing and result, and why it is certified all the same."""
    s = visit.site
    named = {x.id for some in (s.bonds, s.parts, s.boards, s.circuits, s.electrodes) for x in some}
    known = {*named, ORIGIN, "danger", *book.broken}
    found: list[Departure] = []
    for e in book.entries("departure"):
        d = Departure(**values(e, Departure))
        if d.of and d.of not in known:
            e.fault(
                "of", f"There is nothing called '{d.of}'.", "a circuit, board, electrode, bond, part or origin", d.of
            )
        if (d.of, d.test) in {(x.of, x.test) for x in found}:
            e.fault("test", "This result has a departure already.", "one entry for each result", d.test)
        e.close()
        if not e.broken:
            found.append(d)
    return evolve(visit, paperwork=evolve(visit.paperwork, departures=tuple(found)))


def read_signs(book: Book, visit: Visit) -> Visit:
    """The ``sign`` tables; each says which version of the visit it signed."""
    return evolve(visit, paperwork=evolve(visit.paperwork, signs=_given(book, "sign", Sign)))


def read_receipts(book: Book, visit: Visit) -> Visit:
    """The ``receipt`` tables; each says which version of which document somebody received."""
    return evolve(visit, paperwork=evolve(visit.paperwork, receipts=_given(book, "receipt", Receipt)))


def _given(book: Book, table: str, kind: type[Act]) -> tuple[Act, ...]:
    found = []
    key = next(f.key for f in fields_of(cast("Any", kind)) if f.name == "strokes")
    for e in book.entries(table):
        act = kind(**values(e, kind))
        if wrong := wrong_with(act.strokes):
            e.fault(key, wrong, ON_PAD, f"{len(act.strokes)} strokes")
        if bool(act.strokes) != (act.how == DRAWN):
            said = "strokes" if act.strokes else "none"
            e.fault(key, f'Strokes and how = "{DRAWN}" go together.', "both or neither", said)
        e.close()
        if not e.broken:
            found.append(act)
    return tuple(found)


def read_pictures(book: Book, visit: Visit) -> Visit:
    """The ``picture`` tables: photographs and sketches, each named by the hash of its file."""
    found: list[Picture] = []
    for e in book.entries("picture"):
        picture = Picture(**values(e, Picture))
        if picture.hash and not _HASH.fullmatch(picture.hash):
            e.fault("hash", "This is no SHA-256.", "64 hex digits; earthwright picture writes them", picture.hash[:80])
        if picture.of and not _names_something(picture.of, visit):
            what = "It is printed by itself: there is nothing of that kind and name."
            e.fault(
                "of", what, "such as bond gas, circuit c1, observation 1", picture.of[:80], severity=Severity.WARNING
            )
        e.close()
        if not e.broken and _HASH.fullmatch(picture.hash):
            found.append(picture)
    return evolve(visit, paperwork=evolve(visit.paperwork, pictures=tuple(found)))


def _names_something(of: str, visit: Visit) -> bool:
    kind, _, name = of.partition(" ")
    s = visit.site
    things: dict[str, Iterable[Any]] = {
        "bond": s.bonds, "part": s.parts, "board": s.boards, "circuit": s.circuits, "electrode": s.electrodes,
        "observation": visit.paperwork.observations,
    }  # fmt: skip
    return of == ORIGIN or any(x.id == name for x in things.get(kind, ()))


# Table of the visit book → what reads it.
READERS: dict[str, Callable[[Book, Visit], Visit]] = {
    "report": read_report,
    "origin": read_origin,
    "danger": read_danger,
    "inspected": read_inspected,
    "observation": read_observations,
    "departure": read_departures,
    "picture": read_pictures,
    "sign": read_signs,
    "receipt": read_receipts,
}
