"""Phones of a firm that were away for weeks, on each database: what comes back, what does not, and what the person is told."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from asked import text_of
from sync.simulated import plain

from earthwright.desk import Desk
from earthwright.paper.documents import make_document
from earthwright.paper.page import record_hash
from earthwright.records.canon import digest
from earthwright.records.event import FILE, ISSUE

from .firm_phones import Phone, Served

WEEKS = dt.timedelta(weeks=3)
INES, IVAN, SARA = "Ines Quarry", "Ivan Brook", "Sara Holt"
COUNTERSIGNED = {"role": "authorised for issue", "name": SARA, "content": "0"}


@pytest.fixture
def made(url: str, request: pytest.FixtureRequest) -> Iterator[Served]:
    found = Served(url, request.getfixturevalue("cluster") if url.startswith("postgresql") else None)
    yield found
    found.desk.close()


@pytest.fixture
def phones(made: Served, tmp_path: Path) -> Iterator[Callable[..., Phone]]:
    found: list[Phone] = []

    def one(login: str, *visits: str, ahead: dt.timedelta = dt.timedelta()) -> Phone:
        (folder := tmp_path / str(len(found))).mkdir()
        found.append(Phone(made, login, folder, ahead))
        found[-1].begin(*visits)
        return found[-1]

    yield one
    for phone in found:
        phone.desk.close()


def furnished(desk: Desk, visit: str) -> None:
    for kind, body in (
        ("part", {"id": "water", "kind": "water"}), ("bond", {"part": "water", "csa_mm2": "10", "length_m": "5"}),
        ("leads", {"id": "a", "allowed": "none"}), ("board", {"id": "db1"}),
        ("circuit", {"id": "c1", "board": "db1", "line_mm2": "1.5"}),
    ):  # fmt: skip
        desk.add(visit, kind, body, INES)


def read(desk: Desk, visit: str, shown: str, at: str, by: str) -> str:
    body = {"read": "conductor", "bond": "water", "shown": shown, "at": at, "leads": "a"}
    return desk.add(visit, "step", body, by).id


def same(visit: str, *desks: Desk) -> None:
    """All hold the same events in the same order, print the same findings, and are whole."""
    first, *others = (d.read(visit) for d in desks)
    for other in others:
        assert [plain(e) for e in other.events] == [plain(e) for e in first.events]
        assert other.tables == first.tables
    said = [d.record(visit) for d in desks]
    assert all(a is not None and a.findings == said[0].findings for a in said)  # type: ignore[union-attr]
    assert not [f for f in said[0].findings if f.family == "times.order"]  # type: ignore[union-attr]
    for desk in desks:
        assert desk.verify().whole


def test_two_inspectors_and_an_office_at_one_visit_after_weeks(made: Served, phones: Callable[..., Phone]) -> None:
    """Planned by the office, Ines's and Ivan along: both away with clocks weeks apart; Ines enters at the office as well."""
    visit = made.planned("ines", "7 Alder Row", "ivan")
    furnished(made.desk, visit)
    ines = phones("ines", visit, ahead=-WEEKS)
    ivan = phones("ivan", visit, ahead=WEEKS)
    for phone in (ines, ivan):
        assert phone.desk.holds(visit)
        phone.cut = True
    circuit = ines.desk.read(visit).event_of("circuit", "c1")
    page = f"/v/{visit}/entry/{circuit}"
    for phone, size in ((ines, "2.5"), (ivan, "4")):  # each on their phone, by its pages
        sent = phone.pages.send(phone.pages.get(page), page, do="correct", line_mm2=size, why="seen again")
        assert sent.status_code == 303, text_of(sent)
    first = read(ines.desk, visit, "0.02", "10:00:00", INES)
    ivan.desk.add(visit, "step", {"off": "water", "at": "10:30:00"}, IVAN)
    read(ivan.desk, visit, "0.31", "10:35:00", IVAN)
    at_office = made.browser["ines"]
    assert at_office.send(at_office.get(page), page, do="correct", line_mm2="6", why="by telephone").status_code == 303
    assert "Nothing is lost" in ines.go()
    for phone in (ines, ivan):
        phone.cut = False
    for phone in (ivan, ines, ivan, ines):
        phone.go()
        assert phone.back() == []
    same(visit, made.desk, ines.desk, ivan.desk)
    by = {e.by for e in made.desk.store.events(visit) if e.kind in ("step", "correct")}
    assert by == {INES, IVAN}, "who acted comes from whose phone it is"
    for site in (ines.pages, ivan.pages, made.browser["ines"], made.browser["olga"]):
        assert "7 Alder Row" in text_of(site.get("/together")), "a conflict is named where people look for it"
        said = text_of(site.get(f"/v/{visit}/chosen"))
        assert all(size in said for size in ("2.5", "4", "6"))
    entry = made.desk.read(visit).entry(circuit)
    assert entry.rivals is not None
    assert {c.body["body"]["line_mm2"] for c in entry.rivals.each} == {"2.5", "4", "6"}
    assert first in {e.id for e in made.desk.read(visit).entries if e.mixed}
    chosen = next(c.id for c in entry.rivals.each if c.by == IVAN)
    head = ines.desk.read(visit).head
    for form in ({"do": "keep", "entry": circuit, "change": chosen}, {"do": "so"}):
        head = ines.desk.read(visit).head
        sent = ines.pages.post(f"/v/{visit}/chosen", {**form, "uid": f"{form['do']:a<20}", "head": head})
        assert sent.status_code == 303, text_of(sent)
    for phone in (ines, ivan):
        phone.go()
    same(visit, made.desk, ines.desk, ivan.desk)
    assert not [e for e in made.desk.read(visit).entries if e.contested]
    a = made.desk.record(visit)
    assert a is not None
    assert a.visit.site.circuits[0].line_mm2 == 4


