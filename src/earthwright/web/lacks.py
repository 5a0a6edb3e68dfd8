"""What a document still lacks, each with the page and the field where it is entered."""

from __future__ import annotations

import re
from urllib.parse import quote, urlencode

from attrs import frozen

from ..outcomes.assessment import Assessment
from ..paper.requirements import Missing, missing_fields
from ..report.observations import unanswered
from ..site.events import ORIGIN
from ..site.inspection import INITIAL_ITEMS, PERIODIC_ITEMS
from ..site.needs import CROSSED, EVERY
from .address import key_of, part_of_address
from .entrywords import VERBS
from .specs import FIXED
from .words import say
from .work import Opened

# Fields of a board's and of a circuit's form by the words of the schedule, and the tests by theirs.
OF_BOARD = {
    "Where": "where",
    "Live conductors": "live",
    "Nominal voltage": "u0_v",
    "Main switch": "switch.kind",
    "Residual current device": "rcd.rcd_type",
    "Surge protection": "spd_type",
    "Residual current device as main switch": "rcd.rcd_type",
    "Rated residual current IΔn": "rcd.rcd_ma",
    "Delay of that device": "rcd.rcd_delay",
}
READ_AT_BOARD = {
    "RCD time at IΔn": "rcd..x1",
    "RCD button": "rcd button..",
    "Zs at the board": "zdb..",
    "Ipf at the board": "fault current.L-E.",
    "Polarity": "polarity..",
    "Phase sequence": "phase sequence..",
}
OF_CIRCUIT = {
    "description": "name",
    "kind of wiring": "wiring",
    "reference method": "reference",
    "points served": "points",
    "size of the live conductors": "line_mm2",
    "size of the protective conductor": "cpc_mm2",
    "standard of the device": "device",
    "type of the device": "device",
    "rating of the device": "device",
    "breaking capacity": "breaking_ka",
    "standard of the residual current device": "rcd_standard",
    "type of the residual current device": "rcd_type",
    "rated current of the residual current device": "rcd_rating_a",
    "rated residual current": "rcd_ma",
}
# What a paper calls a test of a circuit → the place where a page takes it.
READ_ON_CIRCUIT = {name: ".".join(n.key) for n in reversed(EVERY) for name in (n.said, n.names)} | {
    "R1+R2": "r1r2..",
    "R2": "r2..",
    "L–L, L–N": "insulation.L-N.",
    "L–E": "insulation.L-E.",
    "Polarity": "polarity..",
    "highest permitted Zs": "zs..",
    "RCD": "rcd..x1",
}
CROSSED_ENDS = {need.said: end for need, end in zip(CROSSED, ("ln", "le"), strict=True)}
INITIAL, PERIODIC = "initial", "periodic"
SINGLE = ("visit", "supply", "report", "origin", "danger")


@frozen
class Lack:
    """Something a document still needs, with the way to its field."""

    words: str
    link: str
    group: str


def lacks(found: Opened, a: Assessment, document: str) -> list[Lack]:
    """What is missing, each with a link to its field."""
    made = []
    for m in missing_fields(a, document):
        group, _, what = m.what.partition(": ")
        words = (what or m.what) + (f" ({m.why})" if m.why else "")
        made.append(Lack(words, link_for(found, a, m), group if what else say("paper.other")))
    return made


def link_for(found: Opened, a: Assessment, m: Missing) -> str:
    """The page where a missing entry is entered, and its field behind the mark."""
    here = f"/v/{found.id}"
    where, what = m.where, m.what.rpartition(": ")[2]
    if m.what == "An entry cannot be read":
        return f"{here}/{_unread(found, where)}"
    if where.startswith("earthwright sign"):
        return "#f-name"
    if re.search(r"'\w+' in \[origin\] not_present", where):
        return f"{here}/{_single(found, 'origin', 'not_present')}"
    if "[report] not_recorded" in where:
        return f"{here}/{_single(found, 'report', 'not_recorded')}"
    table, rest = _table(where)
    if table in SINGLE:
        return f"{here}/{_single(found, table, re.split(r'[^a-z_0-9]', rest)[0])}"
    if table == "inspected":
        other = PERIODIC if items_of(a) == INITIAL else INITIAL
        mine = {i.id for i in (INITIAL_ITEMS if items_of(a) == INITIAL else PERIODIC_ITEMS)}
        return f"{here}/inspected{'' if rest in mine else f'?list={other}'}#f-{rest}"
    if table == "observation.then" and what == "put right and checked":
        return f"{here}/remedy/{part_of_address(rest.removeprefix('of '))}#f-stage"
    if table == "observation" or table.startswith("observation"):
        return f"{here}/{_observation(found, a, where, rest)}"
    if table == "departure":
        asked = dict(re.findall(r'(of|test) = "([^"]*)"', rest))
        return f"{here}/add/departure?{urlencode(asked)}#f-reason"
    if table == "instrument":
        return f"{here}/{_entry(found, table, rest, 'serial')}"
    if table == "electrode":
        return f"{here}/{_electrode(found, rest)}"
    if table == "board":
        return f"{here}/{_board(found, rest, what)}"
    if table == "circuit":
        return f"{here}/{_circuit(found, a, rest, what)}"
    if table in ("part", "bond"):
        return f"{here}/{'add/bond#f-part' if a.visit.site.parts else 'add/part#f-kind'}"
    return f"{here}/{_reading(a, where, what)}"


def items_of(a: Assessment) -> str:
    """Which schedule of inspections a visit of its kind fills in, unless another is asked for."""
    return INITIAL if a.visit.kind in ("initial", "minor works") else PERIODIC


