"""One entry later: a visit read on from where it was, and judged only as far as one page needs it.

Reading and judging a works of sixty circuits anew for each entry would make a person wait. A further step changes
nothing that stands before it, so it is read on top; and a circuit is judged from its own readings, its boards, the
origin and the state. What comes out is the same as judging everything (the tests hold them against each other).
"""

from __future__ import annotations

from collections import OrderedDict
from weakref import WeakKeyDictionary

from attrs import evolve

from .. import __version__
from ..assess.bond import judge_bond
from ..assess.circuits import judge_installation
from ..assess.earth import Earth
from ..assess.extraneous import judge_parts
from ..assess.gaps import Held, hold_bond, hold_installation, hold_part
from ..assess.rulings import Rulings
from ..base.errors import Finding
from ..desk import Desk
from ..evidence.bond import Model
from ..outcomes.assessment import Assessment, BondJudged, NotJudged
from ..records import NoSuch
from ..records.event import Kept
from ..records.json_values import from_json
from ..records.replay import JOURNAL, EntryNow, Replayed
from ..site import plausible
from ..site.events import ORIGIN, Off, On, Reading
from ..site.ledger import still_off
from ..site.visit import Visit
from ..visitbook import ReadBook
from ..visitbook.fields import Entry
from ..visitbook.lines import Lines
from ..visitbook.read import Book
from ..visitbook.steps import _step
from ..visitbook.walk import Walk
from .work import Opened

KEPT = 16
# Keys that may change what stands before a step: points that were not named yet.
NOT_QUICK = ("point", "at_points")
_held: WeakKeyDictionary[Desk, OrderedDict[str, Replayed]] = WeakKeyDictionary()
_judged: WeakKeyDictionary[Desk, OrderedDict[tuple[str, str, str], Assessment | None]] = WeakKeyDictionary()


class _Line(Lines):
    """In place of a line in a file: the number of the one event that is read."""

    def __init__(self, seq: int) -> None:
        super().__init__("")
        self._seq = seq

    def of(self, table: str, number: int = 0, key: str = "") -> int:
        """The number of the event."""
        return self._seq


def read_on(desk: Desk, visit_id: str) -> Replayed:
    """The visit as it stands, read on from where it was when only steps came since. Raises NoSuch.

    Its tables and the hash for signatures are those of the last full reading; pages that need them ask the desk.
    """
    held = _held.setdefault(desk, OrderedDict())
    _, head = desk.store.visit_head(visit_id)
    if not head:
        raise NoSuch(f"There is no visit '{visit_id}'.")
    found = held.get(visit_id)
    if found is None or found.head != head:
        new = desk.store.events(visit_id, after=found.events[-1].no) if found is not None else []
        found = _read_on(found, new) if found is not None and new else None
        found = found or desk.read(visit_id)
        held[visit_id] = found
        held.move_to_end(visit_id)
        while len(held) > KEPT:
            held.popitem(last=False)
    return found


def _read_on(before: Replayed, new: list[Kept]) -> Replayed | None:
    """The visit with further steps; None when something else came, or a step that touches what stands before it."""
    visit = before.book.visit
    if visit is None or any(e.kind != "step" or any(k in e.body for k in NOT_QUICK) for e in new):
        return None
    findings = list(before.book.findings)
    walk = walk_on(visit, before.book.broken)
    number = sum(e.kind == "step" and e.struck is None for e in before.entries)
    entries = []
    for n, event in enumerate(new):
        body = {k: from_json(v, k) for k, v in event.body.items()}
        title = f"step {number + n + 1}"
        said = walk.book.findings
        _step(walk, Entry(body, "step", number + n, title, _Line(event.seq), JOURNAL, said, loose=True))
        entries.append(EntryNow(event, "step", event.body, number + n, event))
    walk.void_lost_checks()
    findings += walk.book.findings
    unread = (*visit.unread, *walk.book.unread)
    book = ReadBook(evolve(visit, events=tuple(walk.events), unread=unread), tuple(findings), before.book.broken)
    return evolve(
        before,
        events=(*before.events, *new),
        entries=(*before.entries, *entries),
        book=book,
        head=new[-1].hash,
    )


