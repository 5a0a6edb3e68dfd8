"""A page that was open while somebody else wrote: nothing acknowledged is overwritten unseen, nothing typed is lost."""

from __future__ import annotations

import asyncio
import html
import re
import threading
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest
from asked import Site, forms_of, text_of

from earthwright.desk import Desk
from earthwright.records import Moved
from earthwright.records.event import Draft
from earthwright.site.inspection import PERIODIC_ITEMS
from earthwright.web.words import say

from .test_guard import guarded

CLIENTS = 40
BOOK = """
[visit]
place = "3 Coldwell Steps, Netherby"
date = 2026-11-20
kind = "periodic"
inspector = "P. Marden"
[[leads]]
id = "long"
allowed = "nulled"
null_ohm = 0.08
[[part]]
id = "gas"
kind = "gas"
[[bond]]
part = "gas"
csa_mm2 = 10
length_m = 9
[[board]]
id = "db1"
[[circuit]]
id = "c5"
board = "db1"
name = "Boiler"
device = "BS EN 61009 B6"
line_mm2 = 1.5
cpc_mm2 = 1.0
length_m = 11
[[step]]
check = "shorted"
leads = "long"
shown = 0.00
"""
ITEMS = [i.id for i in PERIODIC_ITEMS]


@pytest.fixture
def two(desk: Desk) -> tuple[Site, Site, str]:
    return guarded(desk, "A. One"), guarded(desk, "B. Two"), f"/v/{desk.take_in(BOOK)}"


def outcome(desk: Desk, visit: str, item: str) -> str:
    a = desk.assess(visit.removeprefix("/v/"))
    assert a is not None
    found = a.visit.paperwork.outcome(item)
    return found.outcome if found else ""


def test_a_stale_page_does_not_take_a_c2_back(two: tuple[Site, Site, str], desk: Desk) -> None:
    """The failure as it was met: all items stand in the form, and one of them was coded elsewhere in the meantime."""
    first, second, visit = two
    path = f"{visit}/inspected"
    first.follow(first.send(first.get(path), path, **{ITEMS[0]: "acceptable", ITEMS[1]: "acceptable"}))
    stale = second.get(path)
    first.follow(first.send(first.get(path), path, **{ITEMS[0]: "C2", f"{ITEMS[0]}.note": "cut"}))
    second.follow(second.send(stale, path, **{ITEMS[2]: "C3"}))
    assert [outcome(desk, visit, i) for i in ITEMS[:3]] == ["C2", "acceptable", "C3"]


def test_what_two_wrote_differently_is_shown_and_one_of_them_says_which_stands(
    two: tuple[Site, Site, str], desk: Desk
) -> None:
    first, second, visit = two
    path, item, other = f"{visit}/inspected", ITEMS[0], ITEMS[1]
    stale = second.get(path)
    first.follow(first.send(first.get(path), path, **{item: "C2", f"{item}.note": "cut", other: "C3"}))
    answer = second.send(stale, path, **{item: "acceptable", other: "acceptable", f"{other}.note": "mine"})
    assert answer.status_code == 422
    said = text_of(answer)
    assert say("clash.choose", by="A. One", theirs="C2", mine="acceptable") in said
    assert outcome(desk, visit, item) == "C2"
    undecided = second.send(answer, path)
    assert undecided.status_code == 422
    half = second.send(undecided, path, **{f"settle.{item}": "mine"})
    assert half.status_code == 422
    assert say("clash.choose", by="A. One", theirs="C3", mine="acceptable") in text_of(half)
    second.follow(second.send(half, path, **{f"settle.{item}": "mine", f"settle.{other}": "theirs"}))
    assert [outcome(desk, visit, i) for i in (item, other)] == ["acceptable", "C3"]


def test_what_was_decided_on_is_asked_again_when_it_changed_again(two: tuple[Site, Site, str], desk: Desk) -> None:
    first, second, visit = two
    path, item = f"{visit}/inspected", ITEMS[0]
    stale = second.get(path)
    first.follow(first.send(first.get(path), path, **{item: "C3"}))
    answer = second.send(stale, path, **{item: "acceptable"})
    first.follow(first.send(first.get(path), path, **{item: "C1"}))
    again = second.send(answer, path, **{f"settle.{item}": "mine"})
    assert again.status_code == 422
    assert say("clash.choose", by="A. One", theirs="C1", mine="acceptable") in text_of(again)
    assert outcome(desk, visit, item) == "C1"


