"""A bond and its readings."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...base.digits import Kind, Shown
from ...evidence.bond import PROVED
from ...evidence.expected import Expectation
from ...evidence.worth import Worth
from ...outcomes.assessment import Assessment, BondJudged, Next, ReadingJudged
from ...report.words import digits_of as band_digits
from ...site.events import CLAMP_BODY, CONDUCTOR, JOINT, PATH, TOGETHER, Event, Reading
from ...site.ledger import state_now
from ..address import part_of_address
from ..drawing import bond_drawing
from ..drawing.bond import words_of
from ..forms import Typed, digits_of
from ..render import drawn, see_other
from ..repair_offer import mend_of
from ..stages import stages
from ..words import say
from ..work import Opened
from .common import base, form_of, judged, opened, opened_for, show, uid_of, undoable, write_step

SLUGS = {"conductor": CONDUCTOR, "path": PATH, "together": TOGETHER, "joint": JOINT, "clamp_body": CLAMP_BODY}
SLUG_OF = {v: k for k, v in SLUGS.items()}
# While its end is off a bond is read in one go, and goes back: the page goes on by itself.
AFTER: Mapping[str, tuple[str, ...]] = {"conductor": ("path", "together"), "path": ("together",)}


@frozen
class Line:
    """One reading in the history on a card, struck ones among them."""

    what: str
    digits: str
    inside: str = ""
    void: str = ""
    note: str = ""
    entry: str = ""
    struck: str = ""
    by: str = ""


@frozen
class Choice:
    """One test that may be taken."""

    slug: str
    last: str
    worth: Worth | None


def bond_of(request: Request, a: Assessment) -> BondJudged:
    """The bond of the address. Answers 404 when there is none."""
    wanted = request.path_params["bond"]
    for b in a.bonds:
        if b.bond.id == wanted:
            return b
    raise HTTPException(404)


def link_of(found: Opened, bond_id: str) -> str:
    """The address of a bond."""
    return f"{base(found)}/bond/{part_of_address(bond_id)}"


def next_link(found: Opened, b: BondJudged) -> str:
    """Where the next step of a bond is done; empty when it is done with tools, not with the tool."""
    return link_of_next(found, b.bond.id, b.next)


def link_of_next(found: Opened, bond_id: str, following: Next | None) -> str:
    """The address for a next step."""
    if following is None or following.test in ("mend", "entry"):
        return ""
    here = link_of(found, bond_id)
    if following.test == "lead check":
        return f"{base(found)}/leads?bond={part_of_address(bond_id)}"
    if following.test == "clamp current":
        wanted = following.worth.test if following.worth else CONDUCTOR
        return f"{here}/{SLUG_OF.get(wanted, 'conductor')}"
    if following.test == "reconnect":
        return f"{here}/together"
    return f"{here}/{SLUG_OF[following.test]}" if following.test in SLUG_OF else here


def shown_words(shown: Shown | None) -> str:
    """Digits as they stood on the display."""
    if shown is None:
        return "–"
    return shown.as_shown if shown.kind is Kind.VALUE else str(shown)


def history(found: Opened, b: BondJudged, test: str = "") -> list[Line]:
    """The readings of a bond in the order they were written, with those that were struck out."""
    rows: dict[int, list[ReadingJudged]] = {}
    before = [r for f in b.found for r in f.readings]
    for r in (*before, *b.readings):
        rows.setdefault(r.reading.line, []).append(r)
    lines: list[Line] = []
    for e in found.steps():
        if e.struck is None and str(e.body.get("repair", "")).partition("@")[0] == b.bond.id:
            lines.append(Line(say("bond.put_right"), str(e.body.get("remade")), by=e.latest.by, entry=e.id))
        if e.body.get("bond") != b.bond.id or test not in ("", e.body.get("read")):
            continue
        name = SLUG_OF.get(str(e.body.get("read")), "")
        what = say(f"test.{name}") if name else str(e.body.get("read"))
        old = e.event.body if e.struck or e.latest is not e.event else None
        why = e.struck or (e.latest if e.latest is not e.event else None)
        if old is not None and why is not None:
            value = old.get("shown")
            digits = ", ".join(map(str, value)) if isinstance(value, list) else str(value)
            lines.append(Line(what, digits, struck=str(why.body.get("reason", "")), by=why.by, entry=e.id))
        if e.struck is not None:
            continue
        for r in rows.get(e.event.seq, []):
            inside = {True: say("test.inside"), False: say("test.outside"), None: ""}[r.inside]
            name = f"{what}, {say('bond.found')}" if r in before else what
            lines.append(
                Line(
                    name,
                    shown_words(r.reading.shown),
                    inside if r.used else "",
                    "" if r.used else r.why_not,
                    r.reading.note,
                    e.id,
                )
            )
    return lines


async def bond_page(request: Request) -> Response:
    """GET a bond: what its readings show, what to read next, everything read so far."""
    found = opened(request)
    a = judged(found)
    b = bond_of(request, a)
    worths = {w.test: w for w in b.could_show}
    last = {r.reading.test: shown_words(r.reading.shown) for r in b.readings}
    off = _off_end(a, b.bond.id)
    entry, part = found.of("bond", b.bond.id), found.of("part", b.part.id)
    return show(
        request,
        found,
        "bond.html",
        "map",
        b=b,
        link=link_of(found, b.bond.id),
        tests=[Choice(s, last.get(t, ""), worths.get(t)) for s, t in SLUGS.items()],
        history=history(found, b),
        next_link=next_link(found, b),
        off=off,
        mend=mend_of(b),
        edit=f"{base(found)}/entry/{entry}" if entry else "",
        edit_part=f"{base(found)}/entry/{part}" if part else "",
    )


async def test_page(request: Request) -> Response:
    """GET a reading to take: how to connect, what it should show, the steps before it; after it the verdict."""
    return _test(request, opened_for(request, request.path_params["bond"]), Typed())


def _test(request: Request, found: Opened, typed: Typed) -> Response:
    a = judged(found)
    b = bond_of(request, a)
    slug = request.path_params["test"]
    if slug not in SLUGS:
        raise HTTPException(404)
    test = SLUGS[slug]
    leads = a.visit.leads[0] if a.visit.leads else None
    taken = [r for r in b.readings if r.reading.test == test]
    expected = next((e for e in b.expected if e.test == test), None)
    link = link_of(found, b.bond.id)
    return show(
        request,
        found,
        "test.html",
        "map",
        typed,
        b=b,
        slug=slug,
        link=link,
        here=f"{link}/{slug}",
        stages=stages(a, b.bond, test),
        drawing=drawn(bond_drawing(test, b.bond, b.part, state_now(a.visit.events), leads)),
        connect=words_of(test, b.part, leads),
        expected=_expected(a, expected),
        worth=next((w for w in b.could_show if w.test == test), None),
        history=history(found, b, test),
        step=f"{_step(a):g}",
        default_leads=_newest(a, "leads") or (a.visit.leads[0].id if a.visit.leads else ""),
        default_instrument=_newest(a, "instrument") or (a.visit.instruments[0].id if a.visit.instruments else ""),
        reversed="reversed" in request.query_params,
        wrote=_wrote(request, taken) if not typed.errors else None,
        next_link=next_link(found, b),
        went_on=_went_on(request, b) if not typed.errors else "",
        last=undoable(request, found) if {"wrote", "after"} & set(request.query_params) else "",
    )


def _went_on(request: Request, b: BondJudged) -> str:
    """The reading before this one, said where the page went on by itself."""
    before = request.query_params.get("after", "")
    taken = [r for r in b.readings if SLUG_OF.get(r.reading.test) == before]
    return say("test.went_on", test=say(f"test.{before}"), digits=shown_words(taken[-1].reading.shown)) if taken else ""


def _wrote(request: Request, taken: list[ReadingJudged]) -> Mapping[str, str] | None:
    if not taken or "wrote" not in request.query_params:
        return None
    last = taken[-1]
    inside = {True: say("test.inside"), False: say("test.outside"), None: ""}[last.inside]
    return {"digits": shown_words(last.reading.shown), "inside": inside.capitalize()}


def _expected(a: Assessment, expected: Expectation | None) -> str:
    return band_digits(expected.shown, _step(a)) if expected and expected.shown else ""


def _step(a: Assessment) -> float:
    if a.visit.instruments:
        return a.visit.instruments[0].limits("continuity").step
    return 0.01


def _newest(a: Assessment, what: str) -> str:
    """The lead set or instrument of the newest reading: the one in the hand."""
    events: tuple[Event, ...] = a.visit.events
    return next((str(getattr(e, what)) for e in reversed(events) if isinstance(e, Reading) and getattr(e, what)), "")


async def test_post(request: Request) -> Response:
    """POST one step of a reading: then the page shows the next step, or the verdict."""
    found = opened_for(request, request.path_params["bond"])
    a = judged(found)
    b = bond_of(request, a)
    slug = request.path_params["test"]
    if slug not in SLUGS:
        raise HTTPException(404)
    form, _ = await form_of(request)
    bodies, wrong = bodies_of(a, b, SLUGS[slug], form)
    if wrong:
        return _test(request, found, Typed(form, wrong))
    refused = write_step(request, found, form, bodies)
    if refused:
        return _test(request, found, refused)
    return see_other(_after(request, b.bond.id, slug, form))


def _after(request: Request, bond_id: str, slug: str, form: Mapping[str, str]) -> str:
    """Where one goes on: the next step of this reading; after it the next reading of the bond, or the verdict."""
    here = f"/v/{request.path_params['visit']}/bond/{part_of_address(bond_id)}/{slug}"
    if form.get("do") != "read":
        return here
    if slug not in AFTER:
        return f"{here}?wrote={uid_of(form)[:8]}"
    a = judged(opened_for(request, bond_id))
    b = bond_of(request, a)
    order = [x for x in AFTER.get(slug, ()) if not (x == "path" and b.verdict == PROVED)]
    taken = {SLUG_OF.get(r.reading.test) for r in b.readings}
    following = next((x for x in order if x not in taken), "")
    if following and _off_end(a, bond_id) and not (b.next and (b.next.blocked or b.next.test == "alarm")):
        return f"{here[: -len(slug)]}{following}?after={slug}"
    return f"{here}?wrote={uid_of(form)[:8]}"


def _off_end(a: Assessment, bond_id: str) -> str:
    """The end of a bond that is off; empty when all is back."""
    return next((n for n in state_now(a.visit.events).off if n.split("@")[0] == bond_id), "")


def bodies_of(
    a: Assessment, b: BondJudged, test: str, form: Mapping[str, str]
) -> tuple[list[dict[str, object]], dict[str, tuple[str, ...]]]:
    """The steps that a form of the test page stands for, and what is wrong with it before the book reads it."""
    do, name = form.get("do", ""), b.bond.id
    if do in ("clamp", "clamp_again"):
        return [{"clamp": name, "shown": digits_of(form), "load": form.get("load", "")}], {}
    if do == "isolate":
        ticked = dict.fromkeys(s for s in form.get("isolated", "").split("\n") if s)
        return [{"isolated": stage} for stage in ticked], {}
    if do == "leads":
        return [{"check": "shorted", "leads": form.get("leads", ""), "shown": digits_of(form)}], {}
    if do == "off":
        return [{"off": name, "why": say(f"test.{SLUG_OF[test]}")}], {}
    if do == "on":
        off = [n for n in state_now(a.visit.events).off if n.split("@")[0] == name]
        return [{"on": n} for n in off], {}
    if do == "override":
        wrong: dict[str, tuple[str, ...]] = {
            k: (say(w),) for k, w in (("reason", "wrong.why"), ("by", "wrong.name")) if not form.get(k)
        }
        gates = [g for g in form.get("override", "").split("\n") if g]
        return [{"override": g, "reason": form.get("reason", ""), "by": form.get("by", "")} for g in gates], wrong
    body: dict[str, object] = {"read": test, "bond": name, "shown": digits_of(form, f"{_step(a):g}")}
    body |= {k: form[k] for k in ("leads", "instrument", "note") if form.get(k)}
    return [body], {}
