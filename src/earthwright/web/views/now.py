"""Where am I: what is proved, what is off, what to measure next, what is in the way."""

from __future__ import annotations

from attrs import frozen
from starlette.requests import Request
from starlette.responses import Response

from ...base.errors import Severity
from ...evidence.bond import DISPROVED, NOT_SHOWN, PROVED
from ...outcomes.assessment import LEAD_CHECK, Assessment, BondJudged
from ...outcomes.verdict import FAILS
from ...paper.kinds import ENDS_IN
from ...paper.requirements import missing_fields
from ..address import part_of_address
from ..boardline import address_of, board_line, tests_of
from ..words import say
from ..work import Opened
from .bonds import link_of, next_link
from .chosen import contested
from .common import base, judged, opened, show
from .network import ahead
from .written import waiting

BONDING = "bonding"
# What comes before any reading: putting back, entries to be made, leads to be tried.
BEFORE_ALL = {"reconnect": 0, "entry": 1, LEAD_CHECK: 1}


@frozen
class Blocked:
    """One thing in the way of the certificate, with where to do something about it."""

    words: str
    link: str = ""


async def now_page(request: Request) -> Response:
    """GET the state of a visit in one look."""
    found = opened(request)
    a = judged(found)
    following = best_bond(a)
    return show(
        request,
        found,
        "now.html",
        "now",
        next=following,
        first=following is not None and following.next is not None and following.next.test in BEFORE_ALL,
        ahead=ahead(found, a),
        next_link=(next_link(found, following) or link_of(found, following.bond.id)) if following else "",
        counts={
            shown: sum(b.verdict == verdict for b in a.bonds)
            for shown, verdict in (("proved", PROVED), ("disproved", DISPROVED), ("open", NOT_SHOWN))
        },
        boards=[board_line(b) for b in a.boards],
        blocks=blocks(found, a),
        written=waiting(found),
        loud=sum(f.severity is not Severity.NOTE for f in a.findings),
    )


def best_bond(a: Assessment) -> BondJudged | None:
    """The bond whose next step comes first: what is off goes back, then what would tell most, then what is to be mended."""

    told = a.site_evidence.next.option.bond if a.site_evidence and a.site_evidence.next else ""

    def rank(b: BondJudged) -> tuple[int, float]:
        assert b.next is not None
        order = {**BEFORE_ALL, "mend": 5}.get(b.next.test, 3 if b.next.worth else 4)
        if b.bond.id == told and order == 3:
            order = 2  # weighed with all the others, this one tells most
        return order, -(b.next.worth.bits if b.next.worth else 0.0)

    return min((b for b in a.bonds if b.next is not None), key=rank, default=None)


def blocks(found: Opened, a: Assessment) -> list[Blocked]:
    """What is in the way of signing: off, unread, not shown, disproved, entries that cannot be read."""
    here = base(found)
    said = [Blocked(say("block.off", what=e.what), f"{here}/") for e in a.still_off]
    if choose := len(contested(found)):
        said.append(Blocked(say("block.chosen", count=choose), f"{here}/chosen"))
    said += [Blocked(say("block.entry", entry=n.entry), f"{here}/steps") for n in a.not_judged]
    for b in a.bonds:
        link = f"{here}/bond/{part_of_address(b.bond.id)}"
        if b.verdict != "proved":
            said.append(Blocked(say("block.bond", part=b.part.title, verdict=b.verdict), link))
        if b.size.judged.outcome == FAILS:
            said.append(Blocked(say("block.size", part=b.part.title), link))
        if b.joint.outcome == FAILS:
            said.append(Blocked(say("block.joint", part=b.part.title), link))
    for board in a.boards:
        missing = sum(t.absent == "missing" for t in tests_of(board))
        if missing:
            said.append(
                Blocked(
                    say("block.missing", board=board.board.name or board.board.id, count=missing),
                    address_of(here, board.board.id),
                )
            )
    if not a.visit.inspector:
        said.append(Blocked(say("block.inspector"), f"{here}/details"))
    if not a.bonds and a.visit.kind == BONDING:
        said.append(Blocked(say("block.no_bonds"), f"{here}/map"))
    document = "" if a.visit.kind == BONDING else ENDS_IN.get(a.visit.kind, "")
    lacking = len(missing_fields(a, document)) if document else 0
    if lacking:
        words = say("block.paper", document=document.capitalize(), count=lacking)
        said.append(Blocked(words, f"{here}/paper/{document.replace(' ', '-')}"))
    return said
