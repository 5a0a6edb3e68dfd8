"""What the bonding record says: an assessment as rounded texts in the order of the page. No markup, no sums."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping

from ..base.digits import Kind
from ..base.errors import Severity
from ..evidence.bond import DISPROVED, NOT_SHOWN, PROVED
from ..outcomes.assessment import Assessment, BondJudged, ReadingJudged
from ..outcomes.verdict import FAILS, with_named
from ..report import words
from ..report.record import to_json
from ..site.events import CLAMP_BODY, JOINT, Override, State

LOUD = {Severity.ERROR: "Error", Severity.WARNING: "Warning", Severity.NOTE: "Note"}
METHOD = (
    "Method: each bond is whole, impaired (as whole, plus an extra series resistance) or open, equal before any reading. "
    "A verdict is given when the readings favour one a hundredfold."
)
MODEL = (
    "Leads off, clips touching, a state not as noted and gross misreadings are part of the model, so nothing is infinitely "
    "sure. Limits of error are taken as rectangular."
)


def record_hash(a: Assessment) -> str:
    """SHA-256 of the record in canonical JSON; paper and record are matched by it."""
    return hash_of(to_json(a))


def hash_of(record: Mapping[str, object]) -> str:
    """The same hash from a record that is JSON already."""
    canonical = json.dumps(record, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(canonical.encode("utf-8", "replace")).hexdigest()


def bonding_page(a: Assessment) -> dict[str, object]:
    """Everything the template prints, as texts."""
    v = a.visit
    return {
        "title": "Bonding record",
        "place": v.site.place,
        "date": v.date.isoformat(),
        "outcome": _outcome(a),
        "facts": _facts(a),
        "draft": _draft(a),
        "bonds": [_bond(b) for b in a.bonds],
        "sizes": _sizes(a),
        "not_judged": [f"{n.entry}: {n.why}" for n in a.not_judged],
        "findings": [
            {"loud": LOUD[f.severity], "text": f.sentence()} for f in a.findings if f.severity is not Severity.STOP
        ],
        "off": [f"{e.what}, taken off at step {e.seq}{', ' + e.at if e.at else ''}" for e in a.still_off],
        "overrides": [f"{e.gate}: {e.reason} ({e.by})" for e in v.events if isinstance(e, Override)],
        "cautions": [words.CAUTION_LINE, *words.CAUTIONS_OFF],
        "method": METHOD,
        "memory": _memory(a),
        "hash": record_hash(a),
        "program": f"earthwright {a.program}",
    }


def _facts(a: Assessment) -> list[list[str]]:
    v, s = a.visit, a.visit.site.supply
    neutral = "not known"
    if s.neutral_csa_mm2 is not None:
        neutral = f"{'at most ' if s.neutral_at_most else ''}{s.neutral_csa_mm2:g} mm²"
    pme = {True: "PME applies", False: "PME does not apply", None: "PME not stated"}[s.pme]
    r = v.paperwork.report
    firm = "; ".join(
        x for x in (v.firm, r.firm_address, r.firm_phone, " ".join((r.firm_body, r.firm_number)).strip()) if x
    )
    facts = [
        ["Client", ", ".join(x for x in (v.client, r.client_address) if x) or "not stated"],
        ["Contractor", firm or "not stated"],
        ["Kind of visit", v.kind],
        ["Supply", f"{s.system or 'system not known'}; {pme}; neutral {neutral}"],
        ["Conductors taken at", f"{v.temp_c:g} °C"],
        ["Decision rule", v.choices.decision],
    ]
    facts += [["Rules", f"{e.title}: {e.why}"] for e in a.editions] or [["Rules", "no edition known for this date"]]
    facts += [["Instrument", _instrument(a, i.id)] for i in v.instruments] or [
        ["Instrument", "not entered; limits of error assumed: " + _limits(3.0, 2.0, 0.01)]
    ]
    facts += [
        ["Leads", f"{x.id}: {x.allowed}" + (f", {x.null_ohm:g} Ω nulled" if x.null_ohm is not None else "")]
        for x in v.leads
    ]
    facts += [["Extent", v.extent]] if v.extent else []
    facts += [["Limitation", text] for text in v.limitations]
    return facts


def _instrument(a: Assessment, instrument_id: str) -> str:
    i = a.visit.instrument(instrument_id)
    accuracy = i.limits("continuity")
    assumed = "" if accuracy.stated else " (assumed)"
    serial = f", serial {i.serial}" if i.serial else ""
    valid = f", checked until {i.valid_until}" if i.valid_until else ""
    return f"{i.name or i.id}{serial}{valid}; {_limits(accuracy.pct, accuracy.digits, accuracy.step)}{assumed}"


def _limits(pct: float, digits: float, step: float) -> str:
    return f"±({pct:g} % of reading + {digits:g} digits of {step:g} Ω)"


def _draft(a: Assessment) -> str:
    if any(f.not_read for f in a.findings):
        return "Draft: entries could not be read"
    return "Draft: not everything is back" if a.still_off else ""


def _bond(b: BondJudged) -> dict[str, object]:
    return {
        "of": f"bond {b.bond.id}",
        "name": b.part.title,
        "run": f"{b.bond.csa_mm2:g} mm² {b.bond.material}, {b.bond.length_m:g} ± {b.bond.length_tol_m:g} m",
        "verdict": with_named(b),
        "size": b.size.judged.outcome,
        "joint": b.joint.outcome,
        "words": b.words,
        "clamp": b.clamp,
        "readings": _repeated([*_found_readings(b), *(_reading(r) for r in b.readings)]),
    }


def _repeated(rows: list[list[str]]) -> list[list[str]]:
    """Readings of the same thing, one after another in the same state, in one row with all their digits."""
    made: list[list[str]] = []
    for name, digits, *rest in rows:
        if made and digits and made[-1][0] == name and made[-1][2:] == rest and len(made[-1][1]) < 24:
            made[-1][1] += f", {digits}"
        else:
            made.append([name, digits, *rest])
    return made


def _sizes(a: Assessment) -> list[str]:
    """How each size was found; a chain that holds for several bonds is said once."""
    chains: dict[str, list[str]] = {}
    for b in a.bonds:
        steps = [
            f"{s.clause}: {s.inputs}: {s.why if s.value_mm2 is None else f'{s.value_mm2:g} mm². {s.why[:1].upper()}{s.why[1:]}'}"
            for s in b.size.steps
        ]
        if steps:
            chains.setdefault(". ".join(steps), []).append(b.part.title)
    return [f"{', '.join(names)}: {chain}." for chain, names in chains.items()]


def _found_readings(b: BondJudged) -> list[list[str]]:
    """What was read before it was put right, and the repair itself, in the columns of a reading."""
    rows = []
    for f in b.found:
        rows += [[f"found: {name}", *rest] for name, *rest in map(_reading, f.readings)]
        rows.append(["put right", f.repair.remade, "", ", ".join(x for x in (f.repair.at, f.repair.by) if x), ""])
    return rows


def _reading(r: ReadingJudged) -> list[str]:
    shown = r.reading.shown
    digits = "not readable" if shown is None else shown.as_shown if shown.kind is Kind.VALUE else str(shown)
    if shown is not None and shown.kind is Kind.VALUE and shown.digits == 0:
        digits = f"{shown.as_shown}, recorded as {shown}"
    expected = (
        "anything"
        if r.expected.shown is None
        else words.digits_of(r.expected.shown, float(shown.step) if shown else 0.01)
    )
    inside = {True: "in the band", False: "outside", None: ""}[r.inside]
    if r.reading.test == CLAMP_BODY:
        inside += ", joint left out" if inside else ""
    return [
        words.NAMES[r.reading.test],
        digits,
        expected,
        inside if r.used else "does not count",
        _state(r.state, r.reading.test),
    ]


def _state(state: State, test: str) -> str:
    isolated = {True: "isolated", False: "supply on", None: "isolation not noted"}[state.isolated]
    off = ", ".join(sorted(state.off))
    connected = "as connected" if test == JOINT else "all connected"
    return f"{'off: ' + off if off else connected}; {isolated}"


def _outcome(a: Assessment) -> dict[str, object]:
    """What is to be read at arm's length, and beneath it what is behind the figures."""
    counts = [(word, sum(b.verdict == word for b in a.bonds)) for word in (PROVED, DISPROVED, NOT_SHOWN)]
    head = ", ".join(f"{n} {word}" for word, n in counts if n)
    bonds = "bond" if len(a.bonds) == 1 else "bonds"
    lines = []
    for name, judged in (("size", [b.size.judged for b in a.bonds]), ("joint", [b.joint for b in a.bonds])):
        bad = [b.part.title for b, j in zip(a.bonds, judged, strict=True) if j.outcome == FAILS]
        lines += [f"The {name} fails: {', '.join(bad)}"] if bad else []
    lines += [f"Still off: {', '.join(e.what for e in a.still_off)}"] if a.still_off else []
    return {
        "over": f"Main and supplementary bonds, {len(a.bonds)} {bonds}" if a.bonds else "Bonds",
        "head": head or "No bond could be judged",
        "lines": lines,
    }


