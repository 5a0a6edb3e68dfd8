"""What the tool noticed, with its reasons: to be answered, or made an observation; photos."""

from __future__ import annotations

import hashlib

from attrs import frozen
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...errors import Finding, Severity
from ...records import JournalError
from ..forms import Typed
from ..render import see_other
from ..words import say
from ..work import Opened
from .common import base, by, desk, form_of, judged, opened, settings, show, uid_of

LARGEST_PHOTO = 10_000_000
# The first bytes of what is kept as a picture; nothing else is ever given back as one.
PICTURES = {"image/jpeg": b"\xff\xd8\xff", "image/png": b"\x89PNG\r\n\x1a\n", "image/webp": b"RIFF"}


@frozen
class Noticed:
    """A finding with its stable key and the observation that answers it, if there is one."""

    key: str
    finding: Finding
    answered: str = ""


def key_of(f: Finding) -> str:
    """A stable short key of a finding: what it says, and of what."""
    return hashlib.sha256(f"{f.family}|{f.entry}|{f.where}|{f.what}".encode()).hexdigest()[:12]


def noticed(found: Opened) -> list[Noticed]:
    """The findings, loudest first."""
    a = judged(found)
    answers = {n: o.code for o in a.visit.paperwork.observations for n in o.answers}
    about = {o.about: o.code for o in a.visit.paperwork.observations if o.about and not o.answers}
    return [Noticed(key_of(f), f, answers.get(key_of(f)) or about.get(f.entry, "")) for f in a.findings]


async def findings_page(request: Request) -> Response:
    """GET what was noticed, and the observations so far."""
    return _findings(request, opened(request), Typed())


def _findings(request: Request, found: Opened, typed: Typed) -> Response:
    a = judged(found)
    every = noticed(found)
    return show(
        request,
        found,
        "findings.html",
        "findings",
        typed,
        loud=[n for n in every if n.finding.severity is not Severity.NOTE],
        quiet=[n for n in every if n.finding.severity is Severity.NOTE],
        observations=[
            (
                o,
                next(
                    (
                        e.id
                        for e in found.kept.entries
                        if e.kind == "observation" and e.struck is None and str(e.body.get("id", "")) == o.id
                    ),
                    "",
                ),
            )
            for o in a.visit.paperwork.observations
        ],
    )


async def observe_page(request: Request) -> Response:
    """GET the form that makes a finding an observation, or turns it down with a reason."""
    found = opened(request)
    return _observe(request, found, _noticed(request, found), Typed())


def _noticed(request: Request, found: Opened) -> Noticed:
    for n in noticed(found):
        if n.key == request.path_params["key"]:
            return n
    raise HTTPException(404)


def _observe(request: Request, found: Opened, n: Noticed, typed: Typed) -> Response:
    return show(request, found, "observe.html", "findings", typed, n=n, where=n.finding.where)


async def observe_post(request: Request) -> Response:
    """POST an observation that answers a finding."""
    from ..forms import table_errors

    found = opened(request)
    n = _noticed(request, found)
    form, _ = await form_of(request)
    uid = uid_of(form)
    if any(e.id == uid for e in found.kept.events):
        return see_other(f"{base(found)}/findings")
    number = 1 + sum(e.kind == "observation" for e in found.kept.entries)
    body: dict[str, object] = {"id": str(number), "answers": [n.key], "found": judged(found).visit.date.isoformat()}
    body |= {k: form[k] for k in ("what", "where", "code", "reason", "clause") if form.get(k)}
    known = {i for i in (n.finding.entry,) if i}
    if known:
        body["about"] = n.finding.entry
    errors = table_errors(found, "observation", body)
    if not form.get("code"):
        errors = {**errors, "code": (say("observe.code_needed"),)}
    if form.get("code") == "none" and not form.get("reason"):
        errors = {**errors, "reason": (say("observe.reason_needed"),)}
    if errors:
        return _observe(request, found, n, Typed(form, errors))
    desk(request).add(found.id, "observation", body, by(request, found), id=uid)
    return see_other(f"{base(found)}/findings")


async def photos_page(request: Request) -> Response:
    """GET the photos, and the form for another."""
    return _photos(request, opened(request), Typed())


def _photos(request: Request, found: Opened, typed: Typed) -> Response:
    return show(request, found, "photos.html", "photos", typed, photos=found.photos())


async def photos_post(request: Request) -> Response:
    """POST a photo with what it shows."""
    found = opened(request)
    form, files = await form_of(request)
    upload = files.get("photo")
    content = await upload.read() if isinstance(upload, UploadFile) else b""
    media = next((m for m, mark in PICTURES.items() if content.startswith(mark)), "")
    errors: dict[str, tuple[str, ...]] = {}
    if not content:
        errors["photo"] = (say("wrong.file_none"),)
    elif len(content) > LARGEST_PHOTO:
        errors["photo"] = (say("wrong.file_large"),)
    elif not media or (media == "image/webp" and content[8:12] != b"WEBP"):
        errors["photo"] = (say("wrong.file_kind"),)
    if not form.get("caption"):
        errors["caption"] = (say("photos.caption_needed"),)
    if errors:
        return _photos(request, found, Typed(form, errors))
    uid = uid_of(form)
    try:
        if all(e.id != uid for e in found.kept.events):
            moment = settings(request).now().isoformat(timespec="seconds")
            desk(request).attach(
                found.id,
                content,
                form["caption"][:300],
                by(request, found),
                media=media,
                about=form.get("about", ""),
                id=uid,
                at=moment,
            )
    except JournalError as error:
        return _photos(request, found, Typed(form, {"photo": (str(error),)}))
    return see_other(f"{base(found)}/photos")


async def photo(request: Request) -> Response:
    """GET one photo by its hash, only if it belongs to this visit."""
    found = opened(request)
    for e in found.photos():
        if e.body.get("hash") == request.path_params["hash"] and str(e.body.get("media")) in PICTURES:
            return Response(
                desk(request).content(e.body["hash"]),
                media_type=e.body["media"],
                headers={"cache-control": "private, max-age=31536000, immutable"},
            )
    raise HTTPException(404)
