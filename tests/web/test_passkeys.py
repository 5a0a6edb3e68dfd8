"""Passkeys beside pass phrases: made, used, taken out; and whoever brings anything else stays outside.

The device here is made by hand from the standard (Web Authentication, level 2): keys by ``cryptography``, CBOR by ``cbor2``.
A browser's own device is tried in tests/browser/test_passkey.py.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
import re
from collections.abc import Callable, Iterator

import cbor2
import pytest
from asked import Site, text_of
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from firm_made import PHRASE, AFirm

from earthwright.firm import is_there, passkeys
from earthwright.firm.passkeys import Place, why_not
from earthwright.firm.people import FREE

HERE = "https://visits.example"


@pytest.fixture
def made() -> Iterator[AFirm]:
    firm = AFirm()
    yield firm
    firm.desk.close()


def b64(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).rstrip(b"=").decode()


class Device:
    """A phone with one passkey."""

    def __init__(self, origin: str = HERE, flags: int = 0x05) -> None:
        self.origin, self.flags, self.count = origin, flags, 0  # flags: somebody was there (1), and was recognised (4)
        self.key, self.id = ec.generate_private_key(ec.SECP256R1()), b"device-of-ines-1"
        self.holder = b""

    def _said(self, kind: str, asked: dict[str, object]) -> bytes:
        return json.dumps({"type": kind, "challenge": asked["challenge"], "origin": self.origin}).encode()

    def _about(self, name: str, more: bytes = b"") -> bytes:
        self.count += 1
        flags = self.flags | (0x40 if more else 0)
        return hashlib.sha256(name.encode()).digest() + bytes([flags]) + self.count.to_bytes(4, "big") + more

    def make(self, asked: dict[str, object]) -> str:
        self.holder = base64.urlsafe_b64decode(asked["user"]["id"] + "==")  # type: ignore[index]
        at = self.key.public_key().public_numbers()
        public = cbor2.dumps({1: 2, 3: -7, -1: 1, -2: at.x.to_bytes(32, "big"), -3: at.y.to_bytes(32, "big")})
        more = bytes(16) + len(self.id).to_bytes(2, "big") + self.id + public
        about = self._about(asked["rp"]["id"], more)  # type: ignore[index]
        whole = cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": about})
        said = self._said("webauthn.create", asked)
        return self._answer({"clientDataJSON": b64(said), "attestationObject": b64(whole)})

    def show(self, asked: dict[str, object], name: str = "visits.example") -> str:
        about, said = self._about(name), self._said("webauthn.get", asked)
        signature = self.key.sign(about + hashlib.sha256(said).digest(), ec.ECDSA(hashes.SHA256()))
        return self._answer({
            "clientDataJSON": b64(said), "authenticatorData": b64(about), "signature": b64(signature), "userHandle": b64(self.holder),
        })  # fmt: skip

    def _answer(self, response: dict[str, str]) -> str:
        return json.dumps({"id": b64(self.id), "rawId": b64(self.id), "type": "public-key", "response": response})


class Browser(Site):
    """At the pages by their name over HTTPS."""

    def ask(self, method: str, path: str, **more: object):  # type: ignore[no-untyped-def]
        return super().ask(method, f"{HERE}{path}" if path.startswith("/") else path, **more)


def signed_in(made: AFirm, who: str) -> Browser:
    key = made.firm.people.begin(made.people[who])
    return Browser(made.desk, made.settings, cookie=f"__Host-earthwright={key}")


def asked_of(answer) -> dict[str, object]:  # type: ignore[no-untyped-def]
    found = re.search(r'data-(?:make|show)="([^"]*)"', answer.text)
    assert found, text_of(answer)
    return json.loads(html.unescape(found[1]))  # type: ignore[no-any-return]


def begun(made: AFirm, who: str = "ines", device: Device | None = None) -> Device:
    """Somebody's device with its passkey."""
    device, site = device or Device(), signed_in(made, who)
    page = site.post("/me", {"do": "passkey", "passkey_name": "Phone", "phrase_now": PHRASE})
    asked = asked_of(page)
    answer = site.send(page, "/me", do="passkey-made", answer=device.make(asked))
    assert answer.status_code == 303, text_of(answer)
    return device


