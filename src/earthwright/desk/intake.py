"""From a visit book's text to the entries that are kept."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import evolve

from ..base import limits
from ..base.errors import VisitBookError
from ..records.canon import digest
from ..records.event import CORRECT, FILE, OWN_KINDS, STRIKE, Draft
from ..records.json_values import to_json
from ..visitbook.read import parse


def book_drafts(content: bytes, visit_id: str, by: str, at: str) -> list[Draft]:
    """The entries of a visit book, and the file itself, as drafts. Raises VisitBookError."""
    if limits.BOOK.refuses(len(content)):
        raise VisitBookError(f"This is too large for a visit book: {limits.BOOK.said(len(content))}.")
    try:
        data = parse(content.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise VisitBookError(f"This is not a text file in UTF-8 (byte {error.start}).") from error
    loose = [k for k, v in data.items() if k in OWN_KINDS or not isinstance(v, (dict, list))]
    if loose or "visit" not in data:
        said = f"'{loose[0]}' is no table of a visit book" if loose else "there is no [visit] table"
        raise VisitBookError(f"This cannot be kept as a visit book: {said}.")
    drafts = [
        Draft(visit_id, name, to_json(entry, exact=True), by, "", at)
        for name, tables in data.items()
        for entry in (tables if isinstance(tables, list) else [tables])
    ]
    drafts.sort(key=lambda d: d.kind != "visit")  # the heading comes first
    whole = {"hash": digest(content), "size": len(content), "caption": "visit book as taken in", "media": "text/toml"}
    return [*drafts, Draft(visit_id, FILE, {**whole, "name": "", "about": ""}, by, "", at)]


def as_json(draft: Draft) -> Draft:
    """The draft with values that JSON can hold: digits as text, dates as text."""
    body = draft.body
    if draft.kind == CORRECT and isinstance(body, Mapping) and isinstance(body.get("body"), Mapping):
        return evolve(draft, body={**body, "body": to_json(dict(body["body"]))})
    if draft.kind in (CORRECT, STRIKE) or not isinstance(body, Mapping):
        return draft
    return evolve(draft, body=to_json(dict(body)))
