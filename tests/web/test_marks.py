"""A journal may hold text that came in by no door of ours: on the pages it is text that stands still all the same."""

from __future__ import annotations

from earthwright.records import Draft

from .conftest import Site, walk

HIDDEN = "\u202edevorp :retaW\u202c \x1b[2J\u2066 \u200b"


def test_no_page_shows_hidden_marks_of_a_journal(site: Site) -> None:
    visit = site.desk.take_in(
        "[visit]\nplace = 'Somewhere'\ndate = 2026-11-20\ninspector = 'J. Example'\n", by="J. Example"
    )
    site.desk.store.append(
        [
            Draft(visit, "part", {"id": "water", "kind": "water", "name": f"Water {HIDDEN}"}, f"J. {HIDDEN}"),
            Draft(visit, "step", {"note": f"seen {HIDDEN}"}, "J. Example"),
            Draft(visit, "observation", {"id": "o1", "what": HIDDEN, "where": HIDDEN, "note": f"a\nb {HIDDEN}"}, "J. Example"),
        ]
    )  # fmt: skip
    found = walk(site)
    assert len(found) > 10
    for path, answer in found.items():
        if "text/html" in answer.headers["content-type"]:
            shown = [c for c in answer.text if not c.isprintable() and c not in "\n\r\t"]
            assert shown == [], (path, shown)
