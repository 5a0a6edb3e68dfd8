"""Who may write, how much, and what a page may load."""

from __future__ import annotations

import base64
import re

import httpx
import pytest
from asked import NOON, Site

from earthwright.desk import Desk
from earthwright.web.guard import LARGEST_FORM, LARGEST_UPLOAD, POLICY
from earthwright.web.settings import Settings

PHRASE = "correct horse battery"


def test_no_page_holds_inline_script_or_style_and_asks_nobody_else(walked: dict[str, httpx.Response]) -> None:
    for path, answer in walked.items():
        if "text/html" not in answer.headers["content-type"]:
            continue
        assert answer.headers["content-security-policy"] == POLICY
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", answer.text), path
        for script in re.findall(r"<script\b[^>]*>(.*?)</script>", answer.text, re.S):
            assert script == ""
        for address in re.findall(r'(?:src|href|action)="([^"]*)"', answer.text):
            assert not re.match(r"(?:[a-z]+:)?//", address), (path, address)


def test_what_is_served_cannot_be_framed_or_sniffed(site: Site) -> None:
    headers = site.get("/").headers
    assert headers["x-content-type-options"] == "nosniff"
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    assert "unsafe" not in headers["content-security-policy"]


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"sec-fetch-site": "same-origin"}, 303),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
        ({"sec-fetch-site": "none"}, 403),
        ({"origin": "http://here"}, 303),
        ({"origin": "http://elsewhere"}, 403),
        ({"origin": "null"}, 403),
        ({"origin": "http://here.elsewhere"}, 403),
        ({}, 303),
    ],
)
def test_only_our_own_pages_may_write(site: Site, headers: dict[str, str], status: int) -> None:
    answer = site.post("/demo", headers=headers)
    assert answer.status_code == status
    assert len(site.desk.visits()) == (1 if status == 303 else 0)


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_verbs_are_refused(site: Site, demo: str, method: str) -> None:
    assert site.ask(method, f"{demo}/").status_code == 405


@pytest.mark.parametrize(("size", "status"), [(LARGEST_FORM - 200, 422), (LARGEST_FORM + 1, 413)])
def test_a_form_has_its_limit(site: Site, demo: str, size: int, status: int) -> None:
    answer = site.post(f"{demo}/bond/gas/joint", {"do": "read", "shown": "0" * size})
    assert answer.status_code == status


def test_an_upload_has_its_limit_even_when_it_does_not_say_its_length(site: Site, demo: str) -> None:
    head = b'--x\r\ncontent-disposition: form-data; name="photo"; filename="a.png"\r\ncontent-type: image/png\r\n\r\n'

    async def body():  # type: ignore[no-untyped-def]
        yield head
        for _ in range(LARGEST_UPLOAD // 1_000_000 + 1):
            yield bytes(1_000_000)

    answer = site.ask(
        "POST", f"{demo}/photos", content=body(), headers={"content-type": "multipart/form-data; boundary=x"}
    )
    assert answer.status_code == 413
    answer = site.ask("POST", f"{demo}/photos", content=b"x", headers={"content-length": "99999999999999999999"})
    assert answer.status_code in (400, 413)


def guarded(desk: Desk, name: str = "M. Other", phrase: str = PHRASE) -> Site:
    token = base64.b64encode(f"{name}:{phrase}".encode()).decode()
    return Site(desk, Settings(pass_phrase=PHRASE, now=lambda: NOON), authorization=f"Basic {token}")


def test_with_a_pass_phrase_nothing_is_seen_without_it(desk: Desk) -> None:
    for one in (guarded(desk, phrase="wrong"), guarded(desk, phrase=""), Site(desk, Settings(pass_phrase=PHRASE))):
        for path in ("/", "/static/earth.css", "/new"):
            answer = one.get(path)
            assert answer.status_code == 401
            assert answer.headers["www-authenticate"].startswith("Basic")
        assert one.post("/demo").status_code == 401
    assert guarded(desk).get("/").status_code == 200


@pytest.mark.parametrize(
    "header", ["Basic", "Basic %%%", "Bearer x", "Basic " + base64.b64encode(b"\xff\xfe:x").decode(), "Basic eA=="]
)
def test_a_broken_authorization_is_no_authorization(desk: Desk, header: str) -> None:
    assert Site(desk, Settings(pass_phrase=PHRASE), authorization=header).get("/").status_code == 401


def test_whoever_comes_with_the_phrase_writes_under_their_name(desk: Desk) -> None:
    site = guarded(desk)
    base = site.post("/demo").headers["location"].rstrip("/")
    site.send(site.get(f"{base}/bond/gas/joint"), f"{base}/bond/gas/joint", shown="0.00")
    assert desk.read("demo-visit").events[-1].by == "M. Other"


@pytest.mark.parametrize(
    ("host", "status"),
    [("localhost:8123", 200), ("127.0.0.1", 200), ("LOCALHOST", 200), ("[::1]:8123", 200), ("evil.example", 421), ("127.0.0.1.evil.example", 421), ("", 421)],
)  # fmt: skip
def test_a_name_made_to_point_here_is_not_answered(desk: Desk, host: str, status: int) -> None:
    site = Site(desk, Settings(hosts=("localhost", "127.0.0.1", "[::1]")))
    assert site.get("/", headers={"host": host}).status_code == status


def test_a_new_style_sheet_has_a_new_address(site: Site) -> None:
    """A phone keeps a file for as long as its content stays; the page names each file with the hash of what is in it."""
    page = site.get("/").text
    for name in ("earth.css", "earth.js", "htmx.min.js", "mark.svg"):
        found = re.search(rf'"(/static/{re.escape(name)}\?[0-9a-f]{{12}})"', page)
        assert found is not None
        answer = site.get(found[1])
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]
    assert "immutable" not in site.get("/static/earth.css").headers["cache-control"]


def test_files_of_ours_come_packed_and_pages_do_not(site: Site) -> None:
    """Packed together, what a page holds and what an address put into it would tell of each other by their length."""
    asked = {"accept-encoding": "gzip"}
    answer = site.get("/static/earth.css", headers=asked)
    assert answer.headers["content-encoding"] == "gzip"
    assert int(answer.headers["content-length"]) < len(answer.content) / 3
    assert "content-encoding" not in site.get("/static/earth.css", headers={"accept-encoding": "identity"}).headers
    assert "content-encoding" not in site.get("/", headers=asked).headers
