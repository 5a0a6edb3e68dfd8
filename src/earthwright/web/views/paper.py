"""Paper: each document page by page, what is still missing and where it is entered, signatures, issue."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from attrs import frozen
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ...base.days import moment
from ...desk.camera import kept_photos
from ...outcomes.assessment import Assessment
from ...paper.declarations import offered, statement
from ...paper.documents import NotIssued, make_document, page_of, preview
from ...paper.kinds import DOCUMENTS, ENDS_IN
from ...paper.page import record_hash
from ...paper.receipts import RECEIVED, acknowledges
from ...paper.requirements import does_not_comply, missing_fields
from ...records.canon import digest
from ...records.event import FILE, ISSUE
from ...records.replay import effect
from ...report.coding import edition_if_any
from ...report.duties import duties
from ...rules import clause_of
from ...site.at import SIGN
from ...site.inspection import ACCEPTABLE, INITIAL_ITEMS, INITIAL_OUTCOMES, PERIODIC_ITEMS, PERIODIC_OUTCOMES
from ...site.particulars import AUTHORISED
from ...site.strokes import as_svg
from ...sync.names import sends_as
from ..fillfields import Known, asks
from ..forms import Typed, table_errors
from ..given import TOGETHER, Act, receipt_of, signs_of
from ..lacks import INITIAL, items_of, lacks
from ..merge import both, only_theirs, together
from ..render import drawn, see_other
from ..sheets import sheets
from ..words import say
from ..work import Opened, plain_body
from .common import base, corrected, desk, form_of, judged, opened, recorded, settings, show, signer, uid_of, write
from .findings import next_coded

SLUGS = {d.replace(" ", "-"): d for d in DOCUMENTS}
SHARP = 88.0  # pixels for each inch: an A4 page is then as wide as a phone can use


@frozen
class Held:
    """The pages of a document held for a moment: they follow from the judged visit alone."""

    a: Assessment
    head: str
    photos: Mapping[str, bytes | str]

    def __hash__(self) -> int:
        return hash(self.head)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Held) and self.head == other.head


@lru_cache(maxsize=6)
def _pages(held: Held, document: str) -> tuple[bytes, ...]:
    return tuple(preview(held.a, document, SHARP, held.photos))


def _photos(request: Request, found: Opened) -> dict[str, bytes | str]:
    return kept_photos(desk(request).store, judged(found).visit)


def _held(request: Request, found: Opened) -> Held:
    return Held(judged(found), found.head, _photos(request, found))


def _count(held: Held, document: str) -> int:
    """How many pages there are to look at; none where papers cannot be set, as in a phone's browser."""
    try:
        return len(_pages(held, document))
    except ImportError:
        return 0


async def papers_page(request: Request) -> Response:
    """GET the documents of a visit, each with how much it still lacks."""
    found = recorded(request)
    a = judged(found)
    own = ENDS_IN.get(a.visit.kind, "")  # the one that this kind of visit is for stands first
    slugs = sorted(SLUGS.items(), key=lambda x: x[1] != own)
    rows = [(slug, d, len(missing_fields(a, d))) for slug, d in slugs]
    return show(request, found, "papers.html", "paper", rows=rows, issued=_issued(found), due=duties(a))


def _issued(found: Opened) -> list[dict[str, str]]:
    out, _ = effect(found.kept.events)
    return [
        {
            "document": str(e.body.get("document", "")),
            "hash": str(e.body.get("hash", "")),
            "by": e.by,
            "at": e.at[:16].replace("T", " "),
        }
        for e in found.kept.events
        if e.kind == ISSUE and e.id not in out
    ]


def _document(request: Request) -> str:
    try:
        return SLUGS[str(request.path_params["document"])]
    except KeyError:
        raise HTTPException(404) from None


async def paper_page(request: Request) -> Response:
    """GET one document: its pages, what is missing, signatures, issue."""
    return _paper(request, recorded(request), Typed())


def _paper(request: Request, found: Opened, typed: Typed) -> Response:
    a, document = judged(found), _document(request)
    held = a.visit.paperwork
    return show(
        request,
        found,
        "paper.html",
        "paper",
        typed,
        document=document,
        slug=request.path_params["document"],
        pages=_count(_held(request, found), document),
        sheets=sheets(page_of(a, document, photos=_photos(request, found))),
        lacks=(lacking := lacks(found, a, document)),
        lacks_by={g: [x for x in lacking if x.group == g] for g in dict.fromkeys(x.group for x in lacking)},
        fillable=bool(asks(found, a, document, Known(), settings(request).now().date())),
        roles=_roles(a, document),
        statements=_statements(a, document),
        first=[x for x in lacking if x.at.table != SIGN],
        signs=_hands(a),
        signs_as=sends_as(desk(request).store) or a.visit.inspector,
        signed=[s for s in held.signs if held.holds(s)],
        receipts=[
            (r, moment(r.at), held.void(r), drawn(as_svg(r.strokes))) for r in held.receipts if r.document == document
        ],
        acknowledges=acknowledges(document) if document in RECEIVED else "",
        issued=[i for i in _issued(found) if i["document"] == document],
        beside=_beside(request, a),
    )


