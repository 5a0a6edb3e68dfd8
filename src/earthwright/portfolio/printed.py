"""The printed report on many homes: the same sections as the pages, in the typography of every other paper."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from .. import __version__
from ..paper.pdf import Attached, print_page
from .answers import as_csv
from .bars import bars
from .sections import Looking, Section, first_rows, sections

MOST = 25  # rows of a table on paper; the whole of it is inside as CSV
LEFT_OUT = ("visit",)  # columns that say nothing to a reader
ABOUT = (
    "A verdict speaks of what the readings show about one thing, in the state they were taken in; nothing here is called good "
    "because nothing was found.",
    "These are lists to look at. Local codes, the instrument's instructions and competent, registered or licensed persons decide; "
    "the inspector judges and signs.",
    "Whole lists are inside this file as CSV, one for each question.",
)


def report(look: Looking, title: str = "") -> bytes:
    """The report as PDF, with every answer inside as CSV. ``title``: whose homes they are, as it should stand on the paper."""
    made = sections(look)
    figures = {f"{s.name}.svg": bars(s.bars, s.bars_of, ink="#16202a", fill="#4b565f") for s in made if s.bars}
    page = contents(look, made, title)
    names = list(dict.fromkeys(q for s in made for q in (s.question, *s.more) if q and look.can_ask(q)))
    inside = [
        Attached(f"{n}.csv", as_csv(found).encode("utf-8-sig"), "text/csv", "data", found.question.sentence)
        for n in names
        for found in [look.ask(n)]
    ]
    return print_page("portfolio.typ", page, figures, inside)


def contents(look: Looking, made: list[Section], title: str) -> dict[str, Any]:
    """Everything the template prints, as texts."""
    today = look.asked.today
    said = {s.name: s for s in made}
    acts = [said[n].says[0] for n in ("codes", "deadlines", "bonds", "flattered") if n in said]
    page: dict[str, Any] = {
        "title": "Report on many homes",
        "place": title or said["overview"].says[0].rstrip("."),
        "year": today.year, "month": today.month, "day": today.day,
        "day_said": f"{today.day} {today:%B %Y}", "number": "", "draft": "", "journal": "",
        "judged": f"Judged {look.store.said().get('judged', '')}. earthwright {__version__}.",
        "outcome": {"over": "To act on first", "head": said["overview"].says[0], "lines": acts},
        "sections": [_section(s) for s in made],
        "about": ABOUT,
    }  # fmt: skip
    page["hash"] = hashlib.sha256(json.dumps(page, ensure_ascii=False, sort_keys=True).encode()).hexdigest()
    return page


def _section(s: Section) -> dict[str, Any]:
    keep = [i for i, h in enumerate(s.head) if h not in LEFT_OUT]
    rows, more = first_rows(s.rows, MOST)
    return {
        "title": s.title, "says": s.says, "figure": f"{s.name}.svg" if s.bars else "", "bars_of": s.bars_of,
        "alt": f"{s.bars_of}: " + "; ".join(f"{n}: {v}" for n, v in s.bars),
        "head": [s.head[i].replace("_", " ").capitalize() for i in keep], "rows": [[r[i] for i in keep] for r in rows],
        "more": f"and {more:,} more; all of them in {s.question}.csv inside this file." if more else "",
    }  # fmt: skip
