"""What the tool noticed, with its reasons: to be answered, or made an observation; photos."""

from __future__ import annotations

import re
from collections.abc import Mapping
from urllib.parse import quote

from attrs import frozen
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...base import limits
from ...base.errors import Finding, Severity
from ...desk.camera import CannotShow, made_ready
from ...outcomes.assessment import Assessment
from ...paper.remedial import last_day
from ...records.canon import digest
from ...records.event import PHOTO
from ...records.replay import EntryNow
from ...report.coding import Proposed, edition_if_any
from ...report.observations import overall, propose, threads, unanswered
from ...rules import clause_of
from ...site.inspection import PERIODIC_ITEMS
from ...site.particulars import CODES
from ..address import key_of
from ..entrywords import entry_words
from ..forms import Typed, table_errors
from ..merge import both, only_theirs, together
from ..render import see_other
from ..words import place_words, say
from ..work import Opened, plain_body
from .common import base, corrected, desk, form_of, judged, opened, settings, show, struck, uid_of, write

LARGEST_PHOTO = limits.PHOTO.most
# The first bytes of what is taken as a picture, and what is given back as one; nothing else ever is.
PICTURES = re.compile(rb"\xff\xd8\xff|\x89PNG\r\n\x1a\n|RIFF.{4}WEBP", re.DOTALL)  # how each begins
MEDIA = ("image/jpeg", "image/png", "image/webp")


@frozen
class Noticed:
    """A finding, or a code that is proposed, with its stable key, and the answer it got.

    code, because, basis  of a proposal; empty for a finding
    """

    key: str
    name: str
    about: str
    where: str
    what: str
    clause: str = ""
    finding: Finding | None = None
    code: str = ""
    because: tuple[str, ...] = ()
    basis: str = ""
    answered: str = ""


def proposed(a: Assessment) -> list[Noticed]:
    """The codes that are proposed and not answered yet, most urgent first."""
    return [_of(p) for p in unanswered(a)]


def _of(p: Proposed) -> Noticed:
    key = key_of(p.name, p.about, p.what)
    return Noticed(key, p.name, p.about, p.where, p.what, p.clause, None, p.code, p.because, p.basis)


def noticed(a: Assessment) -> list[Noticed]:
    """The findings, loudest first."""
    answers = {name: o.code for o in a.visit.paperwork.observations for name in o.answers}
    found = []
    for f in a.findings:
        key = key_of(f.family, f.entry, f.where + f.what)
        name = f"{f.family}#{key}"  # the family alone may speak of two things
        found.append(Noticed(key, name, f.entry, place_words(f.where), f.what, "", f, answered=answers.get(name, "")))
    return found


async def findings_page(request: Request) -> Response:
    """GET what was noticed, the codes proposed, and the observations so far."""
    found = opened(request)
    a = judged(found)
    every = noticed(a)
    entries = {
        str(e.body.get("id", "")): e.id for e in found.kept.entries if e.kind == "observation" and e.struck is None
    }
    return show(
        request,
        found,
        "findings.html",
        "findings",
        proposed=proposed(a),
        loud=[n for n in every if n.finding and n.finding.severity is not Severity.NOTE],
        quiet=[n for n in every if n.finding and n.finding.severity is Severity.NOTE],
        threads=[(x, entries.get(x.observation.id, "")) for x in threads(a, last_day(a))],
        put_right=any(o.stages for o in a.visit.paperwork.observations),
        overall=overall(a) if a.visit.kind == "periodic" or threads(a) or proposed(a) else None,
        lacking=_lacking(a),
    )


def _lacking(a: Assessment) -> int:
    """How many items nobody looked at and results nobody read: until there are none the codes say little."""
    items = sum(a.visit.paperwork.outcome(item.id) is None for item in PERIODIC_ITEMS)
    tests = [t for b in a.boards for t in (*b.tests, *(t for c in b.circuits for t in c.tests))]
    return items + sum(t.absent == "missing" for t in tests)


