"""A photo is taken from a thing or an observation, carries its caption and is shown there."""

from __future__ import annotations

from .conftest import Site, text_of

PNG = b"\x89PNG\r\n\x1a\n" + bytes(range(40))


def test_a_photo_stands_with_what_it_was_taken_of(site: Site, demo: str) -> None:
    bond = site.get(f"{demo}/bond/gas")
    assert f'href="{demo}/photos?about=bond%20gas"' in bond.text
    form = site.get(f"{demo}/photos?about=bond%20gas")
    assert "Photos: Bond to gas" in text_of(form)
    sent = {"caption": "clamp over paint", "about": "bond gas", "uid": "f" * 24}
    answer = site.post(f"{demo}/photos", sent, files={"photo": ("a.png", PNG, "image/png")})
    assert site.follow(answer).text.count("clamp over paint") == 2
    assert "clamp over paint" in text_of(site.get(f"{demo}/bond/gas"))
    assert "clamp over paint" not in text_of(site.get(f"{demo}/bond/water"))
    assert "clamp over paint" not in text_of(site.get(f"{demo}/circuits/gas"))


def test_an_observation_has_its_photos_and_asks_for_its_place_by_one_tap(site: Site, demo: str) -> None:
    form = site.get(f"{demo}/add/observation")
    assert 'data-to="f-where"' in form.text
    made = site.send(form, f"{demo}/add/observation", what="No label at the bond", where="intake", code="C3")
    assert made.status_code == 303
    entry = next(e.id for e in site.desk.read("demo-visit").events if e.kind == "observation")
    assert "photos?about=observation%201" in site.get(f"{demo}/entry/{entry}").text
