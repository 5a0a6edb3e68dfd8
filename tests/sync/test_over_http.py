"""The same over the pages' own application: a device with its token, the page Office, and what is refused."""

from __future__ import annotations

import asyncio
import datetime as dt
import json
from pathlib import Path

import httpx
import pytest
from asked import Site, text_of

from earthwright.desk import Desk
from earthwright.sync.names import devices, let_in, office
from earthwright.web import make_app
from earthwright.web.settings import Settings

from .simulated import VISIT, begin, plain

PHRASE = "correct horse battery"
FROM = "https://phone.example"  # where the phone's folder was handed out


class Pair:
    """An office behind its pages, and a phone whose pages ask it."""

    def __init__(self, folder: Path) -> None:
        self.office, self.phone = Desk(folder / "office.sqlite"), Desk(folder / "phone.sqlite")
        self.at_office = make_app(self.office, Settings(pass_phrase=PHRASE, origins=(FROM,)))
        self.cut = False
        self.site = Site(self.phone, Settings(framed=True, line=self.line))
        self.token = let_in(self.office.store, "phone of J. Example", dt.datetime.now(dt.UTC))

    async def line(self, url: str, headers: dict[str, str], body: bytes) -> tuple[int, bytes]:
        transport = httpx.ASGITransport(self.at_office)
        async with httpx.AsyncClient(transport=transport) as client:
            found = await client.post(url, content=body, headers=headers)
        return (503, b"") if self.cut else (found.status_code, found.content)

    def ask(self, name: str, body: bytes = b"{}", token: str | None = None, **headers: str) -> httpx.Response:
        async def go() -> httpx.Response:
            transport = httpx.ASGITransport(self.at_office)
            async with httpx.AsyncClient(transport=transport) as client:
                shown = {"authorization": f"Bearer {self.token if token is None else token}", **headers}
                return await client.post(f"https://visits.example/sync/{name}", content=body, headers=shown)

        return asyncio.run(go())

    def other(self, method: str, path: str, headers: dict[str, str]) -> httpx.Response:
        async def go() -> httpx.Response:
            transport = httpx.ASGITransport(self.at_office)
            async with httpx.AsyncClient(transport=transport) as client:
                return await client.request(method, f"https://visits.example{path}", headers=headers)

        return asyncio.run(go())


@pytest.fixture
def pair(tmp_path: Path) -> Pair:
    return Pair(tmp_path)


def test_the_page_sends_and_fetches_and_a_second_phone_chooses(pair: Pair, tmp_path: Path) -> None:
    begin(pair.phone)
    form = {"do": "begin", "address": "visits.example", "token": pair.token}
    pair.cut = True
    told = pair.site.post("/together", form)
    assert told.status_code == 422
    assert "Nothing is lost" in text_of(told)
    pair.cut = False
    done = pair.site.follow(pair.site.post("/together", {"do": "go"}))
    assert "Nothing waits" in text_of(done)
    assert "Sent: 6" in text_of(done)
    assert [plain(e) for e in pair.office.read(VISIT).events] == [plain(e) for e in pair.phone.read(VISIT).events]
    # both correct one value, neither knowing of the other
    circuit = pair.phone.read(VISIT).event_of("circuit", "c1")
    body = {"id": "c1", "board": "db1"}
    pair.office.correct(circuit, {**body, "line_mm2": "4"}, "read again", "A. Other")
    pair.phone.correct(circuit, {**body, "line_mm2": "2.5"}, "a slip", "J. Example")
    pair.site.post("/together", {"do": "go"})
    at_office = Site(pair.office)
    for site in (pair.site, at_office):
        assert "1 Example Road" in text_of(site.get("/together")) or site is at_office
        page = site.get(f"/v/{VISIT}/chosen")
        assert "4" in text_of(page)
        assert "2.5" in text_of(page)
        assert "choose which stands" in text_of(site.get(f"/v/{VISIT}/"))
        found = site.desk.read(VISIT).book
        assert any("without knowing" in f.what and f.not_read for f in found.findings)
        assert site.desk.assess(VISIT).visit.site.circuits[0].line_mm2 is None  # type: ignore[union-attr]
    one = next(c for c in pair.phone.read(VISIT).entry(circuit).rivals.each if c.by == "A. Other")  # type: ignore[union-attr]
    page = pair.site.get(f"/v/{VISIT}/chosen")
    sent = {"do": "keep", "entry": circuit, "change": one.id, "uid": "a" * 20, "head": pair.phone.read(VISIT).head}
    assert page.status_code == 200
    assert pair.site.post(f"/v/{VISIT}/chosen", sent).status_code == 303
    pair.site.post("/together", {"do": "go"})
    for desk in (pair.office, pair.phone):
        read = desk.read(VISIT)
        assert not [e for e in read.entries if e.contested]
        assert desk.assess(VISIT).visit.site.circuits[0].line_mm2 == 4  # type: ignore[union-attr]


