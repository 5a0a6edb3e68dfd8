"""The office's pages: visits by stage, planning and giving, countersigning and sending back."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ....base.errors import Severity
from ....firm import Person
from ....firm.index import REMEDIAL, STAGES, Found, is_day, matching
from ....firm.rights import CLIENT, INSPECTOR, SUPERVISOR
from ....firm.tools import doubts
from ....paper.kinds import ENDS_IN, REPORT
from ....site.visit import VISIT_KINDS
from ...forms import Typed, table_errors
from ...gate import firm_of, me
from ...render import page, see_other
from ...words import say
from ..common import form_of, judged, kept, recorded, seen_visits, settings, show, uid_of
from ..visits import AT_ONCE, visit_of
from .tools import lapsing

TO_SEND, TO_CALL = "along", "back"  # what the form does beside giving a visit


async def office_page(request: Request) -> Response:
    """GET the visits by stage, or those that match."""
    firm = firm_of(request)
    stages, lines = firm.stages(), firm.index.lines()
    wanted = request.query_params.get("find", "").strip()[:200]
    stage = request.query_params.get("stage", "")
    names = {p.id: p.name for p in firm.people.all()}
    whose = {visit: names.get(person, "") for visit, person in firm.owners().items()}
    found = [f for f in matching(lines, wanted, whose) if stage not in STAGES or stages[f.id] == stage]
    first = _first(request, len(found))
    return page(
        request,
        "office/office.html",
        typed=Typed(),
        rows=[_row(f, stages[f.id], whose.get(f.id, "") or f.inspector) for f in found[first : first + AT_ONCE]],
        counts=[(s, sum(x == s for x in stages.values())) for s in STAGES],
        stage=stage,
        find=wanted,
        first=first,
        count=len(found),
        at_once=AT_ONCE,
        lapsing=lapsing(request),
    )


def _row(found: Found, stage: str, name: str) -> dict[str, object]:
    codes = f"{stage} ({', '.join(found.open_codes)})" if stage == REMEDIAL else stage
    said = [codes, found.date, found.kind, name or say("office.nobody")]
    return {"id": found.id, "place": found.place or "–", "words": ", ".join(x for x in said if x)}


def _first(request: Request, count: int) -> int:
    asked = request.query_params.get("from", "")
    number = int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 9 else 0
    return min(number, max(count - 1, 0)) // AT_ONCE * AT_ONCE


async def plan_page(request: Request) -> Response:
    """GET the form that plans a visit, or gives one to somebody else."""
    return _plan(request, Typed())


def measuring(people: list[Person]) -> list[Person]:
    """Those a visit can be given to."""
    return [p for p in people if not p.gone and p.role in (INSPECTOR, SUPERVISOR)]


def _plan(request: Request, typed: Typed) -> Response:
    visits, follow = seen_visits(request), typed.value("after") or request.query_params.get("after", "")
    offered = [*(v for v in visits if v.id == follow), *(v for v in visits[:AT_ONCE] if v.id != follow)]
    here = next((v for v in offered if v.id == follow), None)
    return page(
        request,
        "office/plan.html",
        422 if typed.errors else 200,
        typed=typed,
        people=[(p.id, p.name) for p in measuring(firm_of(request).people.all())],
        place=here.place if here else "",
        kind=here.kind if here else "periodic",
        kinds=[(k, k) for k in VISIT_KINDS],
        today=settings(request).now().date().isoformat(),
        visits=[(v.id, f"{v.place}, {v.date}") for v in offered],
        follow=follow,
    )


async def plan_post(request: Request) -> Response:
    """POST a planned visit: its inspector finds it on the phone."""
    form, _ = await form_of(request)
    firm, after = firm_of(request), form.get("after", "")
    inspector = _somebody(request, form)
    heading = {k: form.get(k, "").strip() for k in ("place", "date", "kind", "client", "note")}
    errors = table_errors(None, "visit", {k: v for k, v in heading.items() if v})
    if not heading["place"]:
        errors["place"] = (say("office.where"),)
    if not is_day(heading["date"]):
        errors["date"] = (say("office.when"),)
    if inspector is None:
        errors["person"] = (say("office.who"),)
    if heading["kind"] not in VISIT_KINDS:
        errors["kind"] = (say("office.kind"),)
    if after and not firm.desk.holds(after):
        errors["after"] = (say("wrong.gone"),)
    if errors or inspector is None:
        return _plan(request, Typed(form, errors))
    visit, day = visit_of(uid_of(form)), heading.pop("date")
    failed = kept(lambda: firm.plan(me(request), inspector, visit, day=day, after=after, **heading))
    return _plan(request, Typed(form, failed)) if failed else see_other("/office?stage=planned")


def _somebody(request: Request, form: dict[str, str]) -> Person | None:
    return next((p for p in measuring(firm_of(request).people.all()) if p.id == form.get("person")), None)


async def give_post(request: Request) -> Response:
    """POST: another inspector goes there, or goes along, or no longer."""
    form, _ = await form_of(request)
    person, visit = _somebody(request, form), request.path_params["visit"]
    if person is None or not firm_of(request).desk.holds(visit):
        raise HTTPException(404)
    if form.get("do") in (TO_SEND, TO_CALL):
        firm_of(request).send_along(visit, person, me(request), back=form["do"] == TO_CALL)
    else:
        firm_of(request).give(visit, person, me(request))
    return see_other(f"/v/{visit}/check")


async def check_page(request: Request) -> Response:
    """GET what a qualified supervisor looks at before countersigning: what the second pair of eyes found comes first."""
    return _check(request, Typed())


def _check(request: Request, typed: Typed) -> Response:
    found, firm, person = recorded(request), firm_of(request), me(request)
    a = judged(found)
    names = {p.id: p.name for p in firm.people.all()}
    loud = [f for f in a.findings if f.severity is not Severity.NOTE]
    line = firm.index.line(found.id)
    return show(
        request,
        found,
        "office/check.html",
        "check",
        typed,
        loud=loud,
        quiet=len(a.findings) - len(loud),
        stage=firm.stages().get(found.id, ""),
        document=ENDS_IN.get(a.visit.kind, REPORT),
        may=firm.may_countersign(person, found.kept),
        documents=line.issued if line else (),
        deeds=[(d, names.get(d.who, "")) for d in firm.deeds(found.id)],
        people=[(p.id, p.name) for p in measuring(firm.people.all())] if person.role not in (INSPECTOR, CLIENT) else [],
        owner=firm.owner(found.id),
        along=firm.along(found.id),
        names=names,
        own=firm.enters(person, found.id),
        doubts=doubts(firm, line) if line else (),
    )


async def check_post(request: Request) -> Response:
    """POST: sent back with a remark."""
    form, _ = await form_of(request)
    found = recorded(request)
    why = firm_of(request).send_back(me(request), found.kept, form.get("remark", ""))
    return _check(request, Typed(form, {"remark": (why,)})) if why else see_other(f"/v/{found.id}/check")
