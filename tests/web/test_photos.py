"""A photo is taken from a thing or an observation, carries its caption and is shown there."""

from __future__ import annotations

import io

from asked import Site, text_of
from PIL import Image

from earthwright.base.jpeg import unfit
from earthwright.paper.attachments import read_inside
from earthwright.records.canon import digest
from earthwright.records.event import PHOTO


def shot(kind: str = "PNG", size: tuple[int, int] = (40, 30)) -> bytes:
    made = io.BytesIO()
    Image.effect_noise(size, 60).convert("RGB").save(made, kind)
    return made.getvalue()


PNG = shot()


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


def test_a_photo_is_kept_ready_for_print_and_is_in_the_paper(site: Site, demo: str) -> None:
    form = f"{demo}/photos"
    sent = {"caption": "clamp over paint", "about": "bond gas", "uid": "a" * 24}
    site.follow(site.post(form, sent, files={"photo": ("a.png", shot(size=(1700, 900)), "image/png")}))
    sketch = {"caption": "where the clamp is", "sketch": "true", "uid": "b" * 24}
    assert "<canvas" in site.get(f"{form}?sketch=1").text
    site.follow(site.post(form, sketch, files={"photo": ("s.jpg", shot("JPEG"), "image/jpeg")}))
    pictures = [p.of for p in site.desk.read("demo-visit").book.visit.paperwork.pictures]  # type: ignore[union-attr]
    assert pictures == ["bond gas", ""]
    kept = [site.desk.content(e.body["hash"]) for e in site.desk.read("demo-visit").events if e.kind == PHOTO]
    assert [unfit(c) for c in kept] == ["", ""]
    paper = site.get(f"{demo}/paper/bonding-record.pdf").content
    assert read_inside(paper).photos == {digest(c): c for c in kept}
    assert "Photo 1" in text_of(site.get(f"{demo}/paper/bonding-record"))
    # taken out, it is shown and printed no more
    entry = next(e for e in site.desk.read("demo-visit").entries if e.kind == "picture")
    site.desk.strike(entry.id, "of another house", "A. Example")
    assert "clamp over paint" not in text_of(site.get(form))
    assert len(read_inside(site.get(f"{demo}/paper/bonding-record.pdf").content).photos) == 1


def test_a_photo_kept_before_it_was_made_ready_is_not_printed_until_it_is(site: Site, demo: str) -> None:
    site.desk.attach("demo-visit", shot(size=(1500, 90)), "old one", media="image/png", about="bond gas")
    page = site.get(f"{demo}/photos")
    assert "Kept as it was taken; not printed" in text_of(page)
    assert read_inside(site.get(f"{demo}/paper/bonding-record.pdf").content).photos == {}
    (old,) = [e for e in site.desk.read("demo-visit").events if e.kind == PHOTO]
    sent = {"again": old.body["hash"], "caption": "old one", "about": "bond gas", "uid": "c" * 24}
    assert "not printed" not in text_of(site.follow(site.post(f"{demo}/photos", sent)))
    assert len(read_inside(site.get(f"{demo}/paper/bonding-record.pdf").content).photos) == 1
