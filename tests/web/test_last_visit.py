"""The last visit and today's date speak on the pages; papers rest on the visit alone and say what they leave out."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

from asked import Site, text_of

from earthwright.desk import Desk
from earthwright.paper.verify import verify
from earthwright.web.settings import Settings
from earthwright.web.words import say

BOARD = (Path(__file__).parents[1] / "visits" / "24-ragged-board.toml").read_text(encoding="utf-8")
CARRIED = "27 of 27 readings are those of 2021-05-02, to the last digit."
FUTURE = "The visit is dated in the future."


def at(desk: Desk, day: str) -> Site:
    return Site(desk, Settings(now=lambda: dt.datetime.fromisoformat(f"{day}T12:00")))


def test_digits_of_the_last_visit_and_a_day_to_come_stand_among_the_findings(desk: Desk) -> None:
    now = desk.take_in(BOARD)
    page = text_of(at(desk, "2026-11-20").get(f"/v/{now}/findings"))
    assert CARRIED not in page
    assert FUTURE not in page
    desk.take_in(BOARD.replace("2026-11-20", "2021-05-02"))
    assert CARRIED in text_of(at(desk, "2026-11-20").get(f"/v/{now}/findings"))
    early = at(desk, "2026-11-18")
    page = text_of(early.get(f"/v/{now}/findings"))
    assert CARRIED in page
    assert FUTURE in page


def test_such_a_finding_can_be_answered(desk: Desk) -> None:
    now = desk.take_in(BOARD)
    desk.take_in(BOARD.replace("2026-11-20", "2021-05-02"))
    site = at(desk, "2026-11-20")
    page = site.get(f"/v/{now}/findings").text
    card = next(c for c in page.split("<section") if CARRIED in c or "to the last digit" in c)
    link = re.search(rf'href="(/v/{now}/findings/[0-9a-f]{{12}})"', card)
    assert link
    answer = site.send(site.get(link[1]), link[1], code="none", reason="each was read again")
    assert answer.status_code == 303


def test_papers_leave_it_out_say_so_and_agree_on_any_day(desk: Desk) -> None:
    now = desk.take_in(BOARD)
    site = at(desk, "2026-11-20")
    path = f"/v/{now}/paper/evidence-sheet"
    remark = say("paper.beside", count=1)
    alone = site.get(f"{path}.pdf").content
    assert remark not in text_of(site.get(path))
    desk.take_in(BOARD.replace("2026-11-20", "2021-05-02"))
    assert remark in text_of(site.get(path))
    assert say("paper.beside", count=2) in text_of(at(desk, "2026-11-18").get(path))
    # The end of the journal's chain stands on a paper and has moved; beyond it, the day and the last visit change nothing.
    assert at(desk, "2026-11-18").get(f"{path}.pdf").content == site.get(f"{path}.pdf").content
    found = verify(alone, dt.date(2030, 1, 1))
    assert {c.outcome for c in found.checks} == {"agrees"}


def test_the_last_visit_is_what_a_visit_is_held_beside_unless_another_is_asked_for(desk: Desk) -> None:
    old, now = desk.take_in(BOARD.replace("2026-11-20", "2021-05-02")), desk.take_in(BOARD)
    page = at(desk, "2026-11-20").get(f"/v/{now}/compare").text
    assert re.search(rf'<option value="{old}" selected', page)
    assert say("compare.readings") in page