def test_a_table_that_there_is_one_of_takes_keys_and_not_wholes(two: tuple[Site, Site, str], desk: Desk) -> None:
    first, second, visit = two
    path = f"{visit}/add/report"
    ours, theirs = first.get(path), second.get(path)
    first.follow(first.send(ours, path, premises="house", occupier="Mr A. Sample"))
    second.follow(second.send(theirs, path, purpose="sale"))
    clash = second.send(theirs, path, occupier="Mrs B. Sample", records="none")
    assert clash.status_code == 422
    second.follow(second.send(clash, path, **{"settle.occupier": "theirs"}))
    count = len(desk.read(visit.removeprefix("/v/")).events)
    alone = second.send(theirs, path, occupier="Mrs B. Sample")
    second.follow(second.send(alone, path, **{"settle.occupier": "theirs"}))
    assert len(desk.read(visit.removeprefix("/v/")).events) == count  # nothing was left to write
    held = desk.read(visit.removeprefix("/v/")).tables["report"]
    assert held == {"premises": "house", "occupier": "Mr A. Sample", "purpose": "sale", "records": "none"}


def test_two_who_correct_different_keys_of_one_entry_do_not_meet(two: tuple[Site, Site, str], desk: Desk) -> None:
    first, second, visit = two
    read = desk.read(visit.removeprefix("/v/"))
    path = f"{visit}/entry/{read.event_of('circuit', 'c5')}"
    ours, theirs = first.get(path), second.get(path)
    first.follow(first.send(ours, path, do="correct", length_m="14", why="measured"))
    second.follow(second.send(theirs, path, do="correct", name="Boiler and pump", why="asked"))
    clash = second.send(theirs, path, do="correct", length_m="16", why="guessed")
    assert clash.status_code == 422
    assert say("clash.choose", by="B. Two", theirs="14", mine="16") in text_of(clash)
    body = desk.read(visit.removeprefix("/v/")).tables["circuit"][0]
    assert (str(body["length_m"]), body["name"]) == ("14", "Boiler and pump")


def test_an_entry_is_not_struck_out_unseen(two: tuple[Site, Site, str], desk: Desk) -> None:
    first, second, visit = two
    joint = f"{visit}/bond/gas/joint"
    first.follow(first.send(first.get(joint), joint, shown="0.06"))
    entry = desk.read(visit.removeprefix("/v/")).entries[-1].id
    path = f"{visit}/entry/{entry}"
    stale = second.get(path)
    first.follow(first.send(first.get(path), path, do="correct", shown="0.01", why="misread"))
    told = second.send(stale, path, do="strike", why="too high")
    assert told.status_code == 422
    assert "0.01" in text_of(told)
    assert desk.read(visit.removeprefix("/v/")).entry(entry).struck is None
    second.follow(second.send(told, path, do="strike", why="wrong bond"))
    gone = first.send(told, path, do="correct", shown="0.02", why="mine")
    assert gone.status_code == 422
    assert 'value="0.02"' in gone.text  # what was typed is still to be seen


def test_a_proposal_that_two_answer_has_one_answer_and_both_are_shown(desk: Desk) -> None:
    first, second = guarded(desk, "A. One"), guarded(desk, "B. Two")
    demo = first.post("/demo").headers["location"].rstrip("/")
    link = re.findall(rf'href="({demo}/findings/[0-9a-f]{{12}})"', first.get(f"{demo}/findings").text)[0]
    stale = second.get(link)
    first.follow(first.send(first.get(link), link))
    answer = second.send(stale, link, code="none", reason="seen and discussed")
    assert answer.status_code == 422
    assert 'name="settle.code"' in answer.text
    second.follow(second.send(answer, link, **{"settle.code": "mine"}))
    stood = desk.read("demo-visit").tables["observation"]
    assert [(o["id"], o["code"]) for o in stood] == [("1", "none")]
    assert first.get(link).status_code == 303  # an answer that stands is looked at where it can be corrected


def test_a_document_is_not_issued_in_a_state_that_was_not_seen(two: tuple[Site, Site, str], desk: Desk) -> None:
    first, second, visit = two
    path, joint = f"{visit}/paper/bonding-record", f"{visit}/bond/gas/joint"
    first.follow(first.send(first.get(joint), joint, shown="0.01"))
    stale = second.get(path)
    first.follow(first.send(first.get(joint), joint, shown="0.01"))
    answer = second.send(stale, path, do="issue")
    assert answer.status_code == 422
    assert say("paper.moved") in text_of(answer)
    assert second.send(answer, path, do="issue").status_code == 303