def test_a_visit_of_the_office_is_found_and_fetched(pair: Pair) -> None:
    begin(pair.office)
    pair.site.post("/together", {"do": "begin", "address": "https://visits.example", "token": pair.token})
    page = pair.site.post("/together", {"do": "look", "find": "example"})
    assert "1 Example Road" in text_of(page)
    pair.site.post("/together", {"do": "fetch", "visit": VISIT})
    assert pair.phone.holds(VISIT)


@pytest.mark.parametrize(
    ("name", "body", "token", "status"),
    [
        ("hello", b"{}", "", 401),
        ("hello", b"{}", "0" * 35, 401),
        ("hello", b"{", None, 400),
        ("hello", b"[" * 5000, None, 400),
        ("hello", b'{"protocol": 9}', None, 409),
        ("elsewhere", b"{}", None, 409),
        ("file/" + "0" * 64, b"", None, 409),
        ("file/" + "0" * 64, b"x", None, 400),
        ("send", b'{"device": "phone-0001", "clock": "noon"}', None, 400),
        ("send", b'{"device": "phone-0001", "clock": "2026-11-28T12:00:00", "entries": []}', None, 400),
        ("fetch", b'{"visits": {"a": "b"}}', None, 400),
        ("lacking", json.dumps({"files": ["0"] * 501}).encode(), None, 400),
    ],
)
def test_a_hostile_question_is_refused_in_words(
    pair: Pair, name: str, body: bytes, token: str | None, status: int
) -> None:
    found = pair.ask(name, body, token)
    assert found.status_code == status, found.text
    assert len(found.json()["said"]) > 20
    assert pair.office.store.head()[0] == 0


@pytest.mark.parametrize("origin", [FROM, "https://elsewhere.example", "null", f"{FROM}.evil.example"])
def test_a_phone_handed_out_elsewhere_sends_only_from_the_origin_that_was_named(pair: Pair, origin: str) -> None:
    named = origin == FROM
    hello = json.dumps({"device": "d" * 32, "clock": "2026-11-28T12:00:00+00:00", "protocol": 1}).encode()
    browser = {"origin": origin, "sec-fetch-site": "cross-site"}
    found = pair.ask("hello", hello, **browser)
    assert found.status_code == (200 if named else 403)
    assert found.headers.get("access-control-allow-origin") == (FROM if named else None)
    assert "access-control-allow-credentials" not in found.headers, "no cookie and no pass phrase goes along"
    assert pair.ask("hello", hello, "0" * 35, **browser).status_code == (401 if named else 403)
    assert pair.other("OPTIONS", "/sync/hello", browser).status_code == (204 if named else 401)
    for path in ("/", "/together", "/sync"):  # nothing but what is asked with a token
        told = pair.other("GET", path, browser)
        assert told.status_code == 401
        assert "access-control-allow-origin" not in told.headers
        assert pair.other("OPTIONS", path, browser).status_code == 401
        assert pair.other("POST", path, browser).status_code in (401, 403)


def test_a_token_that_was_taken_back_sends_nothing_and_pages_ask_for_the_phrase_all_the_same(pair: Pair) -> None:
    begin(pair.phone)
    pair.site.post("/together", {"do": "begin", "address": "visits.example", "token": pair.token})
    owner = Site(pair.office)
    owner.post("/together", {"do": "shut-out", "device": devices(pair.office.store)[0].number})
    told = pair.site.post("/together", {"do": "go"})
    assert "new token" in text_of(told) or "does not know this device" in text_of(told)
    assert pair.ask("hello").status_code == 401
    found = asyncio.run(pair.line("https://visits.example/", {"authorization": f"Bearer {pair.token}"}, b""))
    assert found[0] == 401
    assert office(pair.phone.store) is not None
