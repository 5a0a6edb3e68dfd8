"""A firm's people: invited once, signed in, gone; who acted is the login; without a firm nobody signs in."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from asked import Site, text_of
from firm_made import PHRASE, AFirm

from earthwright.firm.people import Refused
from earthwright.sync.names import device_of


@pytest.fixture
def made() -> Iterator[AFirm]:
    firm = AFirm()
    yield firm
    firm.desk.close()


def key_in(site: Site, login: str, phrase: str) -> str:
    answer = site.post("/sign-in", {"login": login, "phrase": phrase, "to": "/"})
    return answer.headers.get("set-cookie", "")


def test_an_account_begins_by_an_invitation_that_works_once(made: AFirm) -> None:
    page = made.browser["olga"].get("/people")
    told = made.browser["olga"].send(page, "/people", name="Nora Field", role="inspector", mail="nora@firm.example")
    address = text_of(told).split("http://here")[1].split()[0]
    joining = made.nobody.get(address)
    assert "Nora Field, inspector" in text_of(joining)
    typed = {"login": "Nora", "phrase": "five blue bonds ring"}
    assert "the two are not the same" in text_of(made.nobody.send(joining, address, **typed, phrase_again="other"))
    answer = made.nobody.send(joining, address, **typed, phrase_again=typed["phrase"])
    cookie = answer.headers["set-cookie"]
    assert answer.status_code == 303
    assert all(x in cookie for x in ("HttpOnly", "SameSite=lax", "Path=/"))
    assert made.nobody.get(address).status_code == 410
    assert made.nobody.post(address, {**typed, "login": "nora2", "phrase_again": typed["phrase"]}).status_code == 410
    assert "Nora Field" in text_of(Site(made.desk, made.settings, cookie=cookie.partition(";")[0]).get("/me"))
    dump = "\n".join(str(r) for t in ("person", "session", "invitation") for r in rows(made, t))
    assert not any(secret in dump for secret in (typed["phrase"], cookie.split("=")[1].split(";")[0], address[6:]))
    with pytest.raises(Refused, match="already"):
        made.firm.people.invite("nora field", "office", "test")


def rows(made: AFirm, table: str) -> list[object]:
    with made.desk.store.reading() as connection:
        return list(connection.exec_driver_sql(f"SELECT * FROM firm_{table}"))


def test_over_https_the_cookie_is_bound_to_it(made: AFirm) -> None:
    answer = made.nobody.ask("POST", "https://here/sign-in", data={"login": "ines", "phrase": PHRASE})
    assert answer.headers["set-cookie"].startswith("__Host-earthwright=")
    assert "; Secure" in answer.headers["set-cookie"]
    sent = answer.headers["set-cookie"].partition(";")[0]
    assert Site(made.desk, made.settings, cookie=sent).get("https://here/").status_code == 200
    assert Site(made.desk, made.settings, cookie=sent).get("/").status_code == 303, "not over plain HTTP"


def test_who_signs_in_goes_where_they_wanted_and_nowhere_else(made: AFirm) -> None:
    first = made.nobody.get(f"/v/{made.visit['ines']}/circuits?x=1")
    assert first.headers["location"].startswith("/sign-in?to=%2Fv%2F")
    page = made.nobody.follow(first)
    answer = made.nobody.send(page, "/sign-in", login="ines", phrase=PHRASE)
    assert answer.headers["location"] == f"/v/{made.visit['ines']}/circuits?x=1"
    for evil in ("//elsewhere.example", "/\\elsewhere.example", "https://elsewhere.example", "/a\nb"):
        assert made.nobody.post("/sign-in", {"login": "ines", "phrase": PHRASE, "to": evil}).headers["location"] == "/"


def test_guessing_gets_slower_for_a_login_and_for_an_address(made: AFirm) -> None:
    for n in range(6):
        refused = made.nobody.post("/sign-in", {"login": "ines", "phrase": f"guess number {n}"})
    assert refused.status_code == 429
    assert "guess" not in refused.text
    assert made.nobody.post("/sign-in", {"login": "ines", "phrase": PHRASE}).status_code == 429
    assert made.firm.people.sign_in("ines", PHRASE, "other") is not None
    assert made.firm.people.sign_in("nobody-here", PHRASE, "other") is None


def test_leaving_ends_every_browser_at_once_and_the_past_stays_named(made: AFirm) -> None:
    ines = made.browser["ines"]
    assert ines.get("/").status_code == 200
    assert made.browser["ivan"].post("/people", {"do": "leave", "person": made.people["ines"].id}).status_code == 403
    assert made.browser["olga"].post("/people", {"do": "leave", "person": made.people["sara"].id}).status_code == 404
    assert made.browser["olga"].post("/people", {"do": "leave", "person": made.people["ines"].id}).status_code == 303
    assert ines.get("/").status_code == 303
    assert made.firm.people.sign_in("ines", PHRASE, "") is None
    assert {e.by for e in made.desk.read(made.visit["ines"]).events} == {"Ines Quarry"}
    assert "Ines Quarry, inspector, left" in text_of(made.browser["olga"].get("/people"))
    made.firm.people.leave(made.people["olga"], "test")
    with pytest.raises(Refused, match="Nobody would be left"):
        made.firm.people.leave(made.people["sara"], "test")


def test_sign_out_here_and_everywhere_and_another_pass_phrase(made: AFirm) -> None:
    one, other = made.browser["ines"], made.signed_in(made.people["ines"])
    one.post("/sign-out")
    assert (one.get("/").status_code, other.get("/").status_code) == (303, 200)
    third = made.signed_in(made.people["ines"])
    third.post("/sign-out", {"everywhere": "yes"})
    assert {s.get("/").status_code for s in (one, other, third)} == {303}
    again = made.signed_in(made.people["ines"])
    new = {"phrase": "six brown cables lie", "phrase_again": "six brown cables lie"}
    assert again.post("/me", {**new, "phrase_old": "not this"}).status_code == 422
    assert again.post("/me", {**new, "phrase_old": PHRASE}).status_code == 303
    assert again.get("/").status_code == 303, "every browser signs in anew but the one that was given a new key"
    assert key_in(made.nobody, "ines", PHRASE) == ""
    assert key_in(made.nobody, "ines", new["phrase"])


def test_a_lost_pass_phrase_is_replaced_by_an_invitation_to_the_same_account(made: AFirm) -> None:
    olga, ines = made.browser["olga"], made.people["ines"]
    assert olga.post("/people", {"do": "again", "person": made.people["sara"].id}).status_code == 404
    told = text_of(olga.post("/people", {"do": "again", "person": ines.id}))
    address = told.split("http://here")[1].split()[0]
    new = {"phrase": "six brown cables lie", "phrase_again": "six brown cables lie"}
    assert "type the login you had" in text_of(made.nobody.post(address, {**new, "login": "other"}))
    assert made.nobody.post(address, {**new, "login": "ines"}).status_code == 303
    assert made.browser["ines"].get("/").status_code == 303, "the browsers before are signed out"
    assert made.firm.people.sign_in("ines", PHRASE, "") is None
    assert made.firm.people.sign_in("ines", new["phrase"], "") is not None
    key = made.firm.people.invite_again(ines, "test")
    made.firm.people.leave(ines, "test")
    with pytest.raises(Refused):
        made.firm.people.join(key, "ines", "x")


def test_a_session_ends_by_itself(made: AFirm) -> None:
    ines, start = made.browser["ines"], made.firm.people.clock()
    for days, status in ((13, 200), (26, 200), (41, 303)):
        made.firm.people.clock = lambda days=days: start + days * 86400.0
        assert ines.get("/").status_code == status, days


def test_who_acted_is_the_login_and_no_typed_name(made: AFirm) -> None:
    visit, ines = made.visit["ines"], made.browser["ines"]
    read = made.desk.read(visit)
    assert read.book.visit is not None
    assert read.book.visit.inspector == "Ines Quarry", "typed was Not Me"
    ines.send(ines.get(f"/v/{visit}/add/part"), f"/v/{visit}/add/part", kind="gas")
    heading = next(e for e in made.desk.read(visit).entries if e.kind == "visit")
    form = ines.get(f"/v/{visit}/entry/{heading.id}")
    ines.send(form, f"/v/{visit}/entry/{heading.id}", inspector="Sara Holt", why="typing")
    read = made.desk.read(visit)
    assert {e.by for e in read.events} == {"Ines Quarry"}
    assert read.book.visit is not None
    assert read.book.visit.inspector == "Ines Quarry"
    book = b'[visit]\nplace = "9 Alder Row"\ndate = 2026-11-20\ninspector = "Sara Holt"\n'
    refused = ines.post("/book", {"uid": "b" * 20}, files={"book": ("visit.toml", book)})
    assert "an inspection by Sara Holt, who has to bring it" in text_of(refused)
    book = book.replace(b"Sara Holt", b"A. Predecessor")
    taken = ines.post("/book", {"uid": "b" * 20}, files={"book": ("visit.toml", book)}).headers["location"]
    assert {e.by for e in made.desk.read(taken.split("/")[2]).events} == {"Ines Quarry"}
    assert made.browser["ivan"].get(taken).status_code == 404


def test_a_phone_is_let_in_in_the_name_of_its_owner_and_ended_by_nobody_else(made: AFirm) -> None:
    told = text_of(made.browser["ines"].post("/me", {"do": "device", "device_name": "Ines's phone"}))
    token = told.split("shown once:")[1].split()[0]
    device = device_of(made.desk.store, token)
    assert device is not None
    assert device.person == made.people["ines"].id
    made.browser["ivan"].post("/me", {"do": "shut-out", "device": device.number})
    assert device_of(made.desk.store, token) is not None
    made.browser["ines"].post("/me", {"do": "shut-out", "device": device.number})
    assert device_of(made.desk.store, token) is None
    assert made.browser["ines"].post("/me", {"do": "device", "device_name": ""}).status_code == 422


def test_no_name_looks_like_another_and_an_invitation_ends_with_whoever_gave_it(made: AFirm) -> None:
    for name in ("SARA  HOLT", "Sara Holt\u200b", "S\u0430ra Holt", "Sara-Holt", "Sara Ho\u200clt", "Sara Holt.", "\u202etloH araS",
                 "\uff33ara Holt", "Sar\u00e1 Holt", "Sara H0lt", "1nes Quarry", "..", "\u2160van Brook"):  # fmt: skip
        with pytest.raises(Refused):
            made.firm.people.invite(name, "inspector", "test")
    for name in ("Sara Holt-Brook", "Siobhán O’Neill", "Łukasz Żak", "Мария Сова"):
        made.firm.people.invite(name, "inspector", "test")
    key = made.firm.people.invite("Back Door", "qualified supervisor", made.people["sara"].id)
    twice = [made.firm.people.invite("Two Calls", "inspector", "test") for _ in range(2)]
    made.firm.people.leave(made.people["sara"], made.people["olga"].id)
    with pytest.raises(Refused, match="has ended"):
        made.firm.people.join(key, "door", PHRASE)
    made.firm.people.join(twice[0], "two", PHRASE)
    with pytest.raises(Refused, match="was used"):
        made.firm.people.join(twice[1], "two", "six brown cables lie")
    early, boss = (made.firm.people.invite("New Boss", r, "test") for r in ("inspector", "qualified supervisor"))
    made.firm.people.join(boss, "boss", PHRASE)
    with pytest.raises(Refused, match="was used"):
        made.firm.people.join(early, "boss", "six brown cables lie")


def test_an_invitation_to_a_name_that_has_an_account_since_opens_it_to_nobody(made: AFirm) -> None:
    """Sara invites one person twice, and keeps the second address for herself."""
    form = {"name": "Dora Vale", "role": "inspector"}
    told = [text_of(made.browser["sara"].post("/people", form)) for _ in range(2)]
    first, second = (words.split("http://here")[1].split()[0] for words in told)
    typed = {"login": "dora", "phrase": PHRASE, "phrase_again": PHRASE}
    assert made.nobody.post(first, typed).status_code == 303
    other = {**typed, "phrase": "six brown cables lie", "phrase_again": "six brown cables lie"}
    answer = made.nobody.post(second, other)
    assert answer.status_code == made.nobody.get(second).status_code == 410
    assert "This invitation was used, or has ended." in text_of(answer)
    assert "set-cookie" not in answer.headers
    assert made.firm.people.sign_in("dora", PHRASE, "") is not None


def test_who_left_has_left_once(made: AFirm) -> None:
    people, ines = made.firm.people, made.people["ines"]
    form = {"do": "leave", "person": ines.id}
    assert made.browser["olga"].post("/people", form).status_code == 303
    gone = people.of_id(ines.id).gone  # type: ignore[union-attr]
    assert made.browser["sara"].post("/people", form).status_code == 303
    assert people.of_id(ines.id).gone == gone  # type: ignore[union-attr]
    assert [d.who for d in made.firm.deeds(ines.id) if d.did == "left"] == [made.people["olga"].id]


def test_what_one_brings_along_from_job_to_job_is_nobody_elses(made: AFirm) -> None:
    """A visit headed by Ines is given to Ivan: her clients and phrases are not offered to him, his are."""
    for who, visit in (("Ines Quarry", made.visit["ines"]), ("Ivan Brook", made.visit["ivan"])):
        heading = next(e for e in made.desk.read(visit).entries if e.kind == "visit")
        made.desk.correct(heading.id, {**heading.body, "client": f"Client of {who}"}, "r", who)
        made.desk.add(visit, "observation", {"id": "1", "what": f"Phrase of {who}", "code": "C3"}, who)
    given = made.begun("ines", "77 Given Lane")
    made.firm.give(given, made.people["ivan"], made.people["olga"])
    heading = next(e for e in made.desk.read(given).entries if e.kind == "visit")
    for path, said in ((f"entry/{heading.id}", "Client of"), ("add/observation", "Phrase of")):
        page = made.browser["ivan"].get(f"/v/{given}/{path}").text
        assert f"{said} Ivan Brook" in page
        assert f"{said} Ines Quarry" not in page


def test_what_is_drawn_is_bound_to_the_login_not_to_the_typed_name(made: AFirm) -> None:
    visit, ines = made.visit["ines"], made.browser["ines"]
    form = {
        "uid": "s" * 20,
        "do": "sign",
        "role": "inspected and tested by",
        "name": "Sara Holt",
        "strokes": "10 10 20 20",
    }
    assert ines.post(f"/v/{visit}/paper/bonding-record", form).status_code == 303
    a = made.desk.record(visit)
    assert a is not None
    assert [(s.name, a.visit.paperwork.void(s)) for s in a.visit.paperwork.signs] == [("Ines Quarry", "")]


def test_without_a_firm_nobody_signs_in(site: Site) -> None:
    assert site.get("/").status_code == 200
    assert site.get("/sign-in").status_code == 404


def test_what_is_wrong_is_listed_under_the_name_that_the_field_shows(made: AFirm) -> None:
    visit = made.visit["ines"]
    pdf = made.desk.attach(visit, b"%PDF-1.7 x", "condition report", "Ines Quarry", media="application/pdf")
    made.desk.add(visit, "issue", {"document": "condition report", "hash": pdf.body["hash"]}, "Ines Quarry")
    plan = {"place": "", "date": "x", "person": "", "kind": "periodic"}
    key = made.firm.people.invite("Nora Field", "inspector", made.people["olga"].id)
    for site, path, typed, field in (
        (made.browser["ines"], "/me", {"phrase_old": "x", "phrase": PHRASE, "phrase_again": PHRASE}, "phrase_old"),
        (made.browser["ivan"], "/me", {"do": "device", "device_name": ""}, "device_name"),
        (made.browser["olga"], "/plan", plan, "person"),
        (made.browser["olga"], f"/v/{visit}/handed", {"to": "", "days": "9"}, "to"),
        (made.browser["eric"], "/erase", {"visit": "nothing"}, "visit"),
        (made.nobody, "/sign-in", {"login": "nobody", "phrase": "x"}, "phrase"),
        (made.nobody, f"/join/{key}", {"login": "", "phrase": PHRASE, "phrase_again": PHRASE}, "login"),
    ):
        page = site.post(path, typed).text
        said = re.search(rf'<li><a href="#f-{field}">([^<]*)</a>', page)
        label = re.search(rf'<label for="f-{field}">([^<]*?)\s*<', page)
        assert said, path
        assert label, path
        assert said[1] == label[1] != field