def test_two_different_tests_of_one_circuit_do_not_meet(two: tuple[Site, Site, str], desk: Desk) -> None:
    first, second, visit = two
    path = f"{visit}/circuits/c5"
    typed = {"reason": "dead board", "by": "P. Marden"}
    stale = second.get(path)
    first.follow(first.send(first.get(path), path, **{"c.c5.insulation.L-N.": ">999", **typed}))
    second.follow(second.send(stale, path, **{"c.c5.insulation.L-E.": ">999", **typed}))
    told = second.send(stale, path, **{"c.c5.insulation.L-N.": "200", **typed})
    assert told.status_code == 422
    assert "A. One" in text_of(told)


def test_the_same_form_with_other_digits_is_not_taken_for_the_one_before(
    two: tuple[Site, Site, str], desk: Desk
) -> None:
    """The answer was lost, the digits were put right and sent again: neither is lost in silence."""
    first, _, visit = two
    joint = f"{visit}/bond/gas/joint"
    page = first.get(joint)
    first.follow(first.send(page, joint, shown="0.30"))
    told = first.send(page, joint, shown="0.03")
    assert told.status_code == 422
    assert "0.30" in text_of(told)
    first.follow(first.send(told, joint, shown="0.03"))
    entries = desk.read(visit.removeprefix("/v/")).entries
    shown = [e.body["shown"] for e in entries if e.body.get("read") == "joint"]
    assert shown == ["0.30", "0.03"]


def test_a_new_visit_sent_again_is_one_and_typed_anew_is_another(site: Site) -> None:
    page = site.get("/new")
    first, again, other = (site.send(page, "/new", place=x).headers["location"] for x in ("a", "a", "b"))
    assert first == again != other
    assert sorted(v.place for v in site.desk.visits()) == ["a", "b"]
    uid = str(forms_of(page.text)[0]["fields"]["uid"])  # type: ignore[index]
    assert site.get(f"/kept?uid={uid}").text == "yes"
    assert site.get(f"/kept?uid={'0' * 32}").text == "no"
    assert site.get("/kept?uid=&visit=nowhere").text == "no"


def test_every_form_that_writes_says_what_it_was_filled_in_on(walked: dict[str, httpx.Response]) -> None:
    seen = 0
    for path, page in walked.items():
        if not path.startswith("/v/") or "text/html" not in page.headers["content-type"]:
            continue
        for form in forms_of(page.text):
            if form["method"] == "post":
                fields = form["fields"]
                assert isinstance(fields, dict)
                assert re.fullmatch("[0-9a-f]{64}", str(fields["head"])), path
                assert re.fullmatch("[0-9a-f]{32}", str(fields["uid"])), path
                seen += 1
    assert seen > 100


def report_of(n: int) -> dict[str, str]:
    keys = ("number", "client_address", "occupier", "premises", "agreed_with", "sampling", "records", "alterations")
    return {keys[n % 8]: f"said by {n}"} if n < 8 else {"copies": f"said by {n}"}


# Where each of the forms goes, what client n types into it, and what must stand of the clients that were told "written".
FORMS: dict[str, tuple[str, Callable[[int], dict[str, str]]]] = {
    "inspected": ("/inspected", lambda n: {ITEMS[n]: "C3", f"{ITEMS[n]}.note": f"said by {n}"}),
    "one table, new": ("/add/report", report_of),
    "observations": ("/add/observation", lambda n: {"what": f"said by {n}", "where": "loft", "code": "C3"}),
    "parts": ("/add/part", lambda n: {"kind": "oil", "name": f"said by {n}"}),
    "circuits": ("/add/circuit", lambda n: {"id": f"x{n}", "name": f"said by {n}"}),
    "boards of one name": ("/add/board", lambda n: {"id": "db2", "where": f"said by {n}"}),
    "readings": ("/bond/gas/joint", lambda n: {"shown": "0.01", "note": f"said by {n}"}),
    "a row": ("/circuits/c5", lambda n: {"c.c5.insulation.L-N.": ">999", "note": f"said by {n}", "reason": "-", "by": "x"}),
    "along": ("/along/zs||", lambda n: {"c.c5.zs..": "LIM", "note": f"said by {n}"}),
    "leads": ("/leads", lambda n: {"check": "shorted", "shown": "0.00", "key": "digits"}),
    "looks": ("/steps", lambda n: {"do": "look", "look": "gas", "seen": f"said by {n}"}),
    "entry": ("/entry/", lambda n: {"do": "correct", "name": f"said by {n}", "why": "asked"}),
    "signatures": ("/paper/condition-report", lambda n: {"do": "sign", "name": f"said by {n}"}),
}  # fmt: skip


