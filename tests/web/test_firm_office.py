"""A visit's way through a firm: planned, on site, countersigned by somebody else, issued, handed over; found by what stands in it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from earthwright.firm.index import DONE, ISSUED, ON_SITE, PLANNED, TO_SIGN

from .conftest import text_of
from .firm_made import AFirm


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
