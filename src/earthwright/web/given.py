"""Signatures and receipts as their forms send them: who, when, which version, and the strokes where somebody drew."""

from __future__ import annotations

from collections.abc import Mapping

from ..outcomes.assessment import Assessment
from ..site.particulars import DRAWN, TYPED
from ..site.strokes import binding
from ..visitbook.read import read_tables
from .words import say

TOGETHER = " + "  # between the roles that one person signs for in one act
BETWEEN = ";"  # between the strokes of a drawing
Act = tuple[str, dict[str, object]]


def signs_of(form: Mapping[str, str], a: Assessment, moment: str) -> list[Act]:
    """A signature for each role that was chosen, all of one hand."""
    said = {k: form[k] for k in ("name", "position", "firm") if form.get(k)}
    roles = form.get("role", "").split(TOGETHER)
    return [_act("sign", {"role": role, **said}, "strokes", form, a, moment) for role in roles]


def receipt_of(form: Mapping[str, str], a: Assessment, document: str, moment: str) -> list[Act]:
    """That somebody received a document."""
    said = {"document": document, "client": form.get("client", "")}
    return [_act("receipt", said, "client_strokes", form, a, moment)]


def _act(table: str, said: dict[str, str], key: str, form: Mapping[str, str], a: Assessment, moment: str) -> Act:
    strokes = [s for s in form.get(key, "").split(BETWEEN) if s]
    given: dict[str, object] = {"content": a.visit.paperwork.content, "how": DRAWN if strokes else TYPED, "at": moment}
    body = {**said, **given, **({key: strokes} if strokes else {})}
    return table, {**body, **({"bound": _bound(table, body)} if strokes else {})}


def _bound(table: str, body: Mapping[str, object]) -> str:
    """The hash of the act as it is read again; empty where it cannot be read, which is told at its field."""
    visit = read_tables({"visit": {"place": say("app.name"), "date": "2026-11-28"}, table: [body]}, "").visit
    papers = visit.paperwork if visit else None
    if papers is None:
        return ""
    return next((binding(s) for s in papers.signs), "") or next((binding(r) for r in papers.receipts), "")
