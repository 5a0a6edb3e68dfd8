"""That a document was received: the words under which it is acknowledged, and its line in print."""

from __future__ import annotations

from ..base.days import moment
from ..outcomes.assessment import Assessment
from ..site.particulars import Receipt
from ..site.strokes import as_svg
from .kinds import ALL

RECEIVED = tuple(d.name for d in ALL if d.received)


def acknowledges(document: str) -> str:
    """What whoever received a document says by it, and what not."""
    return (
        f"I received this {document}. That says nothing more: not that I agree with what it finds, not that I checked it, "
        "and not that I ordered any work."
    )


def receipts(a: Assessment, document: str) -> list[dict[str, object]]:
    """Everybody who acknowledged a document, with the version that it was; the last time where one did so twice."""
    last = {r.name: r for r in a.visit.paperwork.receipts if r.document == document}
    return [_as_texts(a, r) for r in last.values()] if document in RECEIVED else []


def _as_texts(a: Assessment, r: Receipt) -> dict[str, object]:
    papers = a.visit.paperwork
    state = "This version was received."
    if forged := papers.forged(r):
        state = f"VOID: {forged}."
    elif r.content != papers.content:
        state = f"An earlier version was received ({r.content[:16]}…)."
    words = acknowledges(r.document)
    return {"name": r.name, "at": moment(r.at), "statement": words, "strokes": as_svg(r.strokes), "state": state}