@pytest.mark.parametrize("name", FORMS)
def test_forty_at_once_on_every_form_lose_nothing(desk: Desk, name: str) -> None:
    """All forty from one page, at the same moment. Who is told *written* finds it, unless somebody who saw it changed it."""
    site = Site(desk)
    visit = desk.take_in(BOOK)
    where, typed = FORMS[name]
    if name == "entry":
        where += desk.read(visit).event_of("circuit", "c5")
    path = f"/v/{visit}{where}"
    page = site.get(path)
    wanted = [typed(n) for n in range(CLIENTS)]
    form = next(
        f["fields"]
        for f in forms_of(page.text)
        if f["action"] == path and {**wanted[0], **f["fields"]}.get("do") in (wanted[0].get("do"), "read")  # type: ignore[dict-item]
    )
    before = len(desk.read(visit).events)

    async def go() -> list[httpx.Response]:
        transport = httpx.ASGITransport(site.app, raise_app_exceptions=True)
        async with httpx.AsyncClient(transport=transport, base_url="http://here", timeout=600) as client:
            bodies = [{**form, "uid": f"{n:032x}", **w} for n, w in enumerate(wanted)]  # type: ignore[dict-item]
            return list(await asyncio.gather(*(client.post(path, data=b) for b in bodies)))

    answers = asyncio.run(go())
    assert {a.status_code for a in answers} <= {303, 422}
    read = desk.read(visit)
    new = list(read.events[before:])
    written = [n for n, a in enumerate(answers) if a.status_code == 303]
    assert written
    words = [str(e.body) for e in new]
    standing = str([e.body for e in read.entries if e.struck is None])
    for n in range(CLIENTS):
        said = f"said by {n}"
        if n in written and said in str(wanted[n]):
            assert any(re.search(rf"{said}\b", w) for w in words), n
            if name not in ("readings",):
                assert re.search(rf"{said}\b", standing), n
        elif n not in written:  # told, and the form is there as typed
            assert all(v in html.unescape(answers[n].text) for k, v in wanted[n].items() if k not in ("do", "key"))
    if name in ("inspected", "observations", "parts", "circuits"):
        assert len(written) == CLIENTS
    if name == "observations":
        numbers = [e.body["id"] for e in read.entries if e.kind == "observation"]
        assert sorted(numbers, key=int) == [str(n + 1) for n in range(CLIENTS)]
    if name in ("boards of one name", "entry", "signatures"):
        assert len(written) == 1


def test_writers_in_several_programs_lose_nothing(tmp_path: Path) -> None:
    """Each with a journal of its own on one file, so that they meet in the database and nowhere else."""
    file = tmp_path / "journal.sqlite"
    first = Desk(file)
    visit = first.take_in(BOOK)
    stale = {p: Site(first).get(f"/v/{visit}{p}") for p in ("/inspected", "/add/observation")}
    failed: list[str] = []

    def work(number: int) -> None:
        desk = Desk(file)
        site = Site(desk)
        for k in range(5):
            n = 5 * number + k
            for where, typed in (
                ("/inspected", {ITEMS[n]: "C3"}),
                ("/add/observation", {"what": f"said by {n}", "where": "loft", "code": "C3"}),
            ):
                path = f"/v/{visit}{where}"
                form = next(f["fields"] for f in forms_of(stale[where].text) if f["action"] == path)
                answer = site.post(path, {**form, "uid": f"{where[1:4]}{n:029x}", **typed})  # type: ignore[dict-item]
                if answer.status_code != 303:
                    failed.append(text_of(answer))
        desk.close()

    threads = [threading.Thread(target=work, args=(n,)) for n in range(6)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert failed == []
    read = first.read(visit)
    assert dict(read.tables["inspected"]) == dict.fromkeys(ITEMS[:30], "C3")
    assert sorted(int(o["id"]) for o in read.tables["observation"]) == list(range(1, 31))
    assert first.verify().whole
    first.close()


def test_the_journal_takes_nothing_that_rests_on_what_no_longer_stands(desk: Desk) -> None:
    visit = desk.take_in(BOOK)
    head = desk.read(visit).head
    first = Draft(visit, "step", {"look": "gas", "seen": "tight"}, id="look-0001")
    kept = desk.add_all([first], head=head)
    with pytest.raises(Moved):
        desk.add_all([Draft(visit, "step", {"look": "gas", "seen": "loose"})], head=head)
    assert desk.add_all([first], head=head)[0].hash == kept[0].hash  # sent again it is what was kept
    assert len(desk.read(visit).events) == kept[0].seq
