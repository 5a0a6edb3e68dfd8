"""Thousands of visits: the list comes page by page, a word finds one, and the choice of an earlier visit stays short."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from asked import Site

from earthwright.desk import Desk
from earthwright.records import Draft

COUNT = 130


def test_the_list_comes_page_by_page_and_reads_again_only_what_changed(tmp_path: Path) -> None:
    desk = Desk(tmp_path / "journal.sqlite")
    day = dt.date(2026, 1, 1)
    heading = [
        Draft(
            f"visit-{n:04d}",
            "visit",
            {"place": f"{n} Example Row", "date": str(day), "kind": "periodic"},
            "J. Example",
            f"heading-{n:04d}",
        )
        for n in range(COUNT)
    ]
    desk.add_all(heading)
    page = Site(desk)
    first = page.get("/").text
    assert first.count('href="/v/') == 50
    assert "1 to 50 of 130" in first
    last = page.get("/?from=100").text
    assert last.count('href="/v/') == 30
    assert 'rel="next"' not in last
    assert page.get("/?from=99999999999").text.count('href="/v/') == 50
    assert page.get("/?from=-1").status_code == 200
    found = page.get("/?find=129 example").text
    assert "129 Example Row" in found
    assert found.count('href="/v/') == 1
    new = page.get("/new?after=visit-0001").text
    assert new.count("<option") <= 53
    assert 'value="visit-0001" selected' in new
    asked: list[str] = []
    events = desk.store.events
    desk.store.events = lambda visit="", **more: asked.append(visit) or events(visit, **more)  # type: ignore[method-assign]
    desk.correct("heading-0003", {"place": "3 Changed Row", "date": str(day), "kind": "periodic"}, "wrong")
    assert desk.visits()[0].place == "3 Changed Row"
    assert len(desk.visits()) == COUNT
    assert "" not in asked  # the whole journal is not read again
    desk.start("131 Example Row", visit_id="visit-0131")
    assert {v.place for v in desk.visits()[:2]} == {"3 Changed Row", "131 Example Row"}
    desk.close()
