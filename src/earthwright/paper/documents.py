"""Every document by its name: its page, its template, the record inside it, and whether it may be issued."""

from __future__ import annotations

import json

from ..base.build import build_mark
from ..base.counted import counted
from ..base.days import day, in_words
from ..outcomes.assessment import Assessment
from ..report.record import as_text
from ..report.reviewed import notices
from ..report.stops import stops
from ..site.particulars import TESTED
from . import contents
from .declarations import statement
from .earthmap import earth_maps, text_of_map
from .kinds import BY_NAME, RECORD, made_by
from .maplegend import legend, legend_said
from .network import network_page
from .page import hash_of, record_hash
from .passedon import without_the_client
from .pdf import Attached, picture_pages, print_page
from .photographs import Held, files, photographs
from .receipts import receipts
from .requirements import Missing, missing_fields

__all__ = [
    "Missing",
    "NotIssued",
    "document_facts",
    "make_document",
    "missing_fields",
    "page_of",
    "preview",
]

RECORD_FILE, BOOK_FILE, FACTS_FILE = "record.json", "visit.toml", "document.json"
FACTS_SCHEMA = "earthwright-document-1"
JournalHead = tuple[int, str]  # number and hash of the last event of a journal
NO_HEAD: JournalHead = (0, "")
NONE_HELD: Held = {}
AS_ENTERED = ("date", "number", "hash", "content")  # of a page: not read as sentences that may hold a date


class NotIssued(ValueError):
    """A document was asked for while something it needs is missing; ``missing`` lists it."""

    def __init__(self, document: str, missing: list[Missing]) -> None:
        super().__init__(f"{document}: {len(missing)} required entries are missing")
        self.document, self.missing = document, missing


def page_of(
    a: Assessment, document: str, *, record: str = "", missing: list[Missing] | None = None, photos: Held = NONE_HELD
) -> dict[str, object]:
    """What the template of a document prints, as texts; ``record`` and ``missing`` if they are known already.

    photos  files of photographs by their hash. Raises KeyError for an unknown document.
    """
    kind = BY_NAME[document]
    v = a.visit
    missing = missing_fields(a, document) if missing is None else missing
    void = any(not v.paperwork.holds(s) for s in v.paperwork.signs)
    page = {
        "title": kind.title,
        "place": v.site.place,
        "date": v.date.isoformat(),
        "day_said": day(v.date),
        "year": v.date.year,
        "month": v.date.month,
        "day": v.date.day,
        "number": v.paperwork.report.number,
        "inspector": v.inspector,
        "editions": [*(f"{e.title} ({e.why})" for e in a.editions), *filter(None, [v.choices.assumptions.said()])],
        "hash": record or record_hash(a),
        "program": f"earthwright {a.program}",
        "signatures": contents.signatures(a, document),
        "receipts": receipts(a, document),
        "content": v.paperwork.content,
        "draft": "",
        "notices": list(notices(a)),
        "stops": [{"what": s.what, "plain": s.plain, "do": list(s.do), "because": list(s.because)} for s in stops(a)],
    }
    page |= {**made_by(kind.page)(a), "title": kind.title}
    page["holds_record"] = kind.private
    if document == RECORD:
        page["declaration"] = statement(a, document, (TESTED,))
    if kind.network:
        page["network"] = network_page(a)
    if missing:
        entries = counted(len(missing), "entry", "entries")
        page["draft"] = "Draft: void signature" if void else f"Draft: {entries} missing"
    page["missing"] = [m.plain() for m in missing]
    page["photos"] = photographs(a, document, photos)
    page["voided"] = void
    if not kind.private:
        page = without_the_client(page, a, document)
    return {key: value if key in AS_ENTERED else _dated(value) for key, value in page.items()}


def _dated(value: object) -> object:
    """The same texts with their dates as people write them."""
    if isinstance(value, str):
        return in_words(value)
    if isinstance(value, dict):
        return {k: _dated(v) for k, v in value.items()}
    return [_dated(v) for v in value] if isinstance(value, list) else value