def test_a_lost_phone_is_ended_by_the_office_and_the_next_goes_on(made: Served, phones: Callable[..., Phone]) -> None:
    visit = made.planned("ines", "7 Alder Row")
    phone = phones("ines", visit)
    phone.desk.add(visit, "part", {"id": "water", "kind": "water"}, INES)
    page = made.browser["olga"].get("/together")
    assert INES in text_of(page)
    ended = made.browser["olga"].send(page, "/together", do="shut-out")
    assert ended.status_code == 303
    assert "does not know this device" in phone.go()
    assert not [e for e in made.desk.store.events(visit) if e.kind == "part"]
    phone.new_token()
    phone.pages.post("/together", {"do": "begin", "address": "visits.example", "token": phone.token})
    same(visit, made.desk, phone.desk)
    assert [e.kind for e in made.desk.store.events(visit)].count("part") == 1


def test_nobody_ends_the_phone_of_somebody_else_but_who_lets_people_in(
    made: Served, phones: Callable[..., Phone]
) -> None:
    from earthwright.sync.names import devices

    phones("ines")
    number = devices(made.desk.store)[0].number
    made.browser["ivan"].post("/together", {"do": "shut-out", "device": number})
    assert INES not in text_of(made.browser["ivan"].get("/together"))
    assert made.nobody.post("/together", {"do": "shut-out", "device": number}).status_code == 401
    assert devices(made.desk.store)
    made.browser["sara"].post("/together", {"do": "shut-out", "device": number})
    assert devices(made.desk.store) == []


def test_who_left_sends_nothing_and_keeps_what_they_have(made: Served, phones: Callable[..., Phone]) -> None:
    visit = made.planned("ines", "7 Alder Row")
    phone = phones("ines", visit)
    phone.desk.add(visit, "part", {"id": "water", "kind": "water"}, INES)
    made.firm.people.leave(made.people["ines"], made.people["sara"].id)
    head = made.desk.store.head()
    assert "has no account any more" in phone.go()
    assert made.desk.store.head() == head
    assert [e.kind for e in phone.desk.store.events(visit)][-1] == "part"


def test_a_visit_given_to_somebody_else_waits_and_the_others_go_on(made: Served, phones: Callable[..., Phone]) -> None:
    first, second = made.planned("ines", "7 Alder Row"), made.planned("ines", "8 Alder Row")
    phone = phones("ines", first, second)
    for visit in (first, second):
        phone.desk.add(visit, "part", {"id": "water", "kind": "water"}, INES)
    made.firm.give(first, made.people["ivan"], made.people["olga"])
    said = phone.go()
    assert "another inspector's" in said
    assert "Ask the office to give it to you" in said
    assert "7 Alder Row" in said
    same(second, made.desk, phone.desk)
    assert "part" not in [e.kind for e in made.desk.store.events(first)]
    made.desk.add(first, "part", {"id": "gas", "kind": "gas"}, IVAN)
    phone.go()
    assert "gas" not in str([e.body for e in phone.desk.store.events(first)]), "what is another's is not fetched"
    made.firm.give(first, made.people["ines"], made.people["olga"])
    assert "did not take" not in phone.go()
    same(first, made.desk, phone.desk)


def test_a_role_that_changed_holds_from_the_next_question_on(made: Served, phones: Callable[..., Phone]) -> None:
    visit = made.planned("ines", "7 Alder Row")
    phone = phones("ines", visit)
    change = "UPDATE firm_person SET role = :role WHERE login = 'ines'"
    made.by_owner(change, role="office")
    made.desk.add(visit, "part", {"id": "gas", "kind": "gas"}, IVAN)
    phone.desk.add(visit, "part", {"id": "water", "kind": "water"}, INES)
    assert "read only" in phone.go()
    assert [e.body.get("id") for e in made.desk.store.events(visit) if e.kind == "part"] == ["gas"]
    assert {e.body.get("id") for e in phone.desk.store.events(visit) if e.kind == "part"} == {"gas", "water"}
    made.by_owner(change, role="client")
    assert "does not work on visits" in phone.go()
    made.by_owner(change, role="inspector")
    phone.go()
    same(visit, made.desk, phone.desk)