def comes_in(made: AFirm, show: Callable[[dict[str, object]], str], challenge: str = "") -> str:
    """The cookie that somebody gets for what a device shows; empty when none."""
    site = Browser(made.desk, made.settings)
    asked = asked_of(site.post("/sign-in", {"do": "passkey"}))
    form = {"do": "passkey", "answer": show(asked), "challenge": challenge or str(asked["challenge"]), "to": "/sums"}
    answer = site.post("/sign-in", form)
    if answer.status_code == 303:
        assert answer.headers["location"] == "/sums"
        return str(answer.headers["set-cookie"]).partition(";")[0]
    assert answer.status_code == 422
    assert "This passkey opens nothing here" in text_of(answer)
    return ""


def test_a_passkey_is_made_opens_and_is_taken_out(made: AFirm) -> None:
    device = begun(made)
    cookie = comes_in(made, device.show)
    mine = Browser(made.desk, made.settings, cookie=cookie)
    page = mine.get("/me")
    assert "Ines Quarry" in text_of(page)
    assert "Phone, 20" in text_of(page)
    assert comes_in(made, device.show), "again"
    mine.send(page, "/me", do="passkey-out")
    assert comes_in(made, device.show) == ""
    said = [d.did for d in made.firm.deeds(made.people["ines"].id)]
    assert said[-2:] == ["made a passkey", "took a passkey out"]


def test_a_passkey_is_made_with_the_pass_phrase_only(made: AFirm) -> None:
    site = signed_in(made, "ines")
    answer = site.post("/me", {"do": "passkey", "passkey_name": "Phone", "phrase_now": "not it at all"})
    assert "The pass phrase is another one" in text_of(answer)
    assert "data-make" not in answer.text
    answer = site.post("/me", {"do": "passkey-made", "passkey_name": "x", "answer": "{}", "challenge": "x"})
    assert answer.status_code == 422
    assert made.firm.passkeys.of(made.people["ines"]) == []


def bent(made: AFirm, how: str) -> Callable[[dict[str, object]], str]:
    device = begun(made)
    if how == "of another page":
        device.origin = "https://visits.example.evil.example"
    elif how == "of another name":
        return lambda asked: device.show(asked, "evil.example")
    elif how == "nobody recognised":
        device.flags = 0x01
    elif how == "nobody there":
        device.flags = 0x04
    elif how == "another key":
        device.key = ec.generate_private_key(ec.SECP256R1())
    elif how == "another person's":
        device.holder = made.people["sara"].id.encode()
    elif how == "another device":
        device.id = b"device-of-nobody"
    elif how == "another challenge":
        return lambda asked: device.show({**asked, "challenge": b64(b"x" * 64)})
    elif how == "an earlier count":
        assert comes_in(made, device.show)
        device.count = 0
    elif how == "who left":
        made.firm.people.leave(made.people["ines"], made.people["olga"].id)
    elif how == "a new pass phrase by invitation":
        made.firm.people.join(
            made.firm.people.invite_again(made.people["ines"], made.people["olga"].id), "ines", PHRASE
        )
    elif how in ("nothing", "no JSON", "no object", "a number", "much"):
        said = {"nothing": "{}", "no JSON": "{", "no object": "[]", "a number": "7", "much": "[" * 40_000}[how]
        return lambda asked: said
    elif how == "broken":
        return lambda asked: device.show(asked).replace('"signature": "', '"signature": "AAAA')
    return device.show


@pytest.mark.parametrize("how", [
    "of another page", "of another name", "nobody recognised", "nobody there", "another key", "another person's", "another device",
    "another challenge", "an earlier count", "who left", "a new pass phrase by invitation", "nothing", "no JSON", "no object", "a number",
    "much", "broken",
])  # fmt: skip
def test_nothing_else_opens(made: AFirm, how: str) -> None:
    assert comes_in(made, bent(made, how)) == ""


