"""What is still missing before a document may be issued. Nothing required is left blank in silence."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import frozen

from ..assess.checks.items import items_of
from ..base.counted import counted
from ..base.errors import Finding
from ..outcomes.assessment import Assessment
from ..report.coding import edition_if_any
from ..report.observations import Thread, anything, overall, own_codes_against, threads, unanswered
from ..site.at import INSPECTED, SIGN, STEP, At, field_at, of_finding, reading_at
from ..site.events import CONDUCTOR, ClampCurrent, Volts
from ..site.inspection import INITIAL_ITEMS, LIMITED, PERIODIC_ITEMS, Item
from ..site.particulars import BUILT, CODES, CONFIRMED, DESIGNED, NO_CODE
from ..site.visit import NEW_WORK
from .boards import board_schedule
from .declarations import roles_of
from .fields import NEW_BOND, Group, unread_bond
from .kinds import BY_NAME, CERTIFICATE, DOCUMENTS, ENDS_IN, MINOR, made_by
from .remedial import asked, still_open
from .shortfalls import Shortfall, shortfalls

ENTER = "enter it in {}"
PUT_RIGHT = "put it right and test it again; to certify it all the same, {}"
NOT_COMPLYING = "Does not comply, to be put right before it is certified"
TAKE_UP = 'dismissed is code = "none" with a reason'


@frozen
class Missing:
    """Something a document needs: of what, what, where it is entered, and why if that is not plain.

    enter  what may be written there, for who writes the visit book;  do  what is done about it, with the place
    """

    group: str
    name: str
    at: At
    why: str = ""
    enter: str = ""
    do: str = ENTER

    @property
    def what(self) -> str:
        """Of what and what."""
        return f"{self.group}: {self.name}" if self.group else self.name

    def plain(self) -> str:
        """What it is and why, for paper: where and how it is entered is told on the screen."""
        return self.what + (f" ({self.why})" if self.why else "")

    def sentence(self) -> str:
        """In one line, with where it is entered."""
        more = "; ".join(x for x in (self.why, self.enter) if x)
        return f"{self.what}: {self.do.format(self.at.said())}" + (f" ({more})" if more else "")


def groups_of(a: Assessment, document: str) -> tuple[Group, ...]:
    """The fields of a document in the order of its pages."""
    groups = BY_NAME[document].groups
    return tuple(made_by(groups)(a)) if groups else ()


def missing_fields(a: Assessment, document: str) -> list[Missing]:
    """Everything a document still needs, in the order of its pages; empty when it may be issued.

    document  one of :data:`DOCUMENTS`. Raises ValueError for another name.
    """
    if document not in DOCUMENTS:
        raise ValueError(f"There is no document '{document}'. There are: {', '.join(DOCUMENTS)}")
    found = [Missing("", "An entry cannot be read", of_finding(f), f.what, do="correct {}") for f in _unreadable(a)]
    found += does_not_comply(a, document)
    found += [
        Missing(g.title, f.label, f.at)
        for g in groups_of(a, document)
        for f in g.fields
        if f.need and not f.value and f.at is not None
    ]
    for ask in BY_NAME[document].asks:
        found += made_by(ask)(a)
    found += _signatures(a, roles_of(a, document))
    return list(dict.fromkeys(found))


def _unreadable(a: Assessment) -> list[Finding]:
    return [f for f in a.findings if f.not_read]


def bonds(a: Assessment) -> Iterator[Missing]:
    """A record of bonds has bonds in it, and each was read, or danger or a limitation says why not."""
    if not a.visit.site.bonds:
        yield Missing("Bonds", "at least one", NEW_BOND, "a record without a bond says nothing")
    limited = any(x.strip().lower() != "none" for x in a.visit.limitations) or any(x.blocks for x in a.alarms)
    for b in a.bonds:
        if not (b.readings or b.limited or limited):
            yield Missing(
                "Bonds",
                f"{b.part.title}: a reading",
                reading_at(b.bond.id, CONDUCTOR),
                enter='or absent = "LIM" with its reason',
            )


def looked(a: Assessment) -> Iterator[Missing]:
    """Nothing can be told of a visit at which nothing was looked at."""
    if not anything(a) and not any(isinstance(e, ClampCurrent | Volts) for e in a.visit.events):
        yield Missing(
            "",
            "Anything read, inspected or observed",
            (unread_bond(a) or At(INSPECTED)).or_at(At("observation")),
        )


def initial_items(a: Assessment) -> Iterator[Missing]:
    """Every item of the schedule of inspections of new work has an outcome."""
    return _items(a, INITIAL_ITEMS)


def periodic_items(a: Assessment) -> Iterator[Missing]:
    """So has every item of a periodic one; a limitation has its reason, a coded item its observation."""
    yield from _items(a, PERIODIC_ITEMS)
    edition = edition_if_any(a)
    named = {item for o in a.visit.paperwork.observations for item in items_of(o, edition)}
    for i in a.visit.paperwork.inspected:
        if i.outcome == LIMITED and not i.note:
            yield Missing(
                "", f"Reason for the limitation of '{i.item}'", field_at(INSPECTED, i.item), enter='"LIM: why"'
            )
        if i.outcome in CODES and i.item not in named:
            yield Missing(
                "",
                f"Observation for the item '{i.item}' coded {i.outcome}",
                At("observation", key="what", new=(("about", i.item),)),
            )


def _items(a: Assessment, items: Iterable[Item]) -> Iterator[Missing]:
    against = {f.entry: f for f in a.findings if f.family == "inspection.contradicted"}
    for item in items:
        if item.id in against:
            why = against[item.id].found
            yield Missing(
                item.group, f"{item.words}: an outcome that fits what was found", field_at(INSPECTED, item.id), why
            )
        if a.visit.paperwork.outcome(item.id) is None:
            yield Missing(item.group, item.words, field_at(INSPECTED, item.id), "an outcome")


def tests(a: Assessment) -> Iterator[Missing]:
    """Every test that a circuit needs was read, or a reason says why not."""
    if not a.boards:
        yield Missing("Schedules", "at least one board with its circuits", At("board"))
    if not a.visit.instruments:
        yield Missing("", "Instruments and their serial numbers", At("instrument", key="serial"))
    for i in a.visit.instruments:
        if not i.serial:
            yield Missing("", f"Serial number of {i.name or i.id}", At("instrument", i.id, "serial"))
    for b in a.boards:
        schedule = board_schedule(a, b)
        for lack in schedule.lacks:
            yield Missing(
                f"{schedule.title}, circuit {lack.circuit}",
                lack.what,
                lack.at,
                "a reading, or LIM / N/A with its reason",
            )
        for label, value, at in schedule.facts:
            if not value:
                yield Missing(schedule.title, label, at)


def details(a: Assessment) -> Iterator[Missing]:
    """Every detail of the circuits is entered."""
    for b in a.boards:
        schedule = board_schedule(a, b)
        for lack in schedule.unrecorded:
            yield Missing(f"{schedule.title}, circuit {lack.circuit}", lack.what, lack.at)


def old_details(a: Assessment) -> Iterator[Missing]:
    """Details of an old installation may be unknown; then one stated reason stands for all blanks."""
    if a.visit.paperwork.report.not_recorded:
        return
    blanks = sum(len(board_schedule(a, b).unrecorded) for b in a.boards)
    if blanks:
        what = f"{counted(blanks, 'blank detail')} in the schedules"
        yield Missing(
            "", what, field_at("report", "not_recorded"), "one reason for all, or fill in each at its circuit"
        )


def observations(a: Assessment) -> Iterator[Missing]:
    """Every observation is settled and its stages hold."""
    yield from settled(a)
    for t in threads(a):
        for fault in t.faults:
            yield Missing(
                f"Observation {t.observation.id}", "what became of it, so that it counts", _of(t, "then"), fault
            )


def settled(a: Assessment) -> Iterator[Missing]:
    """Every proposal is answered and every observation has its code; stages that do not hold are named apart."""
    for p in unanswered(a):
        at = At("observation", key="code", new=(("about", p.about), ("answers", p.name)))
        yield Missing("", f"The suggested {p.code} taken up or dismissed: {p.what}", at, enter=TAKE_UP)
    for t in threads(a):
        o = t.observation
        if not o.code:
            why = f"{t.proposed} is suggested" if t.proposed else "you decide"
            yield Missing("", f"Code of observation {o.id}", _of(t, "code"), why)
        if o.code != NO_CODE and not o.where:
            yield Missing("", f"Place of observation {o.id}", _of(t, "where"))
        if (t.differs or o.code == NO_CODE) and not o.reason:
            why = f"you chose {o.code}; {t.proposed or 'no code'} was suggested"
            yield Missing("", f"Reason for the code of observation {o.id}", _of(t, "reason"), why)


def _of(t: Thread, key: str) -> At:
    return At("observation", t.observation.id, key)


def all_remedied(a: Assessment) -> Iterator[Missing]:
    """A closing statement wants everything put right and checked."""
    return _remedied(a, all_done=True)


def some_remedied(a: Assessment) -> Iterator[Missing]:
    """A confirmation wants something put right."""
    return _remedied(a, all_done=False)


def _remedied(a: Assessment, *, all_done: bool) -> Iterator[Missing]:
    every = asked(a)
    if not every:
        yield Missing(
            "", "An observation that called for work", At("observation"), "no fault is entered that was to be put right"
        )
    for t in still_open(a) if all_done else [] if any(t.observation.stages for t in every) else every:
        why = t.faults[0] if t.faults else f"so far: {t.stage}"
        at = At("observation", t.observation.id, "then", new=(("stage", CONFIRMED),))
        yield Missing(f"Observation {t.observation.id}", "put right and checked", at, why)


def overall_assessment(a: Assessment) -> Iterator[Missing]:
    """The inspector decided on the overall assessment, and gave a reason where it differs."""
    o = overall(a)
    if not o.edition:
        yield Missing("Overall assessment", "an edition to assess under", field_at("visit", "edition"), o.because)
    if not o.decided:
        why = f"by the codes: {o.proposed}" if o.proposed else ""
        yield Missing("", "Overall assessment by the inspector", field_at("report", "overall"), why)
    if against := own_codes_against(a):
        why = f"observations coded {', '.join(against)} stand in it, and no reason makes that satisfactory: put the assessment right, or the code"
        yield Missing("", "An overall assessment that its own codes allow", field_at("report", "overall"), why)
    elif o.differs and not o.reason:
        why = f"by the codes: {o.proposed}" if o.proposed else o.because
        yield Missing(
            "", "Reason why the overall assessment is not as the codes say", field_at("report", "overall_reason"), why
        )


def put_back(a: Assessment) -> Iterator[Missing]:
    """Everything that was taken off is back."""
    for e in a.still_off:
        yield Missing("", f"{e.what} put back", At(STEP, key="on"), "it was taken off and nothing says it is back")


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
    return ENDS_IN[kind] if kind in NEW_WORK else ""


def does_not_comply(a: Assessment, document: str) -> list[Missing]:
    """What stands in the way of issuing and of signing a certificate: nobody signs for work that does not comply."""
    return [
        Missing(NOT_COMPLYING, f"{s.where}: {s.result}", s.at, do=PUT_RIGHT)
        for s in certified(a, document)
        if s.answer is None
    ]


def _signatures(a: Assessment, roles: Iterable[str]) -> Iterator[Missing]:
    papers = a.visit.paperwork
    for role in roles:
        mine = [s for s in papers.signs if s.role == role]
        if not any(papers.holds(s) for s in mine):
            why = papers.void(mine[-1]).replace("after it", f"after {mine[-1].name} signed") if mine else ""
            yield Missing("Signature", role, field_at(SIGN, role), why, do="with: {}")
