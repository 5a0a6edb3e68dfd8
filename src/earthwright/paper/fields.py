"""What each document must say, field by field: label, value as text, and where it is entered.

One list serves twice: the page prints it, and what is blank in it is missing. Nothing can be required and not printed.
The lists follow the contents known for such documents from public descriptions and from memory of the standard.
"""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from ..base.counted import counted
from ..base.days import day
from ..evidence.bond import PROVED
from ..outcomes.assessment import Assessment
from ..report.coding import edition_if_any
from ..report.observations import threads, unanswered
from ..report.rows import all_tests
from ..rules import cited
from ..site.at import At, field_at, reading_at
from ..site.codes import DC, LIVE, Live, live_words
from ..site.events import CONDUCTOR, ORIGIN
from .boards import between_lines, current_of
from .digits import number, said
from .electrodes import electrode_rows
from .mainswitch import switch_rows
from .marks import told
from .shortfalls import bond_said, departures_said

BLANK_SAID = "not stated"
BONDED_KINDS = ("water", "gas", "oil", "steel", "lightning")
KINDS_SAID = {"steel": "structural steel", "lightning": "lightning protection"}


NEW_BOND = At("bond")


@frozen
class Field:
    """One entry of a document; blank and ``need`` means that the document cannot be issued."""

    label: str
    value: str
    at: At | None = None
    need: bool = True


@frozen
class Group:
    """Fields under one heading; ``wide`` ones are printed over the whole width."""

    title: str
    fields: tuple[Field, ...]
    wide: bool = False


def groups(found: Iterable[Group]) -> list[dict[str, object]]:
    """Groups of fields as texts; blank required ones are marked."""
    return [
        {
            "title": g.title,
            "wide": g.wide,
            "fields": [
                {"label": f.label, "value": f.value or BLANK_SAID, "blank": not f.value}
                for f in g.fields
                if f.need or f.value
            ],
        }
        for g in found
    ]


def yes(value: bool | None, true: str = "yes", false: str = "no") -> str:
    """A truth value in words; blank when it is not known."""
    return "" if value is None else true if value else false


def client(a: Assessment) -> Group:
    """Who ordered the work and where."""
    v, r = a.visit, a.visit.paperwork.report
    return Group(
        "Client and installation",
        (
            Field("Client", v.client, field_at("visit", "client")),
            Field("Address of the client", r.client_address, field_at("report", "client_address")),
            Field("Installation", v.site.place, field_at("visit", "place")),
            Field("Occupier", r.occupier, field_at("report", "occupier"), need=False),
            Field("Use of the premises", r.premises, field_at("report", "premises")),
            Field("Number of this document", r.number, field_at("report", "number"), need=False),
        ),
    )


def contractor(a: Assessment) -> Group:
    """The firm that answers for the work, as it is entered: nothing about it is looked up."""
    v, r = a.visit, a.visit.paperwork.report
    return Group(
        "Contractor",
        (
            Field("Firm or trading name", v.firm, field_at("visit", "firm")),
            Field("Address", r.firm_address, field_at("report", "firm_address")),
            Field("Telephone", r.firm_phone, field_at("report", "firm_phone"), need=False),
            Field("Registered with", r.firm_body, field_at("report", "firm_body"), need=False),
            Field("Registration number", r.firm_number, field_at("report", "firm_number"), need=False),
            Field("Qualified supervisor", r.supervisor, field_at("report", "supervisor"), need=False),
        ),
    )


def inspectors(a: Assessment, *, schedules: bool = False) -> Group:
    """Who did the work and when, by which rules, and which schedules belong to it."""
    v, r = a.visit, a.visit.paperwork.report
    return Group(
        "Inspection and test",
        (
            Field("Inspected and tested on", day(v.date), field_at("visit", "date")),
            Field("By", v.inspector, field_at("visit", "inspector")),
            Field("Issued on", day(r.issued), field_at("report", "issued")),
            Field("Copies to", ", ".join(r.copies), field_at("report", "copies"), need=False),
            Field("Rules", "; ".join(e.title for e in a.editions[:1]), field_at("visit", "edition")),
            *((Field("Schedules that belong to it", _schedules(a)),) if schedules else ()),
        ),
    )