def test_an_office_phone_reads_every_visit_and_enters_nothing(made: Served, phones: Callable[..., Phone]) -> None:
    visit = made.planned("ines", "7 Alder Row")
    phone = phones("olga", visit)
    phone.desk.start("9 Alder Row", date="2026-11-20", by="Olga Penn")
    said = phone.go()
    assert "read only" in said
    assert "9 Alder Row" in said
    assert "9 Alder Row" not in [v.place for v in made.desk.visits()]
    same(visit, made.desk, phone.desk)


def test_a_supervisors_signature_on_the_inspectors_phone_is_taken_out_and_all_goes(
    made: Served, phones: Callable[..., Phone]
) -> None:
    stuck, other = made.planned("ines", "7 Alder Row"), made.planned("ines", "8 Alder Row")
    phone = phones("ines", stuck, other)
    path = f"/v/{stuck}/paper/letter"
    form = {"do": "sign", "role": "authorised for issue", "name": SARA, "uid": "s" * 20}
    refused = text_of(phone.pages.post(path, {**form, "head": phone.desk.read(stuck).head}))
    assert f"in the name of {INES}" in refused, "the page does not let it come so far"
    sign = phone.desk.add(stuck, "sign", COUNTERSIGNED, INES)  # as it was written before the phone went with the office
    for visit in (stuck, other):
        phone.desk.add(visit, "part", {"id": "water", "kind": "water"}, INES)
    said = phone.go()
    assert f"signature of {SARA}" in said
    assert "7 Alder Row" in said
    same(other, made.desk, phone.desk)
    assert [b.entry for b in phone.back()] == [sign.id]
    page = phone.pages.get("/together")
    sent = phone.pages.send(page, "/together", do="take-out")
    assert "did not take" not in text_of(phone.pages.follow(sent))
    same(stuck, made.desk, phone.desk)
    assert made.desk.read(stuck).entry(sign.id).struck is not None


def paper_of(desk: Desk, visit: str, **change: object) -> tuple[bytes, dict[str, object]]:
    a = desk.record(visit)
    assert a is not None
    book = str(change.get("book") or desk.as_visit_book(visit))
    made = make_document(a, "evidence sheet", book=book, journal=desk.store.head())
    return made, {
        "document": "evidence sheet",
        "hash": digest(made),
        "record": record_hash(a),
        "content": a.visit.paperwork.content,
    }


def issue(desk: Desk, visit: str, made: bytes, body: dict[str, object]) -> str:
    about = {
        "hash": body["hash"],
        "size": len(made),
        "caption": "evidence sheet",
        "name": "",
        "media": "application/pdf",
        "about": "",
    }
    from earthwright.records import Draft

    drafts = [Draft(visit, FILE, about, INES), Draft(visit, ISSUE, body, INES)]
    return desk.add_all(drafts, contents=[made])[-1].id


def test_only_a_paper_that_says_what_the_journal_holds_is_taken(made: Served, phones: Callable[..., Phone]) -> None:
    visits = [made.planned("ines", f"{n} Birch Row") for n in range(6)]
    phone = phones("ines", *visits)
    for visit in visits:
        furnished(phone.desk, visit)
        read(phone.desk, visit, "0.02", "10:00:00", INES)
    good, body = paper_of(phone.desk, visits[0])
    whole = issue(phone.desk, visits[0], good, body)
    forged: dict[str, Any] = {}
    any_bytes = b"%PDF-1.7 anything"
    forged["no paper of ours"] = issue(phone.desk, visits[1], any_bytes, {**body, "hash": digest(any_bytes)})
    changed = good[:-40] + b"%" + good[-40:]
    forged["does not hold together"] = issue(phone.desk, visits[2], changed, {**body, "hash": digest(changed)})
    another, of_another = paper_of(phone.desk, visits[3])
    forged["another one than the entry says"] = issue(
        phone.desk, visits[3], another, {**of_another, "record": "0" * 64}
    )
    forged["from other entries"] = issue(phone.desk, visits[4], *paper_of(phone.desk, visits[0]))
    a = phone.desk.record(visits[5])
    assert a is not None
    draft = make_document(a, "condition report", book=phone.desk.as_visit_book(visits[5]), draft=True)
    said_of = {"document": "condition report", "hash": digest(draft), "record": record_hash(a)}
    forged["It is a draft"] = issue(phone.desk, visits[5], draft, said_of)
    phone.go()
    told = {b.entry: b.said for b in phone.back()}
    assert set(told) == set(forged.values())
    for words, id_ in forged.items():
        assert words in told[id_]
    assert [e.id for e in made.desk.store.events(kinds=(ISSUE,))] == [whole]
    same(visits[0], made.desk, phone.desk)
    for visit in visits[1:]:
        phone.pages.post("/together", {"do": "take-out", "visit": visit})
    assert phone.back() == []
    for visit in visits:
        same(visit, made.desk, phone.desk)
    assert made.desk.verify().whole
