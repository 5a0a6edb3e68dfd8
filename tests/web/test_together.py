"""Two people on one visit, undo, corrections, and a form that is sent twice."""

from __future__ import annotations

from asked import NOON, Site, text_of

from earthwright.desk import Desk
from earthwright.web.settings import Settings
from earthwright.web.words import say
from earthwright.web.work import open_for

from .test_guard import guarded

JOINT = "/v/demo-visit/bond/gas/joint"


def two(desk: Desk) -> tuple[Site, Site]:
    first, second = guarded(desk, "A. One"), guarded(desk, "B. Two")
    first.post("/demo")
    return first, second


def test_what_one_writes_the_other_sees(desk: Desk) -> None:
    first, second = two(desk)
    page = second.get("/v/demo-visit/")
    head = page.text.split("since?head=")[1].split('"')[0]
    assert second.get(f"/v/demo-visit/since?head={head}").status_code == 204
    first.send(first.get(JOINT), JOINT, shown="0.00")
    told = second.get(f"/v/demo-visit/since?head={head}")
    assert told.status_code == 200
    assert say("strip.others", count=1) in text_of(told)
    assert "0.00 Ω" in text_of(second.get("/v/demo-visit/bond/gas"))


def test_two_entries_about_one_bond_are_shown_and_both_may_stand(desk: Desk) -> None:
    first, second = two(desk)
    page = second.get(JOINT)
    first.send(first.get(JOINT), JOINT, shown="0.01")
    answer = second.send(page, JOINT, shown="0.44")
    assert answer.status_code == 422
    assert "A. One" in text_of(answer)
    assert 'value="0.44"' in answer.text  # what was typed is still there
    again = second.send(answer, JOINT, shown="0.44")
    assert again.status_code == 303
    shown = [
        e.body["shown"]
        for e in desk.read("demo-visit").entries
        if e.body.get("read") == "joint" and e.body.get("bond") == "gas"
    ]
    assert shown == ["0.01", "0.44"]


def test_entries_about_different_things_do_not_meet(desk: Desk) -> None:
    first, second = two(desk)
    page = second.get(JOINT)
    steel = "/v/demo-visit/bond/steel/joint"
    first.send(first.get(steel), steel, shown="0.41")
    assert second.send(page, JOINT, shown="0.00").status_code == 303


def test_a_form_sent_twice_writes_once(site: Site, demo: str) -> None:
    page = site.get(JOINT)
    before = site.events("demo-visit")
    for _ in range(3):
        assert site.send(page, JOINT, shown="0.00").status_code == 303
    assert site.events("demo-visit") == before + 1


def test_a_correction_needs_its_reason_and_leaves_the_old_value_to_be_seen(site: Site, demo: str) -> None:
    site.send(site.get(JOINT), JOINT, shown="0.06")
    entry = site.desk.read("demo-visit").entries[-1]
    path = f"{demo}/entry/{entry.id}"
    refused = site.send(site.get(path), path, do="correct", shown="0.01", why="")
    assert refused.status_code == 422
    assert say("wrong.why") in text_of(refused)
    assert site.send(site.get(path), path, do="correct", shown="0.01", why="misread").status_code == 303
    card = text_of(site.get(f"{demo}/bond/gas"))
    assert "0.06" in card
    assert "misread" in card
    assert "0.01 Ω" in card
    history = text_of(site.get(path))
    assert "0.06" in history


def test_two_who_correct_one_entry_are_told(desk: Desk) -> None:
    first, second = two(desk)
    first.send(first.get(JOINT), JOINT, shown="0.06")
    path = f"/v/demo-visit/entry/{desk.read('demo-visit').entries[-1].id}"
    page = second.get(path)
    first.send(first.get(path), path, do="correct", shown="0.01", why="misread")
    answer = second.send(page, path, do="correct", shown="0.02", why="mistyped")
    assert answer.status_code == 422
    assert "A. One" in text_of(answer)
    assert 'value="0.02"' in answer.text


