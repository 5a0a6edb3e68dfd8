"""What an owner of many homes looks at: every section with its figures, and every answer and table for a spreadsheet.

The tables are made by ``portfolio build``; these pages only read them, and are there when whoever serves names a store.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from ..render import drawn, page
from .common import desk, settings

if TYPE_CHECKING:
    from ...portfolio.sections import Looking, Section

AT_ONCE = 100  # rows of a table on one page
MOST_ROWS = 200_000  # of a table as CSV over the pages; larger ones are read where they stand


def _looking(request: Request) -> Looking:
    """The store that is served. Answers 404 where none is named, or the extra that reads it is not installed."""
    where = settings(request).portfolio
    if not where:
        raise HTTPException(404)
    try:
        from ...portfolio.answers import asked_on
        from ...portfolio.sections import Looking
        from ...portfolio.store import Store
    except ModuleNotFoundError as error:
        raise HTTPException(404) from error
    store = Store(Path(where))
    again = request.query_params.get("again", "")
    return Looking(store, asked_on(settings(request).now().date()), again if again in store.judged_again else "")


async def portfolio_page(request: Request) -> Response:
    """GET every section with what it says."""
    from ...portfolio.sections import sections

    look = _looking(request)
    return page(
        request,
        "portfolio.html",
        sections=sections(look),
        tables=sorted(look.frames),
        judged=look.store.said().get("judged", ""),
    )


async def section_page(request: Request) -> Response:
    """GET one section: its drawing and its table, sorted by the column that is asked for."""
    from ...portfolio.bars import bars
    from ...portfolio.sections import section

    look = _looking(request)
    s = section(look, request.path_params["name"])
    if s is None:
        raise HTTPException(404)
    asked = request.query_params
    sort = asked.get("sort", "")
    rows = _sorted(s, sort)
    first = int(asked["from"]) if re.fullmatch(r"[0-9]{1,8}", asked.get("from", "")) else 0
    shown = rows[first : first + AT_ONCE]
    drawing = drawn(bars(s.bars, s.bars_of, fill="var(--copper)")) if s.bars else ""
    at = s.head.index("visit") if "visit" in s.head else -1
    return page(
        request, "portfolio_section.html", s=s, rows=shown, first=first, at_once=AT_ONCE, count=len(rows), sort=sort,
        drawing=drawing, links=_links(request, look, [r[at] for r in shown]) if at >= 0 else {}, at=at,
    )  # fmt: skip


def _sorted(s: Section, sort: str) -> list[tuple[str, ...]]:
    """The rows by a column, ``-`` before its name: largest first. Without one, as the section has them."""
    name = sort.removeprefix("-")
    if name not in s.head:
        return list(s.rows)
    at = s.head.index(name)

    def by(row: tuple[str, ...]) -> list[tuple[bool, int, str]]:
        return [(p.isdigit(), int(p) if p.isdigit() else 0, p) for p in re.split(r"(\d+)", row[at])]

    return sorted(s.rows, key=by, reverse=sort.startswith("-"))


def _links(request: Request, look: Looking, visits: list[str]) -> dict[str, str]:
    """Address of each visit that stands in the served journal, by its number."""
    journal = desk(request)
    names = look.store.names_of({int(v) for v in visits})
    return {str(k): f"/v/{name}/" for k, name in names.items() if journal.holds(name)}


async def answer_csv(request: Request) -> Response:
    """GET the whole answer to a question, for a spreadsheet."""
    from ...portfolio.answers import as_csv
    from ...portfolio.questions import QUESTIONS

    look, name = _looking(request), request.path_params["question"]
    if name not in QUESTIONS or (QUESTIONS[name].needs == "change" and not look.store.judged_again):
        raise HTTPException(404)
    return _csv(as_csv(look.ask(name)), name)


async def table_csv(request: Request) -> Response:
    """GET a table, codes as words, for a spreadsheet."""
    from ...portfolio.spreadsheet import table_as_csv

    look, name = _looking(request), request.path_params["table"]
    if name not in set(look.frames):
        raise HTTPException(404)
    text = table_as_csv(look.store, name, MOST_ROWS)
    if text is None:
        raise HTTPException(404)
    return _csv(text, name)


def _csv(text: str, name: str) -> Response:
    disposition = f'attachment; filename="{name}.csv"'
    return Response(text.encode("utf-8-sig"), media_type="text/csv", headers={"content-disposition": disposition})
