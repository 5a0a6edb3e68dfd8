"""A C1 is for now: no last day for it in the letter, the report, the list or the calendar, and a strip on the pages."""

from __future__ import annotations

from pathlib import Path

import pytest
from attrs import evolve
from click.testing import CliRunner

from earthwright.assess import assess
from earthwright.base.errors import Finding, Severity
from earthwright.cli import main
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.documents import page_of
from earthwright.report.due import WORK
from earthwright.report.duties import calendar, duties
from earthwright.report.observations import immediate
from earthwright.visitbook import read_text
from earthwright.web.banner import strips

HEAD = """
[visit]
place = "3 Fellgate, Marl"
date = 2026-11-20
kind = "periodic"
inspector = "J. Example"
extent = "all"
limitations = ["none"]
[report]
country = "England"
rented = true
operational = ["none"]
"""
C1 = '[[observation]]\nid = "1"\nwhat = "Bare live parts can be touched at the cooker point."\nwhere = "kitchen"\ncode = "C1"\n'
C2 = '[[observation]]\nid = "2"\nwhat = "The cover of the junction box is missing."\nwhere = "loft"\ncode = "C2"\n'
SAFE = '[[observation.then]]\nstage = "made safe"\non = 2026-11-20\nby = "J. Example"\nwhat = "locked off"\n'


def judged(*parts: str) -> Assessment:
    book = read_text(HEAD + "".join(parts))
    assert book.visit is not None
    assert [f.sentence() for f in book.findings] == []
    return assess(book.visit)


def letter(a: Assessment) -> dict[str, dict[str, str]]:
    return {o["code"]: o for o in page_of(a, "letter")["found"]}  # type: ignore[attr-defined]


def test_the_letter_says_now_for_a_c1_and_a_day_for_a_c2() -> None:
    told = letter(judged(C1, C2))
    assert told["C1"]["by"] == "now. This cannot wait."
    assert "17 December 2026" in told["C2"]["by"]
    assert page_of(judged(C1), "letter")["outcome"]["head"].startswith("There is danger now.")  # type: ignore[index]
    assert "danger now" not in str(page_of(judged(C2), "letter")["outcome"])


def test_a_danger_that_was_made_safe_leaves_the_repair_with_its_day() -> None:
    told = letter(judged(C1, SAFE))["C1"]
    assert "17 December 2026" in told["by"]
    assert "taken away on 20 November 2026" in told["stage"]
    assert "danger now" not in told["means"]
    assert immediate(judged(C1, SAFE)) == ()


def test_what_is_due_puts_the_danger_first_and_without_a_day() -> None:
    a = judged(C2, C1)
    due = duties(a).due
    assert due[0].now
    assert "Bare live parts" in due[0].what
    assert "kitchen" in due[0].what
    (work,) = [d for d in due if d.what.lower() == WORK]
    assert work.note == "for observation 2" or work.note.startswith("for observation 2.")
    first = page_of(a, "condition report")["duties"]["due"][0]  # type: ignore[index]
    assert first[0] == "Now"


def test_one_danger_alone_has_no_period_to_wait_for() -> None:
    found = duties(judged(C1))
    assert not [d for d in found.due if d.what.lower() == WORK]
    assert any("none to wait for" in x for x in found.said)
    assert not any("is asked for, so" in x for x in found.said)


def test_the_calendar_and_the_list_say_now(tmp_path: Path) -> None:
    a = judged(C1)
    text = calendar(a.visit, duties(a)).replace("\r\n ", "")
    assert "SUMMARY:Now: Danger: Bare live parts can be touched at the cooker point (kitchen)" in text
    assert "SUMMARY:Last day: danger" not in text
    (tmp_path / "v.toml").write_text(HEAD + C1, encoding="utf-8")
    said = CliRunner().invoke(main, ["deadlines", str(tmp_path / "v.toml")]).output
    assert said.startswith("NOW  Danger: Bare live parts")
    assert "days ago)" not in said.split("\n")[0]


def test_the_calendar_reminds_of_each_and_holds_what_stops_the_work_without_a_code() -> None:
    """RFC 5545, 3.6.6: an alarm has an action and a trigger; one to be displayed has words."""
    a = judged(C1)
    stop = Finding("db1", "Line and neutral are changed over.", Severity.STOP, "polarity.bad", do="Do not energise it.")
    a = evolve(a, findings=(*a.findings, stop))
    events = calendar(a.visit, duties(a)).replace("\r\n ", "").split("BEGIN:VEVENT")[1:]
    assert all(e.count("BEGIN:VALARM") == e.count("ACTION:DISPLAY") == e.count("TRIGGER:") == 1 for e in events)
    now = [e for e in events if "SUMMARY:Now: " in e]
    assert [("Line and neutral are changed over" in e, "PRIORITY:1" in e, "TRIGGER:PT0S" in e) for e in now] == [
        (False, True, True),
        (True, True, True),
    ]
    assert all("TRIGGER:-P7D" in e for e in events if e not in now)


def test_a_proposal_that_nobody_answered_is_for_now_as_well() -> None:
    text = HEAD + '[[step]]\nvolts = "MET to true earth"\nshown = 141\nload = "shower on, 7 kW"\n'
    text += '[[step]]\nvolts = "L-N"\nshown = 89\nload = "shower on, 7 kW"\n'
    book = read_text(text)
    assert book.visit is not None
    a = assess(book.visit)
    assert a.alarms
    assert [x.said for x in immediate(a)] == ["proposed, not answered yet"]
    assert duties(a).due[0].now


@pytest.mark.parametrize(("parts", "count"), [((C1,), 1), ((C1, SAFE), 0), ((C2,), 0), ((C1, C2), 1)])
def test_a_c1_stands_at_the_top_of_the_pages_with_the_notice_one_tap_away(parts: tuple[str, ...], count: int) -> None:
    found = [s for s in strips(judged(*parts), "/v/x") if "C1" in s.words]
    assert len(found) == count
    for strip in found:
        assert strip.tone == "bad"
        assert strip.link == "/v/x/paper/danger-notice"
        assert "Bare live parts" in strip.words