async def observe_page(request: Request) -> Response:
    """GET the form that makes a finding an observation, or turns it down with a reason; an answer that stands is shown."""
    found = opened(request)
    n = _noticed(request, judged(found))
    if n is None:
        raise HTTPException(404)
    standing = answer_to(found, n)
    return see_other(f"{base(found)}/entry/{standing.id}") if standing else _observe(request, found, n, Typed())


def _noticed(request: Request, a: Assessment) -> Noticed | None:
    """The proposal or the finding of the address, whether it was answered or not; None when nothing says so any more."""
    wanted = request.path_params["key"]
    return next((n for n in (*map(_of, propose(a)), *noticed(a)) if n.key == wanted), None)


def answer_to(found: Opened, n: Noticed) -> EntryNow | None:
    """The observation that answers it already."""
    return next(
        (e for e in found.kept.entries if e.kind == "observation" and e.struck is None and _answers(e, n)),
        None,
    )


def _answers(entry: EntryNow, n: Noticed) -> bool:
    """Whether an observation answers it: by its name, and of the same thing."""
    return n.name in (entry.body.get("answers") or ()) and str(entry.body.get("about", "")) == n.about


def _observe(request: Request, found: Opened, n: Noticed, typed: Typed) -> Response:
    return show(request, found, "observe.html", "findings", typed, n=n)


def free_number(found: Opened) -> str:
    """The number of the next observation: one that none ever had, struck ones among them."""
    taken = {str(e.body.get("id", "")) for e in found.kept.entries if e.kind == "observation"}
    return next(str(i) for i in range(1, len(taken) + 2) if str(i) not in taken)


def next_coded(found: Opened) -> str:
    """The form for the observation of an item that has a code and none yet; empty when each has its own."""
    papers = judged(found).visit.paperwork
    named = {o.about for o in papers.observations}
    item = next((i for i in papers.inspected if i.outcome in CODES and i.item not in named), None)
    return f"add/observation?about={quote(item.item)}" if item else ""


def of_item(found: Opened, about: str) -> dict[str, str]:
    """What an observation about an item of the schedule begins with: its code, its clause, what was noted there."""
    i = judged(found).visit.paperwork.outcome(about)
    item = next((x for x in PERIODIC_ITEMS if x.id == about), None)
    if i is None or item is None or i.outcome not in CODES:
        return {}
    return {"code": i.outcome, "clause": clause_of(edition_if_any(judged(found)), item.rule), "what": i.note}


ASKED = ("what", "where", "code", "reason", "clause")


async def observe_post(request: Request) -> Response:
    """POST an observation that answers a finding or a proposal."""
    found = opened(request)
    form, _ = await form_of(request)
    if any(e.id == uid_of(form) for e in found.kept.events):
        return see_other(f"{base(found)}/findings")
    a = judged(found)
    n = _noticed(request, a)
    if n is None:  # what it answers is no longer noticed; what was typed may stand by itself
        n = Noticed(request.path_params["key"], "", "", form.get("where", ""), say("observe.gone"))
        if form.get("own") != "yes":
            return _observe(request, found, n, Typed({**form, "own": "yes"}, {"conflict": (say("observe.gone"),)}))
    standing = answer_to(found, n)
    began = {"what": n.what, "where": n.where, "code": n.code, "clause": n.clause}
    form, clashes = together(found, standing, form, began)
    if clashes:
        return _observe(request, found, n, both(form, clashes))
    body: dict[str, object] = (
        plain_body(standing)
        if standing
        else {
            "id": free_number(found),
            "answers": [n.name] if n.name else [],
            "found": a.visit.date.isoformat(),
            **({"about": n.about} if n.about else {}),
        }
    )
    body |= {k: form[k] for k in ASKED if form.get(k)}
    if standing and only_theirs(form, body, plain_body(standing)):
        return see_other(f"{base(found)}/findings")
    errors = table_errors(found, "observation", body, standing.id if standing else "")
    if not form.get("code"):
        errors = {**errors, "code": (say("observe.code_needed"),)}
    if not form.get("reason") and (form.get("code") == "none" or (n.code and form.get("code") not in ("", n.code))):
        errors = {**errors, "reason": (say("observe.reason_needed"),)}
    if errors:
        return _observe(request, found, n, Typed(form, errors))
    entry = corrected(standing, body, say("observe.settled")) if standing else ("observation", body)
    refused = write(request, found, form, [entry])
    return _observe(request, found, n, refused) if refused else see_other(f"{base(found)}/findings")