def _table(where: str) -> tuple[str, str]:
    found = re.match(r"\[\[?([a-z.]+)\]?\]\s*(.*)", where)
    return (found[1], found[2]) if found else ("", where)


def _single(found: Opened, table: str, field: str) -> str:
    entry = found.single(table)
    return f"entry/{entry.id}#f-{field}" if entry else f"add/{table}#f-{field}"


def _entry(found: Opened, table: str, name: str, field: str) -> str:
    """The field of an entry; of a new one when there is none of that name."""
    entry = found.of(table, name)
    return f"entry/{entry}#f-{field}" if entry else f"add/{table}#f-{field}"


def _read(of: str, cell: str) -> str:
    return f"circuits/{part_of_address(of)}#f-c.{of}.{cell}"


def _unread(found: Opened, where: str) -> str:
    """The entry that could not be read: ``circuit c5: device``, ``step 3: shown``, ``visit``."""
    title = where.split(": ")[0]
    kind, _, name = title.partition(" ")
    entry = found.of(kind, name) if name else ""
    for e in found.kept.entries:
        if e.struck is None and not entry and e.kind == kind and name in ("", str(e.number + 1)):
            entry = e.id
    key = where.partition(": ")[2].replace(": ", ".")
    hidden = not key or key in FIXED.get(kind, ()) or (kind == "step" and key in VERBS)
    return f"entry/{entry}#f-{'why' if hidden else key}" if entry else "steps"


def _observation(found: Opened, a: Assessment, where: str, rest: str) -> str:
    proposal = next((p for p in unanswered(a) if where.endswith(f'about = "{p.about}", answers = "{p.name}"')), None)
    if proposal is not None:
        return f"findings/{key_of(proposal.name, proposal.about, proposal.what)}#f-code"
    if item := re.match(r'about = "(.*)"$', rest):
        return f"add/observation?about={quote(item[1])}#f-what"
    if rest.startswith("of "):
        return _entry(found, "observation", rest.removeprefix("of "), "then.0.stage")
    name, _, field = rest.partition(" ")
    return _entry(found, "observation", name, field or "code")


def _electrode(found: Opened, field: str) -> str:
    blank = (
        e for e in found.kept.entries if e.kind == "electrode" and e.struck is None and not e.body.get(field or "kind")
    )
    entry = next(blank, None)
    return f"entry/{entry.id}#f-{field or 'kind'}" if entry else f"add/electrode#f-{field or 'kind'}"


def _board(found: Opened, rest: str, what: str) -> str:
    name = rest.removesuffix(", or its readings").removesuffix(", [board.rcd]")
    if what in READ_AT_BOARD:
        return _read(name, READ_AT_BOARD[what])
    if what in ("Device that feeds it", "Phases", "Supplied from"):
        return _entry(found, "board", name, "fed_by")
    if what == "Tested by, on":
        return _single(found, "visit", "inspector")
    return _entry(found, "board", name, OF_BOARD.get(what, "id"))


def _read_on(a: Assessment, name: str, what: str) -> str:
    """The cell of a circuit's test; R1+R2 of a ring is read at its sockets."""
    ring = any(c.id == name and c.kind == "ring" for c in a.visit.site.circuits)
    if ring and what in (*CROSSED_ENDS, "R1+R2", "R2"):
        return f"circuits/{part_of_address(name)}#f-p.0.{CROSSED_ENDS.get(what, 'le')}"
    return _read(name, READ_ON_CIRCUIT.get(what, "zs.."))


def _circuit(found: Opened, a: Assessment, rest: str, what: str) -> str:
    name, field = rest, ""
    if not found.of("circuit", name):  # with the key behind the id
        known = (str(e.body.get("id", "")) for e in found.kept.entries if e.kind == "circuit")
        name = next((k for k in known if rest.startswith(f"{k} ")), rest)
        field = rest[len(name) :].split(" or ")[0].strip()
    if what in READ_ON_CIRCUIT:
        return _read_on(a, name, what)
    if what == "longest disconnection time":
        return _single(found, "supply", "system")
    return _entry(found, "circuit", name, field or OF_CIRCUIT.get(what, "name"))


def _reading(a: Assessment, where: str, what: str) -> str:
    """Where a reading or a step is written; ``where`` names its thing, or what lacks it is the only one."""
    site = a.visit.site
    if of := re.match(r"\[?\[?(?:step\]\] read|a reading) of (.+)$", where):
        if of[1] == "polarity at the origin, or [origin] polarity":
            return _read(ORIGIN, "polarity..")
        return _read_on(a, of[1], what)
    if of := re.match(r"a reading rcd of (.+)$", where):
        return _read(of[1], "rcd..x1")
    if where == "a reading zdb of the board":
        board = next((c.board for c in site.circuits if c.id == a.visit.paperwork.report.circuit), "")
        board = board or next((b.id for b in site.boards), "")
        return _read(board, "zdb..") if board else "add/board#f-id"
    if where.startswith("[[step]] on"):
        return "steps#f-on"
    if what == "Electrode, resistance" and not site.electrodes:
        return "add/electrode#f-kind"
    if what == "Electrode, resistance":
        unread = (e.electrode.id for e in a.electrodes if not any(t.readings for t in e.tests))
        return _read(next(unread, site.electrodes[0].id), "electrode..rod alone")
    bond = next((b.bond.id for b in a.bonds if not b.readings), "")
    if bond and ("[[step]] read" in where or "bonds" in where):
        return f"bond/{part_of_address(bond)}/conductor"
    if "bonds" in where:
        return "add/bond#f-part" if site.parts else "add/part#f-kind"
    return "inspected" if "inspected" in where else "steps"