def _schedules(a: Assessment) -> str:
    return ", ".join(("inspections", *(f"circuits of {b.board.name or b.board.id}" for b in a.boards)))


def supply(a: Assessment) -> Group:
    """Particulars of the supply, as entered or read."""
    s, o = a.visit.site.supply, a.visit.paperwork.origin
    live = LIVE.get(o.live)
    current = current_of(o)
    pme = {True: " with PME", False: ", no PME", None: ""}[s.pme]
    return Group(
        "Supply",
        (
            Field("Earthing arrangement", f"{s.system}{pme}" if s.system else "", field_at("supply", "system")),
            Field("Live conductors", live_words(o.live), field_at("origin", "live")),
            Field("Kind of current", current, field_at("origin", "current")),
            Field("Nominal voltage to earth, U0", f"{s.u0_v:g} V", field_at("supply", "u0_v")),
            Field("Nominal voltage between lines, U", _between(a, live), field_at("supply", "u_v")),
            Field(
                "Frequency",
                "N/A, direct current" if current == DC else f"{s.frequency_hz:g} Hz",
                field_at("supply", "frequency_hz"),
            ),
            Field(
                "Fault current Ipf",
                _origin(a, "fault current", s.ipf_ka, "kA", s.ipf_how),
                field_at("supply", "ipf_ka").or_at(reading_at(ORIGIN, "fault current")),
            ),
            Field(
                "External loop Ze",
                _origin(a, "ze", s.ze_ohm, "Ω", s.ze_how),
                field_at("supply", "ze_ohm").or_at(reading_at(ORIGIN, "ze")),
            ),
            Field(
                "Polarity of the supply",
                _polarity(a),
                reading_at(ORIGIN, "polarity").or_at(field_at("origin", "polarity")),
            ),
            Field("Other sources", ", ".join(s.other_sources) or "none noted", field_at("supply", "other_sources")),
            Field("Supply device, standard", o.fuse_standard, field_at("origin", "fuse_standard")),
            Field("Type", o.fuse_type or s.fuse, field_at("origin", "fuse_type")),
            Field("Rated current", number(s.fuse_a, "A"), field_at("supply", "fuse_a")),
        ),
    )


def _between(a: Assessment, live: Live | None) -> str:
    """Nominal voltage between lines: as entered, by the edition for three phases, for one line and neutral the same as U0."""
    s = a.visit.site.supply
    if s.u_v is not None:
        return f"{s.u_v:g} V"
    if s.phases == 3:
        by_rule = between_lines(a)
        return "no rule" if by_rule is None else f"{by_rule:g} V"
    if live is not None and not (live.neutral and live.count == 2):
        return ""
    return f"{s.u0_v:g} V, line and neutral"


def _origin(a: Assessment, test: str, declared: float | None, unit: str, how: str) -> str:
    """A value at the origin with how it is known; the highest reading, else what was declared."""
    shown = [
        r.shown
        for t in all_tests(a, ORIGIN, a.origin)
        if t.test == test and t.of == ORIGIN
        for r in t.readings
        if r.shown and not r.refused
    ]
    if shown:
        value = f"{said(max(shown, key=lambda s: s.value))} {unit}, by measurement"
        return told(value, (t.outcome for t in a.origin if t.test == test and t.judged))
    if declared is None:
        return ""
    return f"{declared:g} {unit}, by {how}" if how else f"{declared:g} {unit}, how is not entered"


def _polarity(a: Assessment) -> str:
    for t in all_tests(a, ORIGIN, a.origin):
        if t.test == "polarity" and t.of == ORIGIN:
            return {"good": "confirmed", "bad": "WRONG"}.get(t.word, t.absent)
    return a.visit.paperwork.origin.polarity


