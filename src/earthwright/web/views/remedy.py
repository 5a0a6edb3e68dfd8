"""What became of an observation: made safe, put right, checked by a reading or a look, or overtaken; and the papers that follow."""

from __future__ import annotations

import datetime as dt

from attrs import evolve
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...outcomes.assessment import Assessment
from ...paper.remedial import last_day
from ...records.replay import EntryNow
from ...report.confirming import does_not_confirm, readings
from ...report.observations import Thread, threads
from ...site.particulars import CONFIRMED, MADE_SAFE, OVERTAKEN, REMEDIED, Stage
from ..forms import Typed, table_errors
from ..render import see_other
from ..words import say
from ..work import Opened, plain_body
from .common import base, corrected, form_of, judged, opened, settings, show, uid_of, write


def _asked(request: Request, found: Opened) -> tuple[Thread, EntryNow]:
    """The observation of the address as it stands after the last thing done about it, and its entry. Answers 404."""
    a, wanted = judged(found), str(request.path_params["observation"])
    thread = next((t for t in threads(a, last_day(a)) if t.observation.id == wanted), None)
    entry = next(
        (
            e
            for e in found.kept.entries
            if e.kind == "observation" and e.struck is None and str(e.body.get("id", "")) == wanted
        ),
        None,
    )
    if thread is None or entry is None:
        raise HTTPException(404)
    return thread, entry


async def remedy_page(request: Request) -> Response:
    """GET the form that says what became of an observation."""
    return _remedy(request, opened(request), Typed())


def _remedy(request: Request, found: Opened, typed: Typed) -> Response:
    a = judged(found)
    t, entry = _asked(request, found)
    done = any(s.stage == REMEDIED for s in t.observation.stages)
    v = a.visit
    return show(
        request,
        found,
        "remedy.html",
        "findings",
        typed,
        thread=t,
        entry=entry,
        stages=[(s, say(f"remedy.{s.replace(' ', '_')}")) for s in (REMEDIED, CONFIRMED, MADE_SAFE, OVERTAKEN)],
        stage=CONFIRMED if done else REMEDIED,
        readings=_readings(a, t),
        today=settings(request).now().date().isoformat(),
        who=", ".join(x for x in (v.inspector, v.firm) if x),
    )


def _readings(a: Assessment, t: Thread) -> list[tuple[str, str]]:
    """The readings that can confirm it, the last one first."""
    return list(reversed(readings(a, t.observation.about).items())) if t.observation.about else []


async def remedy_post(request: Request) -> Response:
    """POST what became of it: one stage, and the check that goes with a repair where one was made."""
    found = opened(request)
    form, _ = await form_of(request)
    back = f"{base(found)}/findings"
    if any(e.id == uid_of(form) for e in found.kept.events):
        return see_other(back)
    t, entry = _asked(request, found)
    stage = {"stage": form.get("stage", REMEDIED), "on": form.get("on", "")}
    checks = {k: form[k] for k in ("reading", "seen") if form.get(k)}
    rows: list[dict[str, object]] = [{**stage, **{k: form[k] for k in ("by", "what") if form.get(k)}}]
    if stage["stage"] == REMEDIED and checks:
        rows.append(
            {"stage": CONFIRMED, "on": form.get("on", ""), **({"by": form["by"]} if form.get("by") else {}), **checks}
        )
    elif checks:
        rows[0] |= checks
    body = plain_body(entry)
    before = body.get("then")
    body["then"] = [*(before if isinstance(before, list) else []), *rows]
    errors = {_field(k, body): said for k, said in table_errors(found, "observation", body, entry.id).items()}
    if not errors and "reading" in checks:
        on = dt.date.fromisoformat(str(form["on"]))
        work = (Stage(REMEDIED, on),) if stage["stage"] == REMEDIED else ()
        o = evolve(t.observation, stages=(*t.observation.stages, *work))
        why = does_not_confirm(judged(found), o, Stage(CONFIRMED, on, **checks), t.proposals)
        errors = {"reading": (why,)} if why else {}
    if errors:
        return _remedy(request, found, Typed(form, errors))
    refused = write(
        request, found, form, [corrected(entry, body, say(f"remedy.{str(stage['stage']).replace(' ', '_')}"))]
    )
    if refused:
        return _remedy(request, found, refused)
    still, _ = _asked(request, opened(request))
    return see_other(f"{base(found)}/remedy/{t.observation.id}?said=1" if still.counts else f"{back}?said=1")


def _field(key: str, body: dict[str, object]) -> str:
    """The field of the form that an error of a stage belongs to."""
    return key.rpartition(".")[2] if key.startswith("then") else key if key in body else ""