def _taken(a: Assessment, document: str) -> list[tuple[str, ...]]:
    """What may be signed for in one act: several roles that one person takes together, then each role by itself."""
    held = a.visit.paperwork
    open_ = [r for r in offered(a, document) if not any(s.role == r and held.holds(s) for s in held.signs)]
    own_work = tuple(r for r in open_ if r != AUTHORISED)
    return [*([own_work] if len(own_work) > 1 else []), *((r,) for r in offered(a, document))]


def _roles(a: Assessment, document: str) -> list[tuple[str, str]]:
    """The choices of the form: what is sent, and what is shown."""
    return [
        (TOGETHER.join(roles), say("paper.sign_together", roles=", ".join(roles)) if len(roles) > 1 else roles[0])
        for roles in _taken(a, document)
    ]


def _statements(a: Assessment, document: str) -> list[tuple[str, str]]:
    """What a signature in these roles certifies, word for word as it is printed."""
    return [(", ".join(roles), statement(a, document, roles)) for roles in _taken(a, document)]


def _hands(a: Assessment) -> list[tuple[str, str, str, str, Markup]]:
    """Who signed: the roles of one act together, name, moment, why it is void (empty while it stands), what was drawn."""
    acts: dict[tuple[str, str, tuple[str, ...], str, bool], list[str]] = {}
    for s in a.visit.paperwork.signs:
        acts.setdefault((s.name, s.at, s.strokes, a.visit.paperwork.void(s), s.role == AUTHORISED), []).append(s.role)
    return [
        (", ".join(roles), name, moment(at), void, drawn(as_svg(strokes)))
        for (name, at, strokes, void, _), roles in acts.items()
    ]


def _beside(request: Request, a: Assessment) -> int:
    """How many findings rest on the last visit or on today's date: they stand on the pages and are not printed."""
    pages = opened(request).a
    return len(set(pages.findings) - set(a.findings)) if pages else 0


async def paper_picture(request: Request) -> Response:
    """GET one page of a document as a picture."""
    found = recorded(request)
    pages = _pages(_held(request, found), _document(request))
    number = int(request.path_params["number"])
    if not 1 <= number <= len(pages):
        raise HTTPException(404)
    return Response(pages[number - 1], media_type="image/png")


async def paper_pdf(request: Request) -> Response:
    """GET a document as it stands, as PDF; a draft shows that it is one."""
    found = recorded(request)
    document = _document(request)
    book = desk(request).as_visit_book(found.id)
    photos, head = _photos(request, found), desk(request).store.head()
    made = make_document(judged(found), document, book=book, draft=True, journal=head, photos=photos)
    return as_pdf(made, f"{request.path_params['document']}-draft.pdf")


def as_pdf(content: bytes, name: str) -> Response:
    """A PDF to be shown where it is."""
    return Response(
        content, media_type="application/pdf", headers={"content-disposition": f'inline; filename="{name}"'}
    )


async def paper_post(request: Request) -> Response:
    """POST a signature, or the wish to issue."""
    found = recorded(request)
    document, here = _document(request), f"{base(found)}/paper/{request.path_params['document']}"
    form, _ = await form_of(request)
    a = judged(found)
    if any(e.id == uid_of(form) for e in found.kept.events):
        return see_other(here)
    seen = form.get("head", found.head) == found.head
    moved: dict[str, tuple[str, ...]] = {} if seen else {"conflict": (say("paper.moved"),)}
    if form.get("do") == "sign":
        errors = dict(moved)
        if lacking := does_not_comply(a, document):
            errors[""] = (say("paper.no_sign", count=len(lacking)), *(m.what for m in lacking))
        said = {
            **form,
            "name": signer(request, form.get("name", "")),
        }  # as it is kept, so that what is drawn is bound to it
        acts = signs_of(said, a, _moment(request))
        refused = _given(request, found, form, acts, {**_signs_elsewhere(request, acts), **errors})
        return _paper(request, found, refused) if refused else see_other(here)
    if form.get("do") == "receive" and document in RECEIVED:
        errors = dict(moved)
        if lacking := missing_fields(a, document):
            errors[""] = (say("paper.not_received", count=len(lacking)),)
        refused = _given(request, found, form, receipt_of(form, a, document, _moment(request)), errors)
        return _paper(request, found, refused) if refused else see_other(here)
    if moved:
        return _paper(request, found, Typed(form, moved))
    try:
        book = desk(request).as_visit_book(found.id)
        photos, head = _photos(request, found), desk(request).store.head()
        made = make_document(a, document, book=book, journal=head, photos=photos)
    except NotIssued as lacking:
        return _paper(request, found, Typed(form, {"": (say("paper.refused", count=len(lacking.missing)),)}))
    hash_ = digest(made)
    about: dict[str, object] = {
        "hash": hash_,
        "size": len(made),
        "caption": document,
        "name": "",
        "media": "application/pdf",
        "about": "",
    }
    content = a.visit.paperwork.content  # by which whoever holds the paper finds its visit at once
    issue: dict[str, object] = {
        "document": document, "hash": hash_, "state": found.head, "record": record_hash(a), "content": content,
    }  # fmt: skip
    refused = write(request, found, form, [(FILE, about), (ISSUE, issue)], [made])
    return _paper(request, found, refused) if refused else see_other(f"{here}?said=1")


