"""The rule data as lists: every value from memory, every schedule line, what is not covered."""

from __future__ import annotations

import datetime as dt
import re

from click.testing import CliRunner

from earthwright.cli import main
from earthwright.report.rulebook import ASKED, INFORMS, JUDGED, NOT_COVERED, coverage, editions_of_day, from_memory
from earthwright.rules import RuleBook
from earthwright.site.inspection import ITEMS

BOOK = RuleBook.load()
DAY = dt.date(2026, 11, 28)


def run(*arguments: str) -> str:
    done = CliRunner().invoke(main, ["rules", *arguments])
    assert done.exit_code == 0, done.output
    return done.output


def test_every_value_from_memory_is_in_the_list() -> None:
    found = from_memory(editions_of_day(BOOK, DAY))
    every = [
        r for e in editions_of_day(BOOK, DAY) for t in e.tables for r in e.table(t).rows if r.confidence == "memory"
    ]
    assert sum(m.count for m in found) == len(every) > 500
    assert all(m.settled_by and m.values for m in found)
    assert {m.drives for m in found} == {True, False}
    assert set(INFORMS) <= {t for e in BOOK.editions for t in e.tables}


def test_every_requirement_has_a_clause_and_an_answer() -> None:
    edition = BOOK.wiring_for(DAY)
    found = coverage(edition)
    by = {how: [a for a in found if a.how == how] for how in (JUDGED, ASKED, NOT_COVERED)}
    assert {i.words for i in ITEMS} <= {a.what for a in by[ASKED]}
    assert len(by[JUDGED]) > 30
    assert len(by[NOT_COVERED]) == len(edition.table("not.covered").rows)
    numbers = [int(a.clause[:3]) for a in found if re.match(r"\d{3}", a.clause)]
    assert numbers == sorted(numbers)
    judged = {t for t in edition.tables if t not in INFORMS}
    assert not {a.what for a in by[NOT_COVERED]} & {edition.table(t).title for t in judged}


def test_the_terminal_lists_editions_and_both_tables() -> None:
    said = run()
    assert "2015-07-01 to 2019-01-01  BS 7671:2008+A3:2015" in said
    assert "Reviewed until 2027-05-25" in said
    assert "Settled by: " in run("--memory")
    assert "not covered: medical locations (710)" in run("--coverage")
    for wrong in (["--memory", "--coverage"], ["--page"]):
        assert CliRunner().invoke(main, ["rules", *wrong]).exit_code == 2
