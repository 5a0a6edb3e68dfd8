"""What the certificate, the condition report and the minor works certificate say, as texts in the order of the page."""

from __future__ import annotations

from collections.abc import Iterable

from ..assess.checks.items import items_of
from ..base.counted import counted
from ..base.days import day
from ..base.errors import NoRule
from ..outcomes.assessment import Assessment
from ..outcomes.circuits import BY_PARTICULARS
from ..outcomes.verdict import NOT_DECIDED
from ..report.coding import edition_if_any, edition_of
from ..report.duties import duties
from ..report.observations import Thread, meaning, overall, threads, unanswered
from ..rules import clause_of
from ..site.inspection import INITIAL_ITEMS, PERIODIC_ITEMS, Item, lines_of
from ..site.particulars import CODES, FOUND, NO_CODE
from .boards import board_schedule
from .circuits import DETAILS, DETAILS_WIDE, RESULTS, RESULTS_WIDE, instruments
from .declarations import declarations
from .fields import BLANK_SAID, groups
from .kinds import CERTIFICATE, MINOR, REPORT
from .leaflet import leaflet
from .marks import FAILED, OPEN, marked
from .minor import circuit_of
from .requirements import certified, groups_of

LEGEND = (
    f"A dash: does not apply to this circuit. {BLANK_SAID.capitalize()}: applies, and is not entered. "
    "Same: one device does both, its standard and rating stand with it. Board: the residual current device of the whole board. "
    f"{FAILED} beside a value: it fails. {OPEN} beside a value: it is not decided; why, stands in the remarks or the record. "
    "> and <: above or below what the instrument can show, so the true value is not known beyond that. "
    "LIM: could not be tested, for the reason in the remarks. N/A: does not apply. N/V: not verified. "
    "No rule: the data hold no limit for it. Zs: the highest is worked out from the device, at working temperature. r1, rn, r2: line, neutral and protective conductor of a ring, "
    "end to end. Where a test was made at several points the worst is printed; every reading is in the record inside this file."
)
CODES_NOTE = "The letters and numbers are from memory of the standard; what they mean is said in our own words."
GUIDANCE = (
    "For whoever receives this report: keep it. It tells whoever works on the installation next what was found and what was "
    "not looked at. What is coded C1 or C2 should be put right without delay, what is coded FI looked into without delay, "
    "by a person competent for such work; ask for written confirmation and keep it with this report. An installation should "
    "be inspected again by the date given. Where there are residual current devices, press their test button at the "
    "interval that the notice beside them gives."
)


def certificate_page(a: Assessment) -> dict[str, object]:
    """The electrical installation certificate."""
    return {
        "title": "Electrical installation certificate",
        "lead": "For new work, an addition or an alteration, verified before it was put into use.",
        "groups": groups(groups_of(a, CERTIFICATE)),
        "departures": departures(a, CERTIFICATE),
        "outcome": certified_outcome(a, CERTIFICATE),
        "duties": _duties(a),
        "inspection": inspection(a, INITIAL_ITEMS),
        "schedules": schedules(a),
        **_tables(a),
    }


def report_page(a: Assessment) -> dict[str, object]:
    """The electrical installation condition report."""
    return {
        "title": "Electrical installation condition report",
        "lead": "Inspection and testing of an existing installation. It covers what was inspected, on the day it was inspected.",
        "groups": groups(groups_of(a, REPORT)),
        "overall": _overall(a),
        "observations": [_observation(a, t, _lines(a, t)) for t in _shown(a)],
        "none_made": _none_made(a),
        "counts": _counts(a),
        "codes": _codes(a),
        "duties": _duties(a),
        "inspection": inspection(a, PERIODIC_ITEMS),
        "schedules": schedules(a),
        "guidance": GUIDANCE,
        "leaflet": leaflet(a) if a.visit.paperwork.report.leaflet else None,
        **_tables(a),
    }


