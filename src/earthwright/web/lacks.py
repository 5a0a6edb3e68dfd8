"""What a document still lacks, each with the page and the field where it is entered."""

from __future__ import annotations

from urllib.parse import urlencode

from attrs import frozen

from ..outcomes.assessment import Assessment
from ..paper.requirements import missing_fields
from ..records.replay import EntryNow
from ..report.observations import unanswered
from ..site.at import INSPECTED, SIGN, STEP, At, Test
from ..site.inspection import INITIAL_ITEMS, PERIODIC_ITEMS
from ..site.tables import SINGLE, named_by
from ..site.tests import BY_NAME, CPC, CROSSED
from ..site.visit import NEW_WORK
from .address import key_of, part_of_address
from .entrywords import VERBS
from .specs import SPECS
from .words import say
from .work import Opened

INITIAL, PERIODIC = "initial", "periodic"
# Readings of a ring that are taken at its sockets → the end of their cell.
AT_SOCKETS = {t: "ln" if "neutral" in BY_NAME[t].through else "le" for t in (*CROSSED, *CPC)}


@frozen
class Lack:
    """Something a document still needs, with the way to its field."""

    words: str
    link: str
    group: str
    at: At


def lacks(found: Opened, a: Assessment, document: str) -> list[Lack]:
    """What is missing, each with a link to its field."""
    made = []
    for m in missing_fields(a, document):
        words = m.name + (f" ({m.why})" if m.why else "")  # how it is written in a visit book is no word of a page
        made.append(Lack(words, link_for(found, a, m.at), m.group or say("paper.other"), m.at))
    return made


def items_of(a: Assessment) -> str:
    """Which schedule of inspections a visit of its kind fills in, unless another is asked for."""
    return INITIAL if a.visit.kind in NEW_WORK else PERIODIC


def link_for(found: Opened, a: Assessment, at: At) -> str:
    """The page where something is entered, and its field behind the mark."""
    if at.table == SIGN:
        return "#f-name"
    return f"/v/{found.id}/{_reading(a, at.id, at.test) if at.test else _page(found, a, at)}"


def entry_of(found: Opened, at: At) -> EntryNow | None:
    """The entry that a place names, by its id or its number; None for one that is still to be made."""
    if not at.id:
        return found.single(at.table) if at.table in SINGLE else None
    numbered = (e for e in found.kept.entries if e.struck is None and e.kind == at.table and str(e.number + 1) == at.id)
    return found.entry(found.of(at.table, at.id)) or next(numbered, None)


def key_in_form(at: At) -> str:
    """The field of a form that a place stands for: the first of it where no field is named."""
    return {"then": "then.0.stage", "": SPECS[at.table][0].key if at.table in SPECS else ""}.get(at.key, at.key)


def _page(found: Opened, a: Assessment, at: At) -> str:
    begins = dict(at.new)
    if at.table == INSPECTED:
        return _inspected(a, at.key)
    if "stage" in begins:
        return f"remedy/{part_of_address(at.id)}#f-stage"
    for p in unanswered(a):
        if begins == {"about": p.about, "answers": p.name}:
            return f"findings/{key_of(p.name, p.about, p.what)}#f-code"
    if at.table == "bond" and not at.id and not a.visit.site.parts:
        return _page(found, a, At("part"))
    entry, key = entry_of(found, at), key_in_form(at)
    if entry is not None:
        chosen_once = not at.key or at.key == named_by(at.table) or (at.table == STEP and at.key in VERBS)
        return f"entry/{entry.id}#f-{'why' if chosen_once and at.table not in SINGLE else key}"
    if at.table not in SPECS:
        return f"steps#f-{at.key}" if at.key else "steps"
    return f"add/{at.table}{f'?{urlencode(begins)}' if begins else ''}#f-{key}"


def _inspected(a: Assessment, item: str) -> str:
    """The item in its schedule: that of such a visit, or the other where only that has it."""
    mine, other = (INITIAL_ITEMS, PERIODIC) if items_of(a) == INITIAL else (PERIODIC_ITEMS, INITIAL)
    if not item:
        return "inspected"
    return f"inspected{'' if item in {i.id for i in mine} else f'?list={other}'}#f-{item}"


def _reading(a: Assessment, of: str, test: Test) -> str:
    """Where a reading is written: on the page of its bond, at the sockets of a ring, or in the cell of its thing."""
    site = a.visit.site
    if any(b.id == of for b in site.bonds):
        return f"bond/{part_of_address(of)}/conductor"
    ring = any(c.id == of and c.kind == "ring" for c in site.circuits)
    cell = f"p.0.{AT_SOCKETS[test[0]]}" if ring and test[0] in AT_SOCKETS else f"c.{of}.{'.'.join(test)}"
    return f"circuits/{part_of_address(of)}#f-{cell}"