def walk_on(visit: Visit, broken: tuple[str, ...]) -> Walk:
    """The steps of a visit read so far, ready for one more."""
    walk = Walk(Book({}, Lines(""), JOURNAL, loose=True), visit)
    walk.book.broken.extend(broken)
    walk.events = list(visit.events)
    walk.readings = sum(isinstance(e, Reading) for e in visit.events)
    for e in visit.events:
        if isinstance(e, Off) and e.what not in walk.off:
            walk.off.append(e.what)
        elif isinstance(e, On) and e.what in walk.off:
            walk.off.remove(e.what)
    return walk


def faults_of(visit: Visit, broken: tuple[str, ...], body: dict[str, object]) -> list[Finding]:
    """What is wrong with one more step, read exactly as the visit book would read it, without reading the rest."""
    walk = walk_on(visit, broken)
    _step(walk, Entry(body, "step", 0, "step 1", Lines(""), JOURNAL, walk.book.findings, loose=True))
    return walk.book.findings


def open_for(desk: Desk, visit_id: str, of: str) -> Opened:
    """A visit with one thing judged: origin, board, circuit, electrode, part or bond. Raises NoSuch."""
    kept = read_on(desk, visit_id)
    visit = kept.book.visit
    judged = _judged.setdefault(desk, OrderedDict())
    key = (visit_id, kept.head, of)
    if key not in judged:  # the form of a post was made from the same state a moment ago
        judged[key] = None if visit is None else judge_for(visit, kept.book.broken, of)
        while len(judged) > 4 * KEPT:
            judged.popitem(last=False)
    return Opened(kept, judged[key])


def judge_for(visit: Visit, broken: tuple[str, ...], of: str) -> Assessment:
    """What one thing needs to be judged, judged; the visit itself is whole, its findings are left out."""
    rulings = Rulings(visit)
    model = Model()
    earth = Earth(visit, rulings, model)  # of the whole visit: what else joins a point to earth is not reduced
    held = Held(visit, (d.unread for d in plausible.doubts(visit) if d.unread is not None))
    part = hold_installation(judge_installation(_reduced(visit, of), rulings, earth), held)
    parts = {p.id for p in visit.site.parts}
    bonds: list[BondJudged] = []
    missing = [NotJudged(name, "its entry could not be read") for name in broken]
    for bond in visit.site.bonds:
        if of in (bond.id, bond.part):
            r = rulings.mohm_per_m(bond, visit.temp_c)
            if r is None:
                missing.append(NotJudged(bond.id, "the resistance of its conductor is not in the data"))
            else:
                bonds.append(hold_bond(judge_bond(visit, bond, r, rulings, model, part.alarms, earth), held))
    return Assessment(
        visit=visit,
        program=__version__,
        editions=rulings.editions,
        model=model,
        bonds=tuple(bonds),
        not_judged=tuple(missing),
        findings=(),
        still_off=still_off(visit.events),
        origin=part.origin,
        boards=part.boards,
        electrodes=part.electrodes,
        alarms=part.alarms,
        found=part.found,
        parts=tuple(hold_part(p, held) for p in judge_parts(visit, bonds, rulings) if p.part.id == of)
        if of in parts
        else (),
    )


def _reduced(visit: Visit, of: str) -> Visit:
    """The visit with the circuits that a thing is judged from: itself and those that feed it, with their readings."""
    site = visit.site
    named = {c.id: c for c in site.circuits}
    boards = {b.id: b for b in site.boards}
    wanted: list[str] = []
    board = of if of in boards else named[of].board if of in named else ""
    if of in named:
        wanted.append(of)
    elif of in boards:
        wanted += [c.id for c in site.circuits if c.board == of]
    while board in boards and (feeder := boards[board].fed_by) in named and feeder not in wanted:
        wanted.append(feeder)
        board = named[feeder].board
    if of == ORIGIN:
        wanted = []
    left_out = set(named) - set(wanted)
    circuits = tuple(c for c in site.circuits if c.id in wanted)
    events = tuple(e for e in visit.events if not (isinstance(e, Reading) and e.of in left_out))
    return evolve(visit, site=evolve(site, circuits=circuits), events=events)
