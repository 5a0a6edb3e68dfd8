"""Any two places of the earth network on a page, and known metal between them as a form. Sums stand in visit 30."""

from __future__ import annotations

from pathlib import Path

import pytest
from asked import Site, text_of

from earthwright.desk import Desk

BOOK = Path(__file__).parents[1] / "visits" / "30-one-graph.toml"


@pytest.fixture
def house(desk: Desk, site: Site) -> str:
    return f"/v/{desk.take_in(BOOK.read_text(encoding='utf-8'))}"


def test_it_begins_with_a_choice_of_all_places(site: Site, house: str) -> None:
    page = site.get(f"{house}/between")
    assert page.status_code == 200
    for value in ("MET", "gas", "db2", "c2@boiler", "c7"):
        assert f'<option value="{value}"' in page.text
    assert "Choose two places:" in text_of(page)
    assert f'href="{house}/between"' in site.get(f"{house}/map").text


def test_the_answer_its_current_and_its_breaks(site: Site, house: str) -> None:
    page = site.get(f"{house}/between?a=MET&b=gas")
    said = text_of(page)
    assert "0.00 to 0.06 Ω" in said
    assert "the bond gas 84% of it. Without it: 0.12 to 0.24 Ω. A break would show." in said
    assert "boiler frame 16% of it. Without it: 0.00 to 0.06 Ω. A break would not show." in said
    assert f"{house}/between?a=MET&amp;b=gas&amp;off=gas" in page.text


def test_with_an_end_off_what_has_no_earth_is_said(site: Site, house: str) -> None:
    page = site.get(f"{house}/between?a=MET&b=c7&off=f1:cpc")
    said = text_of(page)
    assert "not known" in said  # nobody read what else joins them
    assert "Without earth while it is off: board db2 with 1 circuit." in said
    assert "Ask again with the protective conductor of f1 connected" in said


def test_what_is_off_on_site_is_ticked(desk: Desk, site: Site) -> None:
    visit = desk.take_in(BOOK.read_text(encoding="utf-8") + '\n[[step]]\noff = "c2:cpc"\n')
    page = site.get(f"/v/{visit}/between")
    assert 'name="off" value="c2:cpc" checked' in page.text


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("a=MET&b=attic", "There is no place 'attic' here."),
        ("a=MET&b=MET", "From and To are the same place."),
        ("a=<b>&b=gas", "There is no place '<b>' here."),
    ],
)
def test_what_cannot_be_asked_is_said_at_its_field(site: Site, house: str, query: str, said: str) -> None:
    page = site.get(f"{house}/between?{query}")
    assert page.status_code == 422
    assert said in text_of(page)
    assert "<b>" not in page.text.replace("<b>the", "")


def test_asking_writes_nothing_and_an_unknown_end_is_left_out(site: Site, house: str, desk: Desk) -> None:
    before = site.events(house.removeprefix("/v/"))
    page = site.get(f"{house}/between?a=MET&b=gas&off=nowt")
    assert page.status_code == 200
    assert "nowt" not in page.text
    assert site.events(house.removeprefix("/v/")) == before


def test_known_metal_is_chosen_between_two_places(site: Site, house: str, desk: Desk) -> None:
    form = site.get(f"{house}/add/link")
    assert form.text.count('name="between"') == 2
    assert '<option value="c2@boiler">' in form.text
    answer = site.post(
        f"{house}/add/link", {"id": "bath", "between": ["water", "c7"], "csa_mm2": "4", "length_m": "3", "uid": "u1"}
    )
    assert answer.status_code == 303
    a = desk.assess(house.removeprefix("/v/"))
    assert a is not None
    link = next(x for x in a.visit.site.links if x.id == "bath")
    assert (link.a, link.b, link.csa_mm2, link.length_m) == ("water", "c7", 4, 3)


def test_one_end_is_not_enough(site: Site, house: str) -> None:
    answer = site.post(f"{house}/add/link", {"id": "bath", "between": ["water", ""], "uid": "u2"})
    assert answer.status_code == 422
    assert "A link joins two different places." in text_of(answer)


def test_the_verdict_on_a_protective_conductor_stands_with_its_circuit(site: Site, house: str) -> None:
    said = text_of(site.get(f"{house}/circuits/c2"))
    assert "Continuity of the protective conductor" in said
    assert "Proved: the protective conductor of c2 to boiler is whole." in said
