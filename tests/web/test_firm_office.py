"""A visit's way through a firm: planned, on site, countersigned by somebody else, issued, handed over; found by what stands in it."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from asked import NOON, text_of
from firm_made import AFirm

from earthwright.firm.index import DONE, ISSUED, ON_SITE, PLANNED, TO_SIGN


@pytest.fixture
def made() -> Iterator[AFirm]:
    firm = AFirm()
    yield firm
    firm.desk.close()


def test_a_visit_goes_from_plan_to_client(made: AFirm) -> None:
    olga, ines, sara, ivan = (made.browser[x] for x in ("olga", "ines", "sara", "ivan"))
    typed = {"place": "7 Sorrel Lane", "date": "2026-12-01", "kind": "periodic", "person": made.people["ines"].id}
    assert "Where is it?" in text_of(olga.send(olga.get("/plan"), "/plan", **{**typed, "place": ""}))
    assert olga.send(olga.get("/plan"), "/plan", **typed).status_code == 303
    visit = next(f.id for f in made.firm.index.lines() if f.place == "7 Sorrel Lane")
    assert made.firm.stages()[visit] == PLANNED
    assert "7 Sorrel Lane" in text_of(ines.get("/"))
    assert "7 Sorrel Lane" not in text_of(ivan.get("/"))
    ines.post(f"/v/{visit}/steps", {"do": "note", "note": "came in", "uid": "a" * 20})
    made.desk.add(visit, "step", {"note": "at the origin"}, "Ines Quarry")
    assert made.firm.stages()[visit] == ON_SITE

    def signs(who: str, role: str) -> None:
        content = made.desk.record(visit).visit.paperwork.content  # type: ignore[union-attr]
        read = made.desk.read(visit)
        entry = ("sign", {"role": role, "name": "Typed Name", "at": "2026-12-01T12:00", "content": content})
        person = made.people[who]
        (entry,) = made.firm.in_name_of(person, read, [entry])
        assert not made.firm.refuses(person, read, [entry])
        made.desk.add(visit, *entry, person.name)

    signs("ines", "inspected and tested by")
    assert made.firm.stages()[visit] == TO_SIGN
    page = sara.get(f"/v/{visit}/check")
    said = text_of(page)
    assert said.index("second pair of eyes") < said.index("authorised for issue")
    assert sara.send(page, f"/v/{visit}/check", remark="").status_code == 422
    assert sara.send(page, f"/v/{visit}/check", remark="Where is the gas bond?").status_code == 303
    assert made.firm.stages()[visit] == ON_SITE
    assert "Sent back by Sara Holt: Where is the gas bond?" in text_of(ines.get(f"/v/{visit}/"))
    signs("ines", "inspected and tested by")
    assert "Where is the gas bond?" not in text_of(ines.get(f"/v/{visit}/"))
    signs("sara", "authorised for issue")
    assert {s.name for s in made.desk.read(visit).book.visit.paperwork.signs} == {"Ines Quarry", "Sara Holt"}  # type: ignore[union-attr]

    assert "No paper of this visit is issued" in text_of(olga.get(f"/v/{visit}/handed"))
    paper = made.desk.attach(visit, b"%PDF-1.7 x", "condition report", "Sara Holt", media="application/pdf")
    made.desk.add(visit, "issue", {"document": "condition report", "hash": paper.body["hash"]}, "Sara Holt")
    assert made.firm.stages()[visit] == ISSUED
    handed = olga.post(f"/v/{visit}/handed", {"to": "Mr Elder", "person": made.people["carl"].id, "days": "30"})
    address = text_of(handed).split("http://here")[1].split()[0]
    assert made.firm.stages()[visit] == DONE
    link = made.nobody.get(address)
    assert "Condition report" in text_of(link)
    pdf = f"{address}/{paper.body['hash']}.pdf"
    assert made.nobody.get(pdf).content == b"%PDF-1.7 x"
    seen = text_of(olga.get(f"/v/{visit}/handed"))
    assert "the list" in seen
    assert "condition report" in seen
    carl = made.browser["carl"]
    assert "7 Sorrel Lane" in text_of(carl.get("/handed"))
    assert carl.get(f"/handed/{visit}/{paper.body['hash']}.pdf").content == b"%PDF-1.7 x"
    other = made.desk.attach(made.visit["ivan"], b"%PDF-1.7 y", "x", "Ivan Brook", media="application/pdf")
    assert made.nobody.get(f"{address}/{other.body['hash']}.pdf").status_code == 404
    start = made.firm.people.clock()
    made.firm.people.clock = lambda: start + 31 * 86400.0
    assert made.nobody.get(address).status_code == 404
    made.firm.people.clock = lambda: start
    ended = olga.get(f"/v/{visit}/handed")
    olga.send(ended, f"/v/{visit}/handed", do="end")
    assert made.nobody.get(pdf).status_code == 404
    assert carl.get(f"/handed/{visit}/{paper.body['hash']}.pdf").status_code == 404


@pytest.mark.parametrize(
    "word", ["sorrel", "ines", "gas", "dt-4471", "c2", "boiler room", "sorrel gas 2026-11-20", "example client"]
)
def test_the_office_finds_a_visit_by_what_stands_in_it(searched: AFirm, word: str) -> None:
    found = text_of(searched.browser["olga"].get("/office", params={"find": word}))
    assert "8 Sorrel Lane" in found, word
    assert "2 Alder Row" not in found, word


@pytest.fixture(scope="module")
def searched() -> Iterator[AFirm]:
    made = AFirm()
    visit = made.begun("ines", "8 Sorrel Lane")
    for kind, body in (
        ("part", {"id": "gas", "kind": "gas", "where": "boiler room"}),
        ("instrument", {"id": "tester", "serial": "DT-4471"}),
        ("observation", {"id": "1", "what": "No bond to the gas", "code": "C2"}),
        ("report", {"client_address": "x", "occupier": "Example Client"}),
    ):
        made.desk.add(visit, kind, body, "Ines Quarry")
    yield made
    made.desk.close()


def book(day: str, serial: str, shorted: str, until: str = "2026-12-10") -> bytes:
    return f'''[visit]
place = "Plot {day}, Sorrel Lane"
date = {day}
kind = "periodic"
client = "Mrs Quill"
[[instrument]]
id = "t"
name = "Multi"
serial = "{serial}"
valid_until = {until}
continuity = {{ pct = 3, digits = 2, step = 0.01, top = 99.99 }}
[[leads]]
id = "long"
allowed = "nulled"
[[step]]
check = "shorted"
shown = {shorted}
'''.encode()


def test_an_instrument_that_lapses_or_was_wrong_is_told_where_it_counts(made: AFirm) -> None:
    olga, ines, visits = made.browser["olga"], made.browser["ines"], {}
    for n, (day, shorted) in enumerate((("2026-03-01", "0.00"), ("2026-06-01", "0.02"), ("2026-09-01", "0.09"))):
        files = {"book": ("v.toml", book(day, "DT 4471" if n else "dt4471", shorted))}
        visits[day] = ines.post("/book", {"uid": f"{n}" * 20}, files=files).headers["location"].split("/")[2]
    assert "Multi, DT 4471: its check lapses on 2026-12-10" in text_of(olga.get("/office"))
    page = olga.get("/tools/dt4471")
    assert page.text.count("<circle") == 3
    assert "0.09" in text_of(page)
    assert olga.post("/tools/dt4471", {"do": "wrong", "since": "2026-06-01", "words": ""}).status_code == 422
    assert olga.post("/tools/dt4471", {"do": "wrong", "since": "soon", "words": "x"}).status_code == 422
    assert (
        olga.post("/tools/dt4471", {"do": "wrong", "since": "2026-06-01", "words": "reads 8 % low"}).status_code == 303
    )
    assert "Visits that rest on it: 2" in text_of(olga.get("/tools/dt4471"))
    for day, told in (("2026-03-01", False), ("2026-06-01", True), ("2026-09-01", True)):
        assert ("reads 8 % low" in text_of(olga.get(f"/v/{visits[day]}/check"))) is told, day
    olga.post("/tools/dt4471", {"do": "checked", "until": "2027-11-30"})
    assert "lapses" not in text_of(olga.get("/office"))
    assert olga.get("/tools/other").status_code == 404


def test_what_is_coming_stands_in_a_calendar_of_ones_own_and_in_a_letter(made: AFirm) -> None:
    from earthwright.firm.mail import remind

    made.desk.add(
        made.visit["ines"], "instrument", {"id": "t", "serial": "A1", "valid_until": "2026-12-01"}, "Ines Quarry"
    )
    made.firm.plan(made.people["olga"], made.people["ivan"], "v-planned-one", "9 Far Lane", "2026-11-25", "initial", "")
    address = text_of(made.browser["olga"].post("/me", {"do": "feed"})).split("http://here")[1].split()[0]
    ics = made.nobody.get(address)
    assert ics.headers["content-type"].startswith("text/calendar")
    assert "SUMMARY:Visit: initial (Ivan Brook)\\, 9 Far Lane" in ics.text
    assert "DTSTART;VALUE=DATE:20261125" in ics.text
    assert "Check of A1 lapses" in ics.text
    own = text_of(made.browser["ines"].post("/me", {"do": "feed"})).split("http://here")[1].split()[0]
    assert "Far Lane" not in made.nobody.get(own).text
    assert "Check of A1 lapses" in made.nobody.get(own).text
    made.browser["olga"].post("/me", {"do": "feed"})
    assert made.nobody.get(address).status_code == 404, "the address before no longer opens"
    made.firm.people.leave(made.people["ines"], "test")
    assert made.nobody.get(own).status_code == 404
    key = made.firm.people.invite("Nora Field", "office", "test", "nora@firm.example")
    made.firm.people.join(key, "nora", "x")
    sent: list[object] = []
    assert remind(made.firm, NOON.date(), "office@firm.example", "https://visits.example", sent.append) == [
        "nora@firm.example"
    ]
    assert "2026-11-25: Visit: initial (Ivan Brook), 9 Far Lane\n  https://visits.example/v/v-planned-one/" in str(
        sent[0]
    )


def test_days_at_the_ends_of_the_calendar_stop_no_feed_and_no_paper(made: AFirm) -> None:
    tool = {"id": "t", "serial": "A1", "valid_until": "9999-12-31"}
    made.desk.add(made.visit["ines"], "instrument", tool, "Ines Quarry")
    made.desk.add(made.visit["ines"], "report", {"next_by": "9999-12-31"}, "Ines Quarry")
    made.desk.add(made.visit["ines"], "issue", {"document": "condition report", "hash": "0" * 64}, "Ines Quarry")
    for n, day in enumerate(("9999-12-31", "9999-12-30", "0800-02-01")):
        made.firm.plan(made.people["olga"], made.people["ines"], f"v-end-{n}-planned", f"{n} End", day, "periodic", "")
        assert made.browser["ines"].get(f"/v/v-end-{n}-planned/paper").status_code == 200, day
    feed = made.nobody.get(f"/calendar/{made.firm.people.new_feed(made.people['olga'])}.ics").text
    days = re.findall(r"DT(?:START|END);VALUE=DATE:(\S+)", feed)
    assert {d for d in days if not d.startswith("2026")} == {"99991231", "99991230", "08000201", "08000202"}
    assert days.count("99991231") == 4, "three begin on it and have no end, one ends with it"
    assert "Check of A1 lapses" in feed


def test_a_plan_sent_again_takes_the_visit_from_nobody(made: AFirm) -> None:
    olga, form = made.browser["olga"], {"place": "3 Fern Way", "date": "2026-12-01", "kind": "periodic"}
    form |= {"uid": "p" * 20, "person": made.people["ines"].id}
    assert olga.post("/plan", form).status_code == 303
    visit = next(f.id for f in made.firm.index.lines() if f.place == "3 Fern Way")
    made.firm.give(visit, made.people["ivan"], made.people["olga"])
    assert olga.post("/plan", form).status_code == 303
    assert made.firm.owner(visit) == made.people["ivan"].id


def test_a_hand_over_that_is_none_is_not_ended(made: AFirm) -> None:
    visit, olga, handing = made.visit["ines"], made.people["olga"], made.firm.handing
    handing.over(olga, visit, "Mr Elder", 30)
    (link,) = handing.of_visit(visit)
    for of in ("none", link.id, link.id):
        assert made.browser["olga"].post(f"/v/{visit}/handed", {"do": "end", "link": of}).status_code == 303
    assert [d.did for d in made.firm.deeds(visit)].count("ended a hand-over") == 1


def test_papers_of_a_visit_whose_heading_cannot_be_read_are_handed_over(made: AFirm) -> None:
    visit = made.visit["ines"]
    pdf = made.desk.attach(visit, b"%PDF-1.7 x", "condition report", "Ines Quarry", media="application/pdf")
    made.desk.add(visit, "issue", {"document": "condition report", "hash": pdf.body["hash"]}, "Ines Quarry")
    heading = next(e for e in made.desk.read(visit).entries if e.kind == "visit")
    made.desk.correct(heading.id, {**heading.body, "date": "soon"}, "r", "Ines Quarry")
    assert made.desk.record(visit) is None
    here, olga = f"/v/{visit}/handed", made.browser["olga"]
    assert olga.get(here).status_code == 200
    assert olga.post(here, {"to": "Mr Elder", "days": "30"}).status_code == 200
    for days in ("000019", "1" * 5000):
        assert olga.post(here, {"to": "x", "days": days}).status_code == 422


def test_words_that_would_be_cut_are_refused(made: AFirm) -> None:
    visit, olga = made.visit["ines"], made.browser["olga"]
    made.desk.add(visit, "instrument", {"id": "t", "serial": "A1"}, "Ines Quarry")
    made.desk.add(visit, "issue", {"document": "condition report", "hash": "0" * 64}, "Ines Quarry")
    long = "w" * 2001
    for who, path, form in (
        ("sara", f"/v/{visit}/check", {"remark": long}),
        ("olga", "/tools/a1", {"do": "wrong", "since": "2026-06-01", "words": long}),
        ("olga", f"/v/{visit}/handed", {"to": long, "days": "9"}),
    ):
        answer = made.browser[who].post(path, form)
        assert answer.status_code == 422, path
        assert "characters are kept" in text_of(answer)
        assert long in answer.text, "what was typed is still there"
    assert made.firm.remark(visit) == ""
    assert made.firm.handing.of_visit(visit) == []
    for day in ("20261120", "2026-W47-5"):
        assert olga.post("/tools/a1", {"do": "checked", "until": day}).status_code == 422
    assert made.browser["sara"].post(f"/v/{visit}/check", {"remark": long[1:]}).status_code == 303
    assert long[1:] in made.firm.remark(visit)


def test_who_may_erase_erases_and_sees_nothing_else(made: AFirm) -> None:
    eric, visit = made.browser["eric"], made.visit["ines"]
    made.desk.add(visit, "report", {"occupier": "Mrs Quill"}, "Ines Quarry")
    made.desk.add(made.visit["ivan"], "report", {"occupier": "mrs quill"}, "Ivan Brook")
    made.firm.handing.over(made.people["olga"], visit, "Mrs Quill", 30)
    looked = text_of(eric.post("/erase", {"visit": visit, "do": "look"}))
    assert made.visit["ivan"] in looked
    assert "To be kept at least until" in looked
    assert eric.post("/erase", {"visit": "nothing-here", "do": "erase", "reason": "x"}).status_code == 422
    assert eric.post("/erase", {"visit": visit, "do": "erase", "reason": ""}).status_code == 422
    assert eric.post("/erase", {"visit": visit, "do": "erase", "reason": "asked for"}).status_code == 200
    assert [e.by for e in made.desk.read(visit).events if e.kind == "erase"] == ["Eric Moss"]
    with made.desk.store.reading() as connection:
        for table in ("firm_link", "firm_deed", "personal"):
            rows = connection.exec_driver_sql(f"SELECT * FROM {table}").fetchall()
            assert not any("Mrs Quill" in str(r) for r in rows), table
    assert made.desk.verify().whole


def test_health_and_numbers(made: AFirm) -> None:
    assert made.nobody.get("/health").text == "ok"
    said = made.nobody.get("/metrics").text
    assert 'earthwright_visits{stage="planned"} 3' in said
    assert "earthwright_people 6" in said


REFUSED = {
    "a name that is there": ("olga", "/people", {"name": "Ines Quarry", "role": "inspector"}, "already"),
    "a name of one letter": ("olga", "/people", {"name": "I", "role": "inspector"}, "2 to"),
    "a role that is not theirs to give": ("olga", "/people", {"name": "Nora Field", "role": "erase"}, ""),
    "a visit planned nowhere": ("olga", "/plan", {"place": "", "date": "soon", "kind": "tea", "person": "nobody"}, ""),
    "a visit planned for a day in another form": ("olga", "/plan", {"place": "x", "date": "20261120", "kind": "periodic"}, "Write the day as"),
    "a visit planned for a day of a week": ("olga", "/plan", {"place": "x", "date": "2026-W47-5", "kind": "periodic"}, "Write the day as"),
    "a visit planned for too long a place": ("olga", "/plan", {"place": "x" * 70000, "date": "2026-11-20", "kind": "periodic"}, "too long"),
    "sent back without a remark": ("sara", "/v/{visit}/check", {"remark": ""}, ""),
    "handed over before it was issued": ("olga", "/v/{visit}/handed", {"to": "", "days": "x"}, ""),
    "an erasure of no visit": ("eric", "/erase", {"visit": "none", "reason": ""}, ""),
    "the wrong pass phrase": ("ines", "/me", {"phrase_old": "no", "phrase": "new copper bends now", "phrase_again": "x"}, ""),
    "a phone without a name": ("ines", "/me", {"do": "device", "device_name": ""}, ""),
    "a login that is not there": ("", "/sign-in", {"login": "nobody", "phrase": "no", "to": "/"}, ""),
}  # fmt: skip


@pytest.mark.parametrize("what", REFUSED)
def test_what_the_office_refuses_comes_back_with_its_form_and_the_reason(made: AFirm, what: str) -> None:
    who, where, form, words = REFUSED[what]
    site = made.browser[who] if who else made.nobody
    answer = site.post(where.format(visit=made.visit["ines"]), form)
    assert answer.status_code in (401, 403, 422), answer.status_code
    assert "Something went wrong" not in answer.text
    assert words in text_of(answer)
