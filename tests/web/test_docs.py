"""The guides show pictures that are there, every picture is made by the script, and what they name is on the pages."""

from __future__ import annotations

import re
from pathlib import Path

from earthwright.web.words import catalogue

DOCS = Path(__file__).parents[2] / "docs"
GUIDES = sorted((DOCS / "site").glob("*.md"))


def test_every_picture_of_a_guide_is_there_and_made_by_the_script() -> None:
    shown = {m for g in GUIDES for m in re.findall(r"\(pictures/([a-z-]+)\.png\)", g.read_text(encoding="utf-8"))}
    kept = {p.stem for p in (DOCS / "site" / "pictures").glob("*.png")}
    made = set(
        re.findall(
            r'(?:snap\(page|piece\(page, "[^"]+"), "([a-z-]+)"', (DOCS / "pictures.py").read_text(encoding="utf-8")
        )
    )
    made |= {
        f"phone-{name}"
        for name in re.findall(r'snap\("([a-z-]+)"', (DOCS / "phone_pictures.py").read_text(encoding="utf-8"))
    }
    assert shown <= kept
    assert kept == made
    assert len(shown) > 10


def test_every_guide_is_reached_from_the_first_page() -> None:
    first = (DOCS / "site" / "README.md").read_text(encoding="utf-8")
    for guide in GUIDES:
        assert guide.name == "README.md" or f"({guide.name})" in first


def test_what_a_guide_calls_a_page_stands_on_it() -> None:
    known = " ".join(catalogue().values()).lower()
    for guide in GUIDES:
        for name in re.findall(r"press \*([^*]+)\*", guide.read_text(encoding="utf-8")):
            assert name.lower() in known, (guide.name, name)