def _signs_elsewhere(request: Request, acts: list[Act]) -> dict[str, tuple[str, ...]]:
    """Why a signature is not given on this device: what it sends is in one person's name, and an office refuses another's."""
    mine = sends_as(desk(request).store)
    others = any(body.get("name") != mine or body.get("role") == AUTHORISED for _, body in acts)
    return {"name": (say("paper.sign_elsewhere", who=mine),)} if mine and others else {}


def _moment(request: Request) -> str:
    return settings(request).now().isoformat(timespec="minutes")


def _given(
    request: Request, found: Opened, form: dict[str, str], acts: list[Act], errors: dict[str, tuple[str, ...]]
) -> Typed | None:
    """Keep signatures or a receipt, all or none; the form with what is wrong otherwise."""
    for table, body in acts:
        errors = {**table_errors(found, table, body), **errors}
    return Typed(form, errors) if errors else write(request, found, form, acts)


async def issued_pdf(request: Request) -> Response:
    """GET a document as it was issued, byte for byte."""
    found = opened(request)
    for i in _issued(found):
        if i["hash"] == request.path_params["hash"]:
            return as_pdf(desk(request).content(i["hash"]), f"{i['document'].replace(' ', '-')}.pdf")
    raise HTTPException(404)


async def inspected_page(request: Request) -> Response:
    """GET the items of the schedule of inspections."""
    return _inspected(request, opened(request), Typed())


def _inspected(request: Request, found: Opened, typed: Typed) -> Response:
    a = judged(found)
    asked = request.query_params.get("list", "")
    initial = asked == INITIAL if asked else items_of(a) == INITIAL
    items, outcomes = (INITIAL_ITEMS, INITIAL_OUTCOMES) if initial else (PERIODIC_ITEMS, PERIODIC_OUTCOMES)
    groups: dict[str, list[object]] = {}
    edition = edition_if_any(a)
    for item in items:
        groups.setdefault(item.group, []).append(
            (item, a.visit.paperwork.outcome(item.id), clause_of(edition, item.rule))
        )
    names = {f"{i.id}{part}": i.words for i in items for part in ("", ".note")}
    return show(
        request,
        found,
        "inspected.html",
        "details",
        typed,
        groups=groups,
        outcomes=outcomes,
        names=names,
        listed=f"?list={asked}" if asked else "",
        ns_open=lambda rows, back: any(back.wrong(i.id) or i.id in back.clashes for i, *_ in rows),
    )


async def inspected_post(request: Request) -> Response:
    """POST the outcomes of the items; what is left empty stays as it is."""
    found = opened(request)
    form, _ = await form_of(request)
    if any(e.id == uid_of(form) for e in found.kept.events):
        return see_other(f"{base(found)}/inspected")
    held = found.single("inspected")
    items = (*PERIODIC_ITEMS, *INITIAL_ITEMS)
    merged, clashes = together(found, held, form)
    if clashes:
        return _inspected(request, found, both(merged, clashes))
    before: dict[str, object] = plain_body(held) if held else {}
    body = dict(before)
    for item in items:
        outcome, note = merged.get(item.id, ""), merged.get(f"{item.id}.note", "")
        if not outcome and form.get("rest") == ACCEPTABLE and item.id in form and item.id not in before:
            outcome = ACCEPTABLE
        if outcome:
            body[item.id] = f"{outcome}: {note}" if note else outcome
    if only_theirs(form, body, before):
        return see_other(f"{base(found)}/inspected")
    errors = table_errors(found, "inspected", body, held.id if held else "")
    if body == before:
        errors = {"": (say("tests.nothing"),)}
    if errors:
        return _inspected(request, found, Typed(form, errors))
    entry = corrected(held, body, say("things.filled")) if held else ("inspected", body)
    refused = write(request, found, form, [entry])
    if refused:
        return _inspected(request, found, refused)
    coded = next_coded(opened(request)) if body != before else ""
    return see_other(f"{base(found)}/{coded or 'inspected?said=1&list=' + request.query_params.get('list', '')}")