def minor_page(a: Assessment) -> dict[str, object]:
    """The minor works certificate."""
    return {
        "title": "Minor electrical installation works certificate",
        "lead": "For an addition or alteration to one circuit that brings no new circuit and no new board.",
        "groups": groups(groups_of(a, MINOR)),
        "departures": departures(a, MINOR),
        "outcome": certified_outcome(a, MINOR),
        "duties": _duties(a),
        **_tables(a),
    }


def certified_outcome(a: Assessment, document: str) -> dict[str, object]:
    """What a certificate comes to, to be read first: what fails, is left open or was not read."""
    short = certified(a, document)
    one = circuit_of(a) if document == MINOR else None
    circuits = (one,) if one is not None else a.circuits
    unread = sum(t.absent == "missing" for c in circuits for t in c.tests)
    over = "The work, as it was inspected and tested"
    if short:
        said = "Each stands below, with the reason why it is certified all the same."
        return {"over": over, "head": f"Fails or is not decided: {len(short)}", "lines": [said]}
    if document == MINOR and one is None:
        return {"over": over, "head": "Not finished", "lines": ["Which circuit it is for is not entered."]}
    if unread or not circuits:
        return {
            "over": over,
            "head": "Not finished",
            "lines": [f"Results that were not read: {unread}."] if unread else [],
        }
    return {"over": over, "head": "Nothing fails, nothing is left open", "lines": []}


def departures(a: Assessment, document: str) -> list[list[str]]:
    """What does not comply, its result, and why it is certified all the same; blank where nobody said why."""
    return [[s.where, s.result, s.why() or BLANK_SAID] for s in certified(a, document)]


def links(a: Assessment) -> dict[str, list[str]]:
    """Item of the schedule of inspections → ids of the printed observations that it bears the code of, or that name it."""
    found: dict[str, list[str]] = {}
    for t in _shown(a):
        for item in items_of(t.observation, edition_if_any(a)):
            entered = a.visit.paperwork.outcome(item)
            named = item in lines_of(t.observation.about)
            if named or (entered is not None and entered.outcome in CODES):
                found.setdefault(item, []).append(t.observation.id)
    return found


def inspection(a: Assessment, items: Iterable[Item]) -> list[dict[str, object]]:
    """The schedule of inspections in its groups, each line with the observations made about it."""
    found: dict[str, list[dict[str, object]]] = {}
    linked, edition = links(a), edition_if_any(a)
    for item in items:
        entered = a.visit.paperwork.outcome(item.id)
        found.setdefault(item.group, []).append(
            {
                "number": item.number,
                "observations": linked.get(item.id, []),
                "words": item.words,
                "clause": clause_of(edition, item.rule),
                "outcome": entered.outcome if entered else BLANK_SAID,
                "note": entered.note if entered else "",
                "blank": entered is None,
                "coded": bool(entered and entered.outcome in CODES),
            }
        )
    return [{"title": f"{number} {title}", "items": rows} for number, (title, rows) in enumerate(found.items(), 1)]


def schedules(a: Assessment) -> list[dict[str, object]]:
    """Details and results of every board."""
    made: list[dict[str, object]] = []
    for b in a.boards:
        s = board_schedule(a, b)
        made.append(
            {
                "title": s.title,
                "facts": [[label, value or BLANK_SAID] for label, value, _ in s.facts],
                "details": [_filled(row) for row in s.details],
                "results": [_results(row, signs) for row, signs in zip(s.results, s.marks, strict=True)],
                "codes": list(s.codes),
                "lengths": list(s.lengths),
                "open": [t.words for t in b.tests if t.test in BY_PARTICULARS and t.outcome == NOT_DECIDED],
            }
        )
    return made


def _filled(row: Iterable[str]) -> list[str]:
    return [x or BLANK_SAID for x in row]