def test_an_answer_is_good_once_and_in_time(made: AFirm, monkeypatch: pytest.MonkeyPatch) -> None:
    device, site = begun(made), Browser(made.desk, made.settings)
    asked = asked_of(site.post("/sign-in", {"do": "passkey"}))
    form = {"do": "passkey", "answer": device.show(asked), "challenge": asked["challenge"], "to": "/"}
    assert site.post("/sign-in", form).status_code == 303
    device.count -= 1
    assert site.post("/sign-in", form).status_code == 422, "the same answer again"
    own = asked_of(signed_in(made, "sara").post("/me", {"do": "passkey", "phrase_now": PHRASE}))
    assert comes_in(made, device.show, str(own["challenge"])) == "", "what was asked of somebody else"
    asked = asked_of(site.post("/sign-in", {"do": "passkey"}))
    now = made.firm.people.clock()
    monkeypatch.setattr(made.firm.people, "clock", lambda: now + passkeys.CHALLENGE_S + 1)
    form = {"do": "passkey", "answer": device.show(asked), "challenge": asked["challenge"], "to": "/"}
    assert site.post("/sign-in", form).status_code == 422, "too late"


def test_nobody_takes_out_or_makes_for_another(made: AFirm) -> None:
    device = begun(made)
    key = made.firm.passkeys.of(made.people["ines"])[0].id
    signed_in(made, "ivan").post("/me", {"do": "passkey-out", "passkey": key})
    assert comes_in(made, device.show)
    page = signed_in(made, "ines").post("/me", {"do": "passkey", "phrase_now": PHRASE})
    second = Device()
    second.id = b"device-of-evil-2"
    form = {"do": "passkey-made", "answer": second.make(asked_of(page)), "challenge": asked_of(page)["challenge"]}
    assert signed_in(made, "ivan").post("/me", form).status_code == 422, "what Ines was asked is not Ivan's to answer"
    assert made.firm.passkeys.of(made.people["ivan"]) == []


def test_where_they_cannot_work_the_page_says_why(made: AFirm, monkeypatch: pytest.MonkeyPatch) -> None:
    assert [why_not(Place("https", "visits.example:8443")), why_not(Place("http", "localhost:8123"))] == ["", ""]
    assert [why_not(Place("http", "visits.example")), why_not(Place("https", "192.0.2.7")), why_not(Place("https", "[::1]:8"))] == [
        "https", "name", "name",
    ]  # fmt: skip
    assert "Passkeys need HTTPS" in text_of(made.nobody.get("/sign-in"))
    assert "Passkeys need HTTPS" in text_of(made.browser["ines"].get("/me"))
    assert made.nobody.post("/sign-in", {"do": "passkey"}).status_code == 404
    assert made.browser["ines"].post("/me", {"do": "passkey", "phrase_now": PHRASE}).status_code == 404
    assert 'value="passkey"' in Browser(made.desk, made.settings).get("/sign-in").text
    monkeypatch.setattr(passkeys, "find_spec", lambda name: None)
    assert "the library webauthn is missing" in text_of(Browser(made.desk, made.settings).get("/sign-in"))


def test_a_firm_from_before_passkeys_gets_their_tables(made: AFirm) -> None:
    with made.desk.store.engine.begin() as connection:
        for statement in ("DROP TABLE firm_passkey", "DROP TABLE firm_challenge", "UPDATE firm_form SET version = '1'"):
            connection.exec_driver_sql(statement)
    assert is_there(made.desk.store)
    assert comes_in(made, begun(made).show)


def test_wrong_passkeys_wait_as_wrong_pass_phrases_do(made: AFirm, monkeypatch: pytest.MonkeyPatch) -> None:
    device, site = begun(made), Browser(made.desk, made.settings)
    asked = asked_of(site.post("/sign-in", {"do": "passkey"}))
    right = {"do": "passkey", "answer": device.show(asked), "challenge": asked["challenge"], "to": "/"}
    for _ in range(FREE):
        assert site.post("/sign-in", {"do": "passkey", "answer": "{}", "challenge": "x"}).status_code == 422
    for form in (right, {"do": "passkey"}, {"login": "ines", "phrase": PHRASE}):
        answer = site.post("/sign-in", form)
        assert answer.status_code == 429, form
        assert "then try again" in text_of(answer)
    assert made.firm.people.wait_s(login="ines", address="192.0.2.9") == 0, "nobody else waits"
    now = made.firm.people.clock()
    monkeypatch.setattr(made.firm.people, "clock", lambda: now + 2)
    assert site.post("/sign-in", right).status_code == 303, "once the time is over, and it is forgotten"
    assert site.post("/sign-in", {"do": "passkey", "answer": "{}", "challenge": "x"}).status_code == 422
    assert site.post("/sign-in", {"do": "passkey"}).status_code == 200
