"""What is still missing before a document may be issued. Nothing required is left blank in silence."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from attrs import frozen

from ..assess.checks.items import items_of
from ..base.errors import Finding
from ..outcomes.assessment import Assessment
from ..report.coding import edition_if_any
from ..report.observations import anything, overall, threads, unanswered
from ..site.events import ClampCurrent, Volts
from ..site.inspection import INITIAL_ITEMS, LIMITED, PERIODIC_ITEMS, Item
from ..site.particulars import BUILT, CODES, DESIGNED, NO_CODE
from . import fields
from .boards import board_schedule
from .carry import carry_groups
from .declarations import roles_of
from .fields import Field, Group
from .leaflet import leaflet_groups
from .names import (
    CARRY,
    CERTIFICATE,
    CLOSING,
    CONFIRMATION,
    DOCUMENTS,
    EVIDENCE,
    ISOLATION,
    LABELS,
    LEAFLET,
    LETTER,
    MINOR,
    NOTICE,
    PASSED_ON,
    RECORD,
    REPORT,
)
from .onsite import on_site_groups
from .remedial import remedial_groups, remedial_lacks
from .shortfalls import Shortfall, shortfalls


@frozen
class Missing:
    """Something a document needs: what, where it is entered, and why if that is not plain."""

    what: str
    where: str
    why: str = ""

    def plain(self) -> str:
        """What it is and why, for paper: where it is entered is told on the screen."""
        return self.what + (f" ({self.why})" if self.why and "[" not in self.why and "=" not in self.why else "")

    def sentence(self) -> str:
        """In one line, with where it is entered."""
        how = f"with: {self.where}" if self.where.startswith("earthwright ") else f"enter it in {self.where}"
        if self.what == "An entry cannot be read":
            how = f"correct {self.where}"
        if self.where.startswith("[[departure]]"):
            how = f"put it right and test it again; to certify it all the same, {self.where} with its reason"
        return f"{self.what}: {how}" + (f" ({self.why})" if self.why else "")


def groups_of(a: Assessment, document: str) -> tuple[Group, ...]:
    """The fields of a document in the order of its pages."""
    if document == CERTIFICATE:
        return (
            fields.client(a),
            fields.contractor(a),
            fields.inspectors(a, schedules=True),
            fields.work(a),
            fields.supply(a),
            fields.origin(a),
            fields.bonding(a),
            fields.following(a, designer=True),
        )
    if document in (REPORT, PASSED_ON):
        return (
            fields.condition(a),
            fields.scope(a),
            fields.client(a),
            fields.contractor(a),
            fields.inspectors(a, schedules=True),
            fields.supply(a),
            fields.origin(a),
            fields.bonding(a),
            fields.following(a),
        )
    if document == MINOR:
        from .minor import minor_groups

        return minor_groups(a)
    if document in (CLOSING, CONFIRMATION):
        return remedial_groups(a, private=document == CLOSING)
    if document == CARRY:
        return carry_groups(a)
    if document in (ISOLATION, LABELS):
        return on_site_groups(
            a, "Labels and tags" if document == LABELS else "Isolation notice", labels=document == LABELS
        )
    if document == LEAFLET:
        return leaflet_groups(a)
    if document in (LETTER, NOTICE):
        from .plain import notice_groups

        return leaflet_groups(a, "Letter") if document == LETTER else notice_groups(a)
    if document == RECORD:
        return (
            Group(
                "Bonding record",
                (
                    Field("Installation", a.visit.site.place, "[visit] place"),
                    Field("Inspected and tested by", a.visit.inspector, "[visit] inspector"),
                ),
            ),
        )
    return ()


def missing_fields(a: Assessment, document: str) -> list[Missing]:
    """Everything a document still needs, in the order of its pages; empty when it may be issued.

    document  one of :data:`DOCUMENTS`. Raises ValueError for another name.
    """
    if document not in DOCUMENTS:
        raise ValueError(f"there is no document '{document}'; known: {', '.join(DOCUMENTS)}")
    found = [Missing("An entry cannot be read", f.where, f.what) for f in _unreadable(a)]
    found += does_not_comply(a, document)
    found += [
        Missing(f"{g.title}: {f.label}", f.where)
        for g in groups_of(a, document)
        for f in g.fields
        if f.need and not f.value
    ]
    more: dict[str, tuple[Callable[[Assessment], Iterator[Missing]], ...]] = {
        CERTIFICATE: (_initial_items, _tests, _details, _put_back),
        REPORT: (_periodic_items, _tests, _old_details, _observations, _overall, _put_back),
        MINOR: (_put_back,),
        CLOSING: (_settled, _all_done, _put_back),
        CONFIRMATION: (_settled, _something_done, _put_back),
        LETTER: (_looked, _observations, _put_back),
        LEAFLET: (_looked, _observations, _put_back),
        RECORD: (_bonds, _put_back),
        EVIDENCE: (_looked,),
    }
    for ask in more.get(REPORT if document == PASSED_ON else document, ()):
        found += ask(a)
    found += _signatures(a, roles_of(a, document))
    return list(dict.fromkeys(found))


def _unreadable(a: Assessment) -> list[Finding]:
    return [f for f in a.findings if f.not_read]


def _bonds(a: Assessment) -> Iterator[Missing]:
    """A record of bonds has bonds in it, and each was read, or danger or a limitation says why not."""
    if not a.visit.site.bonds:
        yield Missing("Bonds: at least one", "[[part]] and [[bond]]", "a record without a bond says nothing")
    limited = any(x.strip().lower() != "none" for x in a.visit.limitations) or any(x.blocks for x in a.alarms)
    for b in a.bonds:
        if not (b.readings or b.limited or limited):
            yield Missing(f"Bonds: {b.part.title}: a reading", "[[step]] read", 'or absent = "LIM" with its reason')


def _looked(a: Assessment) -> Iterator[Missing]:
    """Nothing can be told of a visit at which nothing was looked at."""
    if not anything(a) and not any(isinstance(e, ClampCurrent | Volts) for e in a.visit.events):
        yield Missing("Something that was read, inspected or observed", "[[step]] read, [inspected] or [[observation]]")


def _initial_items(a: Assessment) -> Iterator[Missing]:
    return _items(a, INITIAL_ITEMS)


def _periodic_items(a: Assessment) -> Iterator[Missing]:
    yield from _items(a, PERIODIC_ITEMS)
    edition = edition_if_any(a)
    named = {item for o in a.visit.paperwork.observations for item in items_of(o, edition)}
    for i in a.visit.paperwork.inspected:
        if i.outcome == LIMITED and not i.note:
            yield Missing(f"Reason for the limitation of '{i.item}'", f"[inspected] {i.item}", '"LIM: why"')
        if i.outcome in CODES and i.item not in named:
            yield Missing(
                f"Observation for the item '{i.item}' coded {i.outcome}", f'[[observation]] about = "{i.item}"'
            )


def _items(a: Assessment, items: Iterable[Item]) -> Iterator[Missing]:
    against = {f.entry: f for f in a.findings if f.family == "inspection.contradicted"}
    for item in items:
        if item.id in against:
            why = against[item.id].found
            yield Missing(
                f"{item.group}: {item.words}: an outcome that does not contradict", f"[inspected] {item.id}", why
            )
        if a.visit.paperwork.outcome(item.id) is None:
            yield Missing(f"{item.group}: {item.words}", f"[inspected] {item.id}", "an outcome")


def _tests(a: Assessment) -> Iterator[Missing]:
    if not a.boards:
        yield Missing("Schedules: at least one board with its circuits", "[[board]] and [[circuit]]")
    if not a.visit.instruments:
        yield Missing("Instruments and their serial numbers", "[[instrument]]")
    for i in a.visit.instruments:
        if not i.serial:
            yield Missing(f"Serial number of {i.name or i.id}", f"[[instrument]] {i.id}")
    for b in a.boards:
        schedule = board_schedule(a, b)
        for lack in schedule.lacks:
            yield Missing(
                f"{schedule.title}, circuit {lack.circuit}: {lack.what}",
                lack.where,
                "a reading, or LIM / N/A with its reason",
            )
        for label, value in schedule.facts:
            if not value:
                yield Missing(f"{schedule.title}: {label}", f"[[board]] {b.board.id}, or its readings")


def _details(a: Assessment) -> Iterator[Missing]:
    for b in a.boards:
        schedule = board_schedule(a, b)
        for lack in schedule.unrecorded:
            yield Missing(f"{schedule.title}, circuit {lack.circuit}: {lack.what}", lack.where)


def _old_details(a: Assessment) -> Iterator[Missing]:
    """Details of an old installation may be unknown; then one stated reason stands for all blanks."""
    if a.visit.paperwork.report.not_recorded:
        return
    blanks = sum(len(board_schedule(a, b).unrecorded) for b in a.boards)
    if blanks:
        yield Missing(f"{blanks} blank details in the schedules", "[[circuit]], or the reason in [report] not_recorded")


def _observations(a: Assessment) -> Iterator[Missing]:
    for p in unanswered(a):
        where = f'[[observation]] about = "{p.about}", answers = "{p.name}"'
        yield Missing(
            f"An answer to the proposed {p.code}: {p.what}", where, 'take it up, or code = "none" with a reason'
        )
    for t in threads(a):
        o = t.observation
        where = f"[[observation]] {o.id}"
        if not o.code:
            yield Missing(
                f"Code of observation {o.id}",
                where,
                f"{t.proposed} is proposed" if t.proposed else "the inspector decides",
            )
        if o.code != NO_CODE and not o.where:
            yield Missing(f"Place of observation {o.id}", f"{where} where")
        if (t.differs or o.code == NO_CODE) and not o.reason:
            why = f"{o.code} was chosen, {t.proposed or 'nothing'} is proposed"
            yield Missing(f"Reason for the code of observation {o.id}", f"{where} reason", why)
        for fault in t.faults:
            yield Missing(f"Observation {o.id}: a stage that holds", f"[[observation.then]] of {o.id}", fault)


def _settled(a: Assessment) -> Iterator[Missing]:
    """Every proposal is answered and every observation has its code; stages that do not hold are named below."""
    return (m for m in _observations(a) if "a stage that holds" not in m.what)


def _all_done(a: Assessment) -> Iterator[Missing]:
    return (Missing(*x) for x in remedial_lacks(a, all_done=True))


def _something_done(a: Assessment) -> Iterator[Missing]:
    return (Missing(*x) for x in remedial_lacks(a, all_done=False))


def _overall(a: Assessment) -> Iterator[Missing]:
    o = overall(a)
    if not o.edition:
        yield Missing("Overall assessment: an edition to assess under", "[visit] date, edition", o.because)
    if not o.decided:
        why = f"the codes lead to {o.proposed}" if o.proposed else ""
        yield Missing("Overall assessment by the inspector", "[report] overall", why)
    if o.differs and not o.reason:
        why = f"the codes lead to {o.proposed}" if o.proposed else o.because
        yield Missing("Reason for another overall assessment", "[report] overall_reason", why)


def _put_back(a: Assessment) -> Iterator[Missing]:
    for e in a.still_off:
        yield Missing(f"{e.what} put back", "[[step]] on", "it was taken off and nothing says it is back")


def certified(a: Assessment, document: str) -> tuple[Shortfall, ...]:
    """What a certificate speaks of and does not comply or is not decided; nothing for other documents."""
    if document == MINOR:
        from .minor import circuit_of

        return shortfalls(a, circuit_of(a))
    return shortfalls(a) if document == CERTIFICATE else ()


def certificate_of(kind: str, role: str) -> str:
    """The certificate that a signature in a role is for at a visit of a kind; empty where it certifies no new work."""
    if role in (DESIGNED, BUILT) and kind != "minor works":
        return CERTIFICATE
    return {"initial": CERTIFICATE, "minor works": MINOR}.get(kind, "")


def does_not_comply(a: Assessment, document: str) -> list[Missing]:
    """What stands in the way of issuing and of signing a certificate: nobody signs for work that does not comply."""
    return [
        Missing(f"Does not comply, to be put right before it is certified: {s.where}: {s.result}", s.entry())
        for s in certified(a, document)
        if s.answer is None
    ]


def _signatures(a: Assessment, roles: Iterable[str]) -> Iterator[Missing]:
    papers = a.visit.paperwork
    for role in roles:
        mine = [s for s in papers.signs if s.role == role]
        if not any(papers.holds(s) for s in mine):
            why = f"the visit was changed after {mine[-1].name} signed" if mine else ""
            yield Missing(f"Signature: {role}", f'earthwright sign VISIT --role "{role}"', why)