async def photos_page(request: Request) -> Response:
    """GET the photos, and the form for another."""
    return _photos(request, opened(request), Typed())


def _photos(request: Request, found: Opened, typed: Typed) -> Response:
    about = typed.value("about") or request.query_params.get("about", "")
    photos = found.photos()
    titled = {x: about_words(found, x) for x in dict.fromkeys((about, *(p.about for p in photos))) if x}
    sketch = request.query_params.get("sketch", "")
    return show(
        request, found, "photos.html", "photos", typed, photos=photos, about=about, titled=titled, request_sketch=sketch
    )


def about_words(found: Opened, about: str) -> str:
    """What a photo shows, by the id it was taken for: an entry of the visit in words; empty when it is of none."""
    kind, _, name = about.partition(" ")
    entry = next((e for e in found.kept.entries if e.kind == kind and name in _names(e.body)), None)
    return entry_words(entry.kind, entry.body) if entry else ""


def _names(body: Mapping[str, object]) -> tuple[str, str]:
    return str(body.get("id", "")), str(body.get("part", ""))


async def photos_post(request: Request) -> Response:
    """POST a photo or a sketch with what it shows; it is kept as it will be printed."""
    found = opened(request)
    form, files = await form_of(request)
    content = files.get("photo", b"")
    again = [e for e in found.kept.events if e.kind == PHOTO and e.body.get("hash") == form.get("again")]
    if again:  # kept before it was made ready
        content = desk(request).content(form["again"])
    errors: dict[str, tuple[str, ...]] = {}
    ready = b""
    if not content:
        errors["photo"] = (say("wrong.file_none"),)
    elif len(content) > LARGEST_PHOTO:
        errors["photo"] = (say("wrong.file_large"),)
    elif not PICTURES.match(content):
        errors["photo"] = (say("wrong.file_kind"),)
    else:
        try:
            ready = made_ready(content)
        except CannotShow as why:
            errors["photo"] = (str(why),)
    if not form.get("caption"):
        errors["caption"] = (say("photos.caption_needed"),)
    if errors:
        return _photos(request, found, Typed(form, errors))
    about = form.get("about", "")
    here = f"{base(found)}/photos{f'?about={quote(about)}' if about else ''}"
    if any(e.id == uid_of(form) for e in found.kept.events):
        return see_other(here)
    said: dict[str, object] = {"hash": digest(ready), "caption": form["caption"][:300]}
    kept = {**said, "size": len(ready), "name": "", "media": "image/jpeg", "about": about}
    taken = settings(request).now().isoformat(timespec="minutes")
    entry = {**said, "of": about, "taken": taken, **({"sketch": True} if form.get("sketch") else {})}
    entries = [(PHOTO, kept), ("picture", entry), *(struck(e.id, say("photos.ready")) for e in again)]
    refused = write(request, found, form, entries, [ready])
    return _photos(request, found, refused) if refused else see_other(here)


async def photo(request: Request) -> Response:
    """GET one photo by its hash, only if it belongs to this visit."""
    found = opened(request)
    for e in found.kept.events:
        if e.kind == PHOTO and e.body.get("hash") == request.path_params["hash"] and e.body.get("media") in MEDIA:
            return Response(
                desk(request).content(e.body["hash"]),
                media_type=e.body["media"],
                headers={"cache-control": "private, max-age=31536000, immutable"},
            )
    raise HTTPException(404)