def constants_said(a: Assessment) -> str:
    """The constants that every bond was weighed with, for the evidence sheet."""
    m = a.model
    return (
        f"Constants: conductor {m.make[0]:g} to {m.make[1]:g} of the maximum of IEC 60228; joint 0 to {m.joint_ohm:g} Ω; extra resistance "
        f"{m.extra_ohm[0]:g} to {m.extra_ohm[1]:g} Ω; path absent {m.path_absent:g}, else {m.path_ohm[0]:g} to {m.path_ohm[1]:g} Ω; state "
        f"not as noted {m.slip:g}; lead off {m.lead_off:g} ({m.lead_off_checked:g} once checked); clips touching {m.touch:g} "
        f"({m.touch_checked:g}); wrong allowance for the leads {m.wrong_allowance:g}, by up to {m.allowance_ohm:g} Ω, for a whole series that "
        "no shorted check follows (above one in a hundred, or more readings would argue it away; none once it does); "
        f"gross misreading {m.gross:g} over {m.gross_digits} digits; decision at log10 = {m.decide:g}."
    )


def _memory(a: Assessment) -> str:
    """Which printed values are from memory of their document."""
    found = []
    for b in a.bonds:
        for j in (b.size.judged, b.joint, b.continuity):
            if j.limit is not None and j.limit.confidence == "memory":
                found.append(j.limit.what)
    kinds = ["resistances of IEC 60228", *dict.fromkeys(found)]
    return "From memory of the documents, not read in them: " + ", ".join(kinds) + ". Check before relying on them."
