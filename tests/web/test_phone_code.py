"""The first page says how a phone on this network opens the pages: address, code, certificate; never to the phone's own build."""

from __future__ import annotations

import re

import pytest
from asked import Site, text_of

from earthwright.desk import Desk
from earthwright.web.settings import Settings


@pytest.mark.parametrize(
    ("settings", "there", "code"),
    [
        (Settings(), "answer this computer alone", False),
        (Settings(phone="https://192.0.2.7:8123/"), "https://192.0.2.7:8123/", True),
        (Settings(phone="http://192.0.2.7:8123/"), "Without HTTPS", True),
    ],
)
def test_the_first_page_says_how_a_phone_gets_here(desk: Desk, settings: Settings, there: str, code: bool) -> None:
    page = Site(desk, settings).get("/")
    assert there in text_of(page)
    assert bool(re.search(r'<svg role="img"[^>]*>\s*<title>QR code of http', page.text)) == code
    assert "style=" not in page.text  # the pages allow none
    assert "offline" not in text_of(page)


def test_a_phone_is_not_told_about_itself(desk: Desk) -> None:
    assert "Open on a phone" not in text_of(Site(desk, Settings(framed=True)).get("/"))
