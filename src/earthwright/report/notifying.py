"""Who has to be told of new work: building control, by country, and the distributor of sources beside the public supply."""

from __future__ import annotations

import datetime as dt

from ..base.errors import NoRule
from ..rules import RuleBook, RuleValue
from ..rules.duties import building_control, source_notice
from ..site.installation import Circuit
from ..site.particulars import BUILDING_CONTROL, REGISTERED
from ..site.premises import BATH, dwelling, location_named, outside
from ..site.visit import NEW_WORK, Visit
from .due import COMPLETION, Due, Found, reviewed, source_of

NEW, BOARD, SPECIAL = "new circuit", "consumer unit replaced", "circuit in a special location"
OUTER, OTHER = "circuit in a kitchen or outdoors", "other addition or alteration"
SPECIAL_PLACES = (BATH, "pool", "sauna")
LOCAL = "Check with your local building control."


def notices(visit: Visit) -> Found:
    """What new work has to be told to whom, and by when; nothing for a visit that certifies no work."""
    found = Found()
    if visit.kind in NEW_WORK:
        found.add(_building_control(visit))
        found.add(_distributor(visit))
    return found


def works(visit: Visit) -> tuple[str, ...]:
    """The kinds of work that a visit certifies, as building control tells them apart."""
    kind, report = visit.paperwork.report.work_kind, visit.paperwork.report
    if kind == "board replaced":
        return (BOARD,)
    if visit.kind == "initial" and kind != "alteration":
        return (NEW,)
    circuits = [c for c in visit.site.circuits if report.circuit in ("", c.id)]
    return tuple(dict.fromkeys(map(_work, circuits))) or (OTHER,)


def _work(circuit: Circuit) -> str:
    if location_named(circuit) in SPECIAL_PLACES:
        return SPECIAL
    return OUTER if outside(circuit) or "kitchen" in f"{circuit.location} {circuit.name}".lower() else OTHER


def _building_control(visit: Visit) -> Found:
    report, found = visit.paperwork.report, Found()
    home = dwelling(visit)
    if home is False:
        return found
    if not report.country:
        found.said.append("The country is not entered, so it is not said whether building control is to be told.")
        return found
    try:
        law = building_control(RuleBook.load(), report.country, report.completed or visit.date)
        rows = [law.table("notice.work").look(work=w) for w in works(visit)]
    except NoRule as error:
        found.said.append(f"Building control: no rule: {error}")
        return found
    found.said += reviewed(law, visit.date)
    told = [r for r in rows if r.flag("notifiable")]
    if home is None:
        found.said.append("Whether it is a dwelling is not entered; building control is told of work in dwellings.")
    if not told:
        said = "; ".join(dict.fromkeys(r.text("words") for r in rows))
        found.said.append(
            f"Building control, {report.country}: nothing to tell ({said}; {source_of(rows[0])}). {LOCAL}"
        )
        return found
    why = "; ".join(dict.fromkeys(r.text("words") for r in told))
    for r in law.table("notice.days").all() if law.has("notice.days") else ():
        if report.notified_by in ("", r.keys["by"]):
            _told(visit, r, f"{report.country}: {why}", found)
    found.said += [law.note, LOCAL] if law.note else [LOCAL]
    return found


def _told(visit: Visit, row: RuleValue, why: str, found: Found) -> None:
    """One way to tell building control: with a last day once it is chosen and the work is completed, else in words."""
    report, days, by = visit.paperwork.report, int(row.value), str(row.keys["by"])
    last = None if report.completed is None or not days else report.completed + dt.timedelta(days=days)
    if last is not None and (report.notified_by or by == REGISTERED):
        counted = f"{days} days from {COMPLETION} on {report.completed}"
        words = row.text("words")
        note = f"{why}. {words[0].upper()}{words[1:]}" + ("" if report.notified_by else f". Where a {by} did the work")
        what = "Tell the certifier" if by != REGISTERED else "Tell building control"
        memory = row.confidence == "memory"
        found.due.append(Due(what, last, counted, source_of(row), memory, note, event=COMPLETION))
        return
    when = f"within {days} days of {COMPLETION}" if days else "before the work begins"
    found.undated.append(
        f"Building control, told by {_who(by)}: {when}; {row.text('words')} ({why}; {source_of(row)})."
    )


def _who(by: str) -> str:
    return "whoever has the work done" if by == BUILDING_CONTROL else f"a {by}"


def _distributor(visit: Visit) -> Found:
    supply, found = visit.site.supply, Found()
    if not supply.other_sources:
        return found
    done = visit.paperwork.report.completed
    try:
        rows = source_notice(RuleBook.load(), done or visit.date, supply.sources_a)
    except NoRule as error:
        found.said.append(f"Notice to the distributor: no rule: {error}")
        return found
    what = ", ".join(supply.other_sources)
    if len(rows) > 1:
        found.said.append(
            f"The current of the sources a phase is not entered ({what}): both ways to tell the distributor are shown."
        )
    for row in rows:
        _scheme(row, what, done, found, sure=len(rows) == 1)
    return found


def _scheme(row: RuleValue, what: str, done: dt.date | None, found: Found, *, sure: bool) -> None:
    days, name = int(row.value), str(row.keys["scheme"])
    if sure and done is not None:
        counted = f"{days} days from {row.text('from')}, taken as {COMPLETION} on {done}"
        due = done + dt.timedelta(days=days)
        words = f"{what}: {row.text('words')}"
        found.due.append(
            Due(f"Tell the distributor ({name})", due, counted, source_of(row), row.confidence == "memory", words)
        )
    else:
        limit = (
            f"up to {row.number('up_to_a')} A a phase together" if float(row.number("up_to_a")) < 1000 else "above that"
        )
        found.undated.append(
            f"Distributor, {name}, {limit}: within {days} days of {row.text('from')}; {row.text('words')} ({what}; {source_of(row)})."
        )
