"""When something fails on our side: nothing is half written, nothing typed is lost, and it is said in words."""

from __future__ import annotations

import asyncio
import re

import httpx
import pytest
from asked import Site, text_of

from earthwright.desk import Desk
from earthwright.records import Full, JournalError
from earthwright.web.words import say

JOINT = "/v/demo-visit/bond/gas/joint"


@pytest.mark.parametrize(
    ("path", "typed"),
    [
        (JOINT, {"shown": "0.04"}),
        ("/v/demo-visit/circuits/1", {"c.1.zs..": "0.44"}),
        ("/v/demo-visit/add/part", {"kind": "oil", "name": "Oil line"}),
        ("/v/demo-visit/leads", {"check": "shorted", "shown": "0.00"}),
        ("/v/demo-visit/steps", {"do": "look", "look": "gas", "seen": "clamp is tight"}),
    ],
)
def test_a_full_disk_leaves_the_form_as_it_was(
    site: Site, demo: str, monkeypatch: pytest.MonkeyPatch, path: str, typed: dict[str, str]
) -> None:
    page = site.get(path)
    before = site.events("demo-visit")

    def full(*_: object, **__: object) -> None:
        raise Full("There is no room left. Nothing of this entry was kept.")

    monkeypatch.setattr(Desk, "add_all", full)
    monkeypatch.setattr(Desk, "add", full)
    answer = site.send(page, path, **typed)
    assert answer.status_code == 422
    assert "There is no room left." in text_of(answer)
    for name, value in typed.items():
        if name not in ("do", "check", "kind"):
            assert f'name="{name}"' in answer.text
            assert f'value="{value}"' in answer.text
    monkeypatch.undo()
    assert site.events("demo-visit") == before


def test_a_journal_that_cannot_be_read_says_so(site: Site, demo: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise JournalError("The file is damaged.")

    monkeypatch.setattr(Desk, "read", broken)
    answer = site.get(f"{demo}/map")
    assert answer.status_code == 503
    assert "The file is damaged." in text_of(answer)


def test_where_papers_cannot_be_set_the_rest_still_works(
    site: Site, demo: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As in a phone's browser, which has no typst."""
    from earthwright.web.views import paper

    def absent(*_: object) -> None:
        raise ModuleNotFoundError("typst")

    monkeypatch.setattr(paper, "_pages", absent)
    monkeypatch.setattr(paper, "make_document", lambda *_, **__: absent())
    answer = site.get(f"{demo}/paper/condition-report")
    assert answer.status_code == 200
    assert say("wrong.no_press") in text_of(answer)
    assert site.get(f"{demo}/paper/condition-report.pdf").status_code == 503


def test_an_error_of_ours_is_a_page_and_not_an_empty_answer(
    site: Site, demo: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def wrong(*_: object) -> None:
        raise RuntimeError("a mistake of ours, with a secret")

    monkeypatch.setattr(Desk, "visits", wrong)

    async def go() -> httpx.Response:
        transport = httpx.ASGITransport(site.app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url="http://here") as client:
            return await client.get("/")

    answer = asyncio.run(go())
    assert answer.status_code == 500
    assert say("wrong.broke") in text_of(answer)
    assert "secret" not in answer.text
    assert not re.search(r"Traceback|File \"", answer.text)
