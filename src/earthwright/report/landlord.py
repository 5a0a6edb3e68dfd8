"""What the law asks of a landlord after a visit: periods, the longest interval, from when it counts for a tenancy."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from ..base.errors import NoRule
from ..outcomes.assessment import Assessment
from ..rules import Edition, RuleBook
from ..rules.documents import Deadline, deadlines, next_inspection_by, other_duties
from ..rules.duties import hmo_edition, instead_of, landlord_edition, starts
from ..site.particulars import ASKED, CONFIRMED, PRIVATE, REMEDIED, Particulars
from ..site.visit import NEW_WORK, Visit
from .due import COMPLETION, INSPECTION, WORK, Due, Found, due_by, reviewed, source_of
from .observations import Thread, threads, waits_for_nobody

CHECK = "Check what counts where the home stands: councils may ask for more."


def landlord(a: Assessment, asks: list[Thread]) -> Found:
    """Everything that the law asks of whoever lets the home; ``asks``: the open observations that ask for work."""
    report, found = a.visit.paperwork.report, Found()
    if report.rented is None and not report.hmo:
        if a.visit.kind in NEW_WORK:
            return found  # a certificate speaks of the work, not of the tenancy, unless that was entered
        found.said.append("It is not entered whether the home is rented, so no landlord's periods are shown.")
    elif (report.rented or report.hmo) and not report.country:
        found.said.append("The country is not entered, so no landlord's periods are shown.")
    elif report.rented or report.hmo:
        for law in _laws(a.visit, found):
            found.add(_under(a, law, asks))
        found.said += [f"{said}." for said, _ in too_long(a.visit)]
        found.said.append(CHECK)
    return found


def _laws(visit: Visit, found: Found) -> Iterator[Edition]:
    """The laws that count on the day, those on houses in multiple occupation first; why one does not is told."""
    report, book = visit.paperwork.report, RuleBook.load()
    instead: tuple[str, ...] = ()
    if report.hmo:
        try:
            hmo = hmo_edition(book, report.country, visit.date)
        except NoRule as error:
            found.said.append(f"House in multiple occupation: no rule: {error}")
        else:
            instead = instead_of(hmo)
            yield hmo
    try:
        law = landlord_edition(book, report.country, visit.date, report.landlord or PRIVATE)
        if law.standard not in instead and _counts(law, visit, found):
            yield law
    except NoRule as error:
        found.said.append(f"Landlord's periods: no rule: {error}")


def _counts(law: Edition, visit: Visit, found: Found) -> bool:
    """Whether the law counts already for the tenancy; from when it does, otherwise. Raises NoRule for such a landlord."""
    report = visit.paperwork.report
    if not report.landlord:
        found.said.append("Whether the landlord is private or social is not entered; private is taken.")
    rows = starts(law, report.landlord or PRIVATE, report.tenancy_from)
    later = [r for r in rows if visit.date < r.date("from")]
    for r in later:
        granted = f"a tenancy granted {r.keys['granted']} {r.date('split')}"
        what = f"First inspection under the law, {granted}"
        counted = f"the duties count from {r.date('from')}"
        found.due.append(Due(what, r.date("first_check_by"), counted, source_of(r), r.confidence == "memory"))
    if later and not report.tenancy_from:
        found.said.append(
            "The day on which the tenancy was granted is not entered; it decides from when the law counts."
        )
    return not rows or len(later) < len(rows)


def too_long(visit: Visit) -> tuple[tuple[str, Deadline], ...]:
    """That the paper allows more time to the next inspection than the law, in words, with the law's last day; else empty."""
    by = visit.paperwork.report.next_by
    if by is None or not _let(visit.paperwork.report):
        return ()
    laws = [law for law in _laws(visit, Found()) if law.has("duty.years")]
    first = min((next_inspection_by(law, visit.date) for law in laws), key=lambda d: d.last_day, default=None)
    if first is None or by <= first.last_day:
        return ()
    said = (
        f"The interval on the paper is too long: next inspection by {by}, and the law asks for it by {first.last_day}"
    )
    return ((f"{said} ({source_of(first.rule)})", first),)


def _let(report: Particulars) -> bool:
    return bool((report.rented or report.hmo) and report.country)


def _under(a: Assessment, law: Edition, asks: list[Thread]) -> Found:
    """What one law asks for."""
    visit, report, found = a.visit, a.visit.paperwork.report, Found()
    for d in deadlines(law, INSPECTION, visit.date, report.work_days):
        if d.duty != WORK:
            found.due.append(due_by(d, visit.date))
        elif later := [t.observation.id for t in asks if not waits_for_nobody(t)]:
            found.due.append(
                due_by(d, visit.date, f"for observation{'s' if len(later) > 1 else ''} {', '.join(later)}")
            )
        elif asks:
            found.said.append(f"The danger is removed now; the law's period for {WORK} is none to wait for.")
        else:
            found.said.append(f"No {WORK} is asked for, so no period for it runs.")
    if law.has("duty.days") and any(t.observation.code == "FI" for t in asks):
        found.said.append(
            "Whether an FI makes the report unsatisfactory is one question, by the edition of the wiring rules; the law's "
            "period for further investigation is another and runs all the same where the law has one."
        )
    finished = _finished(a)
    if finished is not None:
        found.due += [due_by(d, finished) for d in deadlines(law, COMPLETION, finished)]
    if law.has("duty.years"):
        kind = "house in multiple occupation" if law.standard.endswith("HMO") else "rented home"
        found.due.append(
            due_by(next_inspection_by(law, visit.date, report.next_by), visit.date, f"{kind}, {report.country}")
        )
    found.undated += [f"{_named(r.keys['duty'])}: {r.text('rule')} ({source_of(r)})." for r in other_duties(law)]
    if law.has("duty.days"):
        open_ = (INSPECTION,) if finished is None and asks else (INSPECTION, COMPLETION)
        found.undated += [
            f"{_named(r.keys['duty'])}: {int(r.value)} days from {r.text('from')} ({source_of(r)})."
            for r in law.table("duty.days").all()
            if r.text("from") not in open_
        ]
    elif law.has("duty.years"):
        found.said.append(f"The law in the data sets no periods in days ({law.title}).")
    found.said += reviewed(law, visit.date)
    if law.source.confidence == "memory":
        found.said.append(f"{law.title}: dates from memory; check them.")
    return found


def _named(duty: object) -> str:
    said = str(duty)
    return said[0].upper() + said[1:]


def _finished(a: Assessment) -> dt.date | None:
    """Day on which the last piece of work was done, when all of it was; None while some is open or none was."""
    asked = [t for t in threads(a) if t.observation.code in ASKED]
    days = []
    for t in asked:
        done = [s.on for s in t.observation.stages if s.stage in (REMEDIED, CONFIRMED)]
        if not done:
            return None
        days.append(min(done))
    return max(days, default=None)