def document_facts(
    a: Assessment, document: str, page: dict[str, object], *, book: bool = False, journal: JournalHead = NO_HEAD
) -> dict[str, object]:
    """What a program needs to know about a document: its kind, the record it belongs to, and all it says.

    book     whether the visit book goes with it, so that one that is gone is missed
    journal  end of the journal it was printed from
    """
    return {
        "schema": FACTS_SCHEMA,
        "document": document,
        "record": page["hash"],
        "content": a.visit.paperwork.content,
        "program": a.program,
        "build": build_mark(),
        "editions": [{"standard": e.standard, "edition": e.edition} for e in a.editions],
        "book": book,
        "journal": {"no": journal[0], "head": journal[1]} if journal[0] else None,
        "draft": page["draft"],
        "says": page,
    }


def make_document(
    a: Assessment,
    document: str,
    *,
    book: str = "",
    draft: bool = False,
    journal: JournalHead = NO_HEAD,
    photos: Held = NONE_HELD,
) -> bytes:
    """A document made to PDF/A-3 with its record inside: the same bytes for the same visit and program.

    book     text of the visit book, attached so that the record can be judged again;  draft  print it although something
             is missing, with a watermark and the list
    journal  number and hash of the last event of the journal it is printed from: it stands on every page
    photos   files of photographs by their hash; one that is not there, or not fit to be printed, is told in its place
    Raises NotIssued when something is missing, ValueError for an unknown document.
    """
    missing = missing_fields(a, document)
    if missing and not draft:
        raise NotIssued(document, missing)
    record = as_text(a)
    page = page_of(a, document, record=hash_of(json.loads(record)), missing=missing, photos=photos)
    page["journal"] = f"Journal event {journal[0]}, {journal[1]}" if journal[0] else ""
    kind = BY_NAME[document]
    if not kind.private:
        return print_page(kind.template, page, _figures(a, document, page, photos))
    said = document_facts(a, document, page, book=bool(book), journal=journal)
    facts = json.dumps(said, ensure_ascii=False, indent=1, sort_keys=True) + "\n"
    attached = [
        Attached(
            RECORD_FILE,
            record.encode("utf-8", "replace"),
            "application/json",
            "source",
            "The record this document is printed from",
        ),
        Attached(FACTS_FILE, facts.encode("utf-8", "replace"), "application/json", "data", "What this document says"),
    ]
    if book:
        attached.append(
            Attached(
                BOOK_FILE, book.encode("utf-8"), "text/plain", "source", "The visit book the record was judged from"
            )
        )
    return print_page(kind.template, page, _figures(a, document, page, photos), attached)


def _figures(a: Assessment, document: str, page: dict[str, object], photos: Held) -> dict[str, str | bytes]:
    """The drawings and photographs of a document; their words go into the page."""
    pictures: dict[str, str | bytes] = {**files(a, page, photos)}
    if document != RECORD:
        return pictures
    # Below the outcome on the first page, then whole pages; one millimetre is 3.68 units of the drawing.
    first = 560.0 if not page["stops"] else 300.0
    maps = {f"map-{i}.svg": drawing for i, drawing in enumerate(earth_maps(a, first, rest=880.0), 1)}
    page |= {"map_text": text_of_map(a), "maps": list(maps), "legend_text": legend_said()}
    return {**pictures, **maps, "legend.svg": legend()}


def preview(a: Assessment, document: str, ppi: float = 100.0, photos: Held = NONE_HELD) -> list[bytes]:
    """The pages of a document as it stands, as PNG pictures; a draft shows that it is one.

    ppi  pixels for each inch. Raises ValueError for an unknown document.
    """
    if document not in BY_NAME:
        raise ValueError(f"There is no document '{document}'. There are: {', '.join(BY_NAME)}")
    page = page_of(a, document, photos=photos)
    return picture_pages(BY_NAME[document].template, page, _figures(a, document, page, photos), ppi)