def origin(a: Assessment) -> Group:
    """Particulars of the installation at its origin."""
    s, o = a.visit.site.supply, a.visit.paperwork.origin
    earthing = f"{s.earthing_csa_mm2:g} mm² {s.earthing_material}" if s.earthing_csa_mm2 else ""
    bonds = [b for b in a.visit.site.bonds if not b.supplementary]
    sizes = ", ".join(dict.fromkeys(f"{b.csa_mm2:g} mm² {b.material}" for b in bonds))
    proved = sum(b.verdict == PROVED for b in a.bonds if not b.bond.supplementary)
    continuity = f"{proved} of {len(bonds)} proved" if bonds else "no bonds entered" if _none_needed(a) else ""
    fields = [
        Field("Means of earthing", o.earthing, field_at("origin", "earthing")),
        Field("Maximum demand", number(o.demand_a, "A"), field_at("origin", "demand_a")),
        Field("Earthing conductor", earthing, field_at("supply", "earthing_mm2")),
        Field(
            "Its continuity and connection",
            yes(o.earthing_checked, "verified", "not verified"),
            field_at("origin", "earthing_checked"),
        ),
        Field("Main bonding conductor", sizes or ("none" if _none_needed(a) else ""), NEW_BOND),
        Field("Continuity of the main bonds", continuity, unread_bond(a) or NEW_BOND),
        *(Field(*row) for row in switch_rows(a)),
    ]
    if o.earthing == "electrode":
        fields[1:1] = [Field(*row) for row in electrode_rows(a)]
    return Group("Installation at its origin", tuple(fields))


def _none_needed(a: Assessment) -> bool:
    return set(BONDED_KINDS) <= set(a.visit.paperwork.origin.not_present)


def unread_bond(a: Assessment) -> At | None:
    """Where the first bond that nothing was read of is read."""
    return next((reading_at(b.bond.id, CONDUCTOR) for b in a.bonds if not b.readings), None)


def bonding(a: Assessment) -> Group:
    """Each kind of part: bonded and proved, bonded and not, or not there."""
    o, parts = a.visit.paperwork.origin, {p.id: p for p in a.visit.site.parts}
    fields = []
    for kind in BONDED_KINDS:
        mine = [b for b in a.bonds if b.part.kind == kind and not b.bond.supplementary]
        unbonded = [p for p in parts.values() if p.kind == kind and p.id not in {b.part for b in a.visit.site.bonds}]
        value = ", ".join(
            [*(f"{b.part.title}: {bond_said(a, b)}" for b in mine), *(f"{p.title}: no bond" for p in unbonded)]
        )
        if not value and kind in o.not_present:
            value = "N/A, not present"
        fields.append(
            Field(
                KINDS_SAID.get(kind, kind).capitalize(),
                value,
                field_at("origin", "not_present").or_at(At("part"), NEW_BOND),
            )
        )
    others = [b for b in a.bonds if b.part.kind not in BONDED_KINDS and not b.bond.supplementary]
    fields.append(Field("Other", ", ".join(f"{b.part.title}: {bond_said(a, b)}" for b in others) or "none entered"))
    return Group("Main bonding to", tuple(fields))


def scope(a: Assessment) -> Group:
    """Extent and limitations of a condition report, with whom they were agreed, and what was sampled."""
    v, r = a.visit, a.visit.paperwork.report
    return Group(
        "Extent and limitations",
        (
            Field("Reason for this report", r.purpose, field_at("report", "purpose")),
            Field("Extent", v.extent, field_at("visit", "extent")),
            Field("Hidden, or for another reason not inspected", r.concealed, field_at("report", "concealed")),
            Field("Agreed limitations, with reasons", "; ".join(v.limitations), field_at("visit", "limitations")),
            Field("Agreed with", r.agreed_with, field_at("report", "agreed_with")),
            Field(
                "Limitations met on the day, with reasons", "; ".join(r.operational), field_at("report", "operational")
            ),
            Field("Sampling: what, how much, why enough", r.sampling, field_at("report", "sampling")),
            Field("Equipment a test could damage", r.vulnerable, field_at("report", "vulnerable")),
        ),
        wide=True,
    )


