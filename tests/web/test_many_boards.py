"""Two hundred circuits on ten boards are as easy as ten on one: one board at a time, every board in a line above it."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest
from asked import Site, text_of

from earthwright.desk import Desk

VISITS = Path(__file__).parents[1] / "visits"


@pytest.fixture(scope="module")
def works() -> tuple[Site, str]:
    spec = importlib.util.spec_from_file_location("many", VISITS / "many.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    desk = Desk(":memory:")
    return Site(desk), f"/v/{desk.take_in(module.many(10, 20))}"


def test_one_board_is_shown_and_all_are_named(works: tuple[Site, str]) -> None:
    site, house = works
    page = site.get(f"{house}/circuits")
    assert page.text.count("<section id=") == 1
    for i in range(1, 11):
        assert f"{house}/circuits?board=db{i}#db{i}" in page.text
    assert "20 circuits; 0 fail" in text_of(page)
    assert len(page.text) < 60_000


def test_the_board_asked_for_and_all_of_them(works: tuple[Site, str]) -> None:
    site, house = works
    seven = site.get(f"{house}/circuits?board=db7")
    assert '<section id="db7"' in seven.text
    assert 'aria-current="true"' in seven.text
    assert f"{house}/circuits/db7.3" in seven.text
    assert f"{house}/circuits/db6.3" not in seven.text
    everything = site.get(f"{house}/circuits?board=*")
    assert everything.text.count("<section id=") == 10
    assert site.get(f"{house}/circuits?board=nowhere").text.count("<section id=") == 1


def test_the_state_of_a_visit_leads_to_its_boards(works: tuple[Site, str]) -> None:
    site, house = works
    assert f"{house}/circuits?board=db4#db4" in site.get(f"{house}/").text


def test_a_small_site_stays_on_one_page_and_shows_what_is_whole(desk: Desk, site: Site) -> None:
    house = f"/v/{desk.take_in((VISITS / '30-one-graph.toml').read_text(encoding='utf-8'))}"
    page = site.get(f"{house}/circuits")
    assert page.text.count("<section id=") == 2
    assert 'id="boards"' not in page.text
    assert "Protective conductor or ring: proved" in text_of(page)


def test_along_a_test_one_board_at_a_time(works: tuple[Site, str]) -> None:
    site, house = works
    page = site.get(f"{house}/along/zs||?board=db7")
    assert page.text.count('inputmode="decimal"') < 25
    assert "db7.3" in text_of(page)
    assert "db6.3" not in text_of(page)
    assert f"{house}/along/zs||?board=db8" in page.text
    assert 'action="' + f"{house}/along/zs||?board=db7" in page.text.replace("%7C", "|")
    assert "db6.3" in text_of(site.get(f"{house}/along/zs||?board=*"))
    assert f"{house}/along/zs%7C%7C?board=db7" in site.get(f"{house}/circuits?board=db7").text