def test_a_strike_takes_a_reading_out_and_undo_brings_it_back(site: Site, demo: str) -> None:
    site.send(site.get(JOINT), JOINT, shown="0.06")
    entry = site.desk.read("demo-visit").entries[-1]
    path = f"{demo}/entry/{entry.id}"
    assert site.send(site.get(path), path, do="strike", why="wrong bond").status_code == 303
    assert "wrong bond" in text_of(site.get(f"{demo}/bond/gas"))
    steps = f"{demo}/steps"
    assert site.send(site.get(steps), steps, do="undo").status_code == 303
    assert site.desk.read("demo-visit").entry(entry.id).struck is None


def test_undo_takes_back_only_ones_own_last_entry(desk: Desk) -> None:
    first, second = two(desk)
    first.send(first.get(JOINT), JOINT, shown="0.01")
    mine = desk.read("demo-visit").entries[-1].id
    steel = "/v/demo-visit/bond/steel/joint"
    second.send(second.get(steel), steel, shown="0.41")
    steps = "/v/demo-visit/steps"
    first.send(first.get(steps), steps, do="undo")
    read = desk.read("demo-visit")
    assert read.entry(mine).struck is not None
    assert read.entries[-1].struck is None


def test_a_signature_is_not_put_under_what_was_not_seen(desk: Desk) -> None:
    first, second = two(desk)
    path = "/v/demo-visit/paper/condition-report"
    page = second.get(path)
    first.send(first.get(JOINT), JOINT, shown="0.01")
    answer = second.send(page, path, do="sign", name="B. Two")
    assert answer.status_code == 422
    assert say("paper.moved") in text_of(answer)


def test_blind_entry_shows_the_band_only_after_the_reading(desk: Desk) -> None:
    blind = Site(desk, Settings(blind=True, now=lambda: NOON))
    blind.post("/demo")
    before = text_of(blind.get(JOINT))
    assert say("test.blind") in before
    assert "If the bond is sound:" not in before
    blind.send(blind.get(JOINT), JOINT, shown="0.00")
    assert "If the bond is sound:" in text_of(blind.get(JOINT))


def test_what_is_judged_for_one_page_is_what_is_judged_for_all(site: Site, demo: str) -> None:
    """A page that shows one thing judges only that; the outcome is the same as judging the whole visit."""
    for where, typed in (
        ("circuits/1", {"c.1.zs..": "0.44"}),
        ("circuits/3", {"c.3.r1r2..": "0.90"}),
        ("bond/gas/joint", {"shown": "0.00"}),
    ):
        site.send(site.get(f"{demo}/{where}"), f"{demo}/{where}", **typed)
    whole = site.desk.assess("demo-visit")
    assert whole is not None
    for board in whole.boards:
        for circuit in board.circuits:
            quick = open_for(site.desk, "demo-visit", circuit.circuit.id).a
            assert quick is not None
            assert [c for b in quick.boards for c in b.circuits if c.circuit.id == circuit.circuit.id] == [circuit]
    for bond in whole.bonds:
        quick = open_for(site.desk, "demo-visit", bond.bond.id).a
        assert quick is not None
        assert quick.bonds == (bond,)
    quick = open_for(site.desk, "demo-visit", "origin").a
    assert quick is not None
    assert quick.origin == whole.origin
    assert quick.alarms == whole.alarms
    assert quick.visit.events == whole.visit.events


def test_everything_that_is_off_can_be_put_back_at_once(site: Site, demo: str) -> None:
    steps = f"{demo}/steps"
    refused = site.send(site.get(steps), steps, do="on", on="all")
    assert refused.status_code == 422
    assert "Nothing of 'all' is off" in text_of(refused)
    conductor = f"{demo}/bond/gas/conductor"
    assert site.send(site.get(conductor), conductor, do="off").status_code == 303
    assert "gas" in text_of(site.get(steps))
    assert site.send(site.get(steps), steps, do="on", on="all").status_code == 303
    a = site.desk.assess("demo-visit")
    assert a is not None
    assert a.still_off == ()