def condition(a: Assessment) -> Group:
    """The condition of the installation in words, and what is known of its past."""
    r = a.visit.paperwork.report
    aged = f"about {number(r.alterations_years, 'years')} old" if r.alterations_years is not None else ""
    changed = "; ".join(x for x in (r.alterations, aged) if x) if r.alterations else ""
    last = ", ".join(x for x in (day(r.previous), f"number {r.previous_number}" if r.previous_number else "") if x)
    return Group(
        "Condition of the installation",
        (
            Field("General condition", r.general, field_at("report", "general")),
            Field("Age of the installation", number(r.age_years, "years"), field_at("report", "age_years")),
            Field("Signs of alterations, and their age", changed, field_at("report", "alterations")),
            Field("Earlier records to hand", r.records, field_at("report", "records")),
            Field(
                "Last inspection",
                last if r.previous else r.previous_number,
                field_at("report", "previous").or_at(field_at("report", "previous_number")),
            ),
        ),
        wide=True,
    )


def _subject_to(a: Assessment) -> str:
    """What has to be done first for the date of the next inspection to hold, worked out from the codes."""
    open_ = [t.observation for t in threads(a) if t.counts]
    asked = []
    for codes, done in ((("C1", "C2"), "put right"), (("FI",), "looked into")):
        mine = [o for o in open_ if o.code in codes]
        if mine:
            coded = ", ".join(c for c in codes if c in {o.code for o in mine})
            many = "s" if len(mine) > 1 else ""
            ids = ", ".join(o.id for o in mine)
            asked.append(f"observation{many} {ids} ({coded}) {'are' if many else 'is'} {done}")
    said_here = " and ".join(asked)
    if left := [p for p in unanswered(a) if not p.put_right]:
        return f"Not decided: {counted(len(left), 'suggested code')} not taken up or dismissed yet"
    return f"Only once {said_here}" if said_here else "No work is asked for first: nothing is coded C1, C2 or FI"


def following(a: Assessment, *, designer: bool = False) -> Group:
    """When the next inspection is recommended, why then, and for what is there already: after what work."""
    r = a.visit.paperwork.report
    who = "by the designer, " if designer else ""
    return Group(
        "Next inspection",
        (
            Field(f"Recommended {who}not later than", day(r.next_by), field_at("report", "next_by")),
            Field("Reason for the interval", r.next_reason, field_at("report", "next_reason")),
            *(() if designer else (Field("Subject to", _subject_to(a)),)),
        ),
        wide=True,
    )


def work(a: Assessment) -> Group:
    """What was done, for the certificates."""
    r = a.visit.paperwork.report
    return Group(
        "Work this certificate is for",
        (
            Field("Description", r.work, field_at("report", "work")),
            Field("Kind of work", r.work_kind, field_at("report", "work_kind")),
            Field("Completed on", day(r.completed), field_at("report", "completed")),
            Field("Extent", a.visit.extent, field_at("visit", "extent")),
            Field("Equipment a test could damage", r.vulnerable, field_at("report", "vulnerable")),
            Field("Departures from the rules", departures_said(a), field_at("report", "departures")),
            Field(
                f"Left out on stated grounds{cited(edition_if_any(a), 'left out on stated grounds')}",
                r.exceptions or "none entered",
                field_at("report", "exceptions"),
            ),
            Field("Comments on the existing installation", r.existing, field_at("report", "existing")),
        ),
        wide=True,
    )


def record_groups(a: Assessment) -> tuple[Group, ...]:
    """The fields of a bonding record."""
    return (
        Group(
            "Bonding record",
            (
                Field("Installation", a.visit.site.place, field_at("visit", "place")),
                Field("Inspected and tested by", a.visit.inspector, field_at("visit", "inspector")),
            ),
        ),
    )


def certificate_groups(a: Assessment) -> tuple[Group, ...]:
    """The fields of an installation certificate."""
    return (client(a), contractor(a), inspectors(a, schedules=True), work(a), *_about(a), following(a, designer=True))


def report_groups(a: Assessment) -> tuple[Group, ...]:
    """The fields of a condition report."""
    who = (client(a), contractor(a), inspectors(a, schedules=True))
    return (condition(a), scope(a), *who, *_about(a), following(a))


def _about(a: Assessment) -> tuple[Group, ...]:
    return supply(a), origin(a), bonding(a)