def _results(row: tuple[str, ...], signs: tuple[str, ...]) -> list[str]:
    """Remarks may be empty; a missing result may not. What fails or is left open bears its sign."""
    return [*(marked(x or BLANK_SAID, sign) for x, sign in zip(row[:-1], signs[:-1], strict=True)), row[-1]]


def _tables(a: Assessment) -> dict[str, object]:
    return {
        "details_head": [head for head, *_ in DETAILS],
        "results_head": list(RESULTS),
        "details_wide": list(DETAILS_WIDE),
        "results_wide": list(RESULTS_WIDE),
        "legend": LEGEND,
        "codes_note": CODES_NOTE,
        "not_recorded": a.visit.paperwork.report.not_recorded,
        "instruments": [[x or BLANK_SAID for x in row] for row in instruments(a)],
    }


def signatures(a: Assessment, document: str) -> list[dict[str, object]]:
    """A block with its statement for each person who signs, and for each role that nobody has taken."""
    return [d.as_texts() for d in declarations(a, document)]


def _shown(a: Assessment) -> list[Thread]:
    order = {code: i for i, code in enumerate(CODES)}
    return sorted(
        (t for t in threads(a) if t.observation.code != NO_CODE), key=lambda t: order.get(t.observation.code, 9)
    )


def _lines(a: Assessment, t: Thread) -> list[str]:
    """Numbers of the lines of the schedule of inspections that an observation belongs to."""
    mine = {item for item, ids in links(a).items() if t.observation.id in ids}
    return [i.number for i in PERIODIC_ITEMS if i.id in mine]


def _observation(a: Assessment, t: Thread, lines: list[str]) -> dict[str, object]:
    o = t.observation
    history = "" if t.stage == FOUND else f"{t.stage} on {day(t.since)}"
    if not t.counts and t.stage != FOUND:
        history += ", so it no longer counts"
    proposal = ""
    if t.differs:
        proposal = f"The readings would have led to {t.proposed}. The inspector's reason for {o.code}: {o.reason or BLANK_SAID}"
    elif o.reason:
        proposal = f"Reason: {o.reason}"
    elif t.proposals:
        proposal = f"{t.proposed} was proposed; {t.proposals[0].basis}."
    return {
        "id": o.id,
        "code": o.code or "no code",
        "what": o.what,
        "where": o.where or BLANK_SAID,
        "clause": o.clause or next((p.clause for p in t.named if p.clause), ""),
        "lines": lines,
        "history": history,
        "reason": proposal,
        "counts": t.counts,
    }


def _overall(a: Assessment) -> dict[str, object]:
    o = overall(a)
    return {
        "decided": o.decided or BLANK_SAID,
        "blank": not o.decided,
        "because": o.because,
        "edition": o.edition,
        "differs": f"The codes lead to {o.proposed or 'no assessment'}; the inspector decided otherwise: {o.reason or BLANK_SAID}"
        if o.differs
        else "",
    }


def _none_made(a: Assessment) -> str:
    """What stands where observations would: that there are none, or that suggested codes wait."""
    left = [p for p in unanswered(a) if not p.put_right]
    if left:
        return f"No observation is made yet: {counted(len(left), 'suggested code')} not taken up or dismissed."
    return "No observation was made in what was looked at."


def _counts(a: Assessment) -> list[list[object]]:
    counting = [t.observation.code for t in threads(a) if t.counts]
    return [[code, counting.count(code)] for code in CODES]


def _codes(a: Assessment) -> list[list[str]]:
    try:
        edition = edition_of(a)
        return [[code, *meaning(edition, code)] for code in CODES]
    except NoRule as error:
        return [["", "no rule", str(error)]]


def _duties(a: Assessment) -> dict[str, object]:
    found = duties(a)
    return {
        "due": [
            [
                "Now" if d.now else day(d.last_day),
                d.what,
                d.counted,
                d.source + (" (from memory)" if d.memory else ""),
                d.note,
            ]
            for d in found.due
        ],
        "undated": list(found.undated),
        "said": list(found.said),
    }
