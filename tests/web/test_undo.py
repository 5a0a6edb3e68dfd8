"""Undo: it says what it takes back, offers to bring it back, and never makes the record show less danger than there is."""

from __future__ import annotations

import httpx
import pytest
from asked import Site, forms_of, text_of

from earthwright.desk import Desk
from earthwright.desk.undo import SAID
from earthwright.records import NotKept
from earthwright.site.ledger import missing_stages
from earthwright.web.words import say

V = "demo-visit"
STEPS = f"/v/{V}/steps"


def off(site: Site) -> list[str]:
    a = site.desk.assess(V)
    assert a is not None
    return [e.what for e in a.still_off]


def take_off(site: Site, demo: str) -> None:
    conductor = f"{demo}/bond/gas/conductor"
    assert site.send(site.get(conductor), conductor, do="off").status_code == 303
    assert off(site) == ["gas"]


def undo(site: Site, do: str = "undo") -> httpx.Response:
    return site.send(site.get(STEPS), STEPS, do=do)


def offered(site: Site) -> set[str]:
    return {str(f["fields"].get("do")) for f in forms_of(site.get(STEPS).text)}  # type: ignore[attr-defined]


def test_two_taps_on_undo_leave_a_disconnection_standing(site: Site, demo: str) -> None:
    take_off(site, demo)
    conductor = f"{demo}/bond/gas/conductor"
    site.follow(site.send(site.get(conductor), conductor, shown="0.01"))
    stale = site.get(STEPS)
    assert site.send(stale, STEPS, do="undo").status_code == 303
    assert "undo" not in offered(site)
    said = text_of(site.get(STEPS))
    assert SAID["off"] in said
    assert "Still disconnected: gas" in said
    second = next(f["fields"] for f in forms_of(stale.text) if f["fields"].get("do") == "undo")  # type: ignore[attr-defined]
    told = site.post(STEPS, {**second, "uid": "b" * 32})  # type: ignore[dict-item]
    assert told.status_code == 422
    assert SAID["off"] in text_of(told)
    assert off(site) == ["gas"]


def test_a_disconnection_ends_by_putting_back_or_by_striking_it_with_a_reason(site: Site, demo: str) -> None:
    take_off(site, demo)
    entry = site.desk.read(V).entries[-1].id
    path = f"{demo}/entry/{entry}"
    assert site.send(site.get(path), path, do="strike", why="").status_code == 422
    assert off(site) == ["gas"]
    site.follow(site.send(site.get(path), path, do="strike", why="tapped by mistake, it never came off"))
    assert off(site) == []
    # Taking that strike back says that it is off: the record shows more danger, so undo may.
    site.follow(undo(site))
    assert off(site) == ["gas"]
    assert "redo" not in offered(site)
    site.follow(site.send(site.get(STEPS), STEPS, do="on", on="gas"))
    assert off(site) == []
    site.follow(undo(site))  # the tap on *back* was the mistake
    assert off(site) == ["gas"]
    assert offered(site) & {"undo", "redo"} == set()


def test_a_restored_supply_and_an_alarm_are_not_undone_either(site: Site, demo: str) -> None:
    site.follow(site.send(site.get(STEPS), STEPS, do="isolated", isolated="restored"))
    assert "undo" not in offered(site)
    assert SAID["restored"] in text_of(site.get(STEPS))
    a = site.desk.assess(V)
    assert a is not None
    assert len(missing_stages(a.visit.events)) == 4
    typed = {"do": "volts", "volts": "MET-earth", "shown": "60", "load": "all on"}
    site.follow(site.send(site.get(STEPS), STEPS, **typed))
    a = site.desk.assess(V)
    assert a is not None
    assert a.alarms
    assert SAID["alarm"] in text_of(site.get(STEPS))
    assert "undo" not in offered(site)


def test_undo_says_what_it_takes_back_and_it_can_be_brought_back(site: Site, demo: str) -> None:
    joint = f"{demo}/bond/gas/joint"
    for digits in ("0.01", "0.02"):
        site.follow(site.send(site.get(joint), joint, shown=digits))

    def standing() -> list[str]:
        steps = site.desk.read(V).entries
        return [
            e.body["shown"]
            for e in steps
            if e.body.get("read") == "joint" and e.body.get("bond") == "gas" and e.struck is None
        ]

    assert "0.02" in text_of(site.get(STEPS)).split(say("steps.undo"))[0]
    page = site.follow(undo(site))
    assert f"{say('steps.undone')} " in text_of(page)
    assert "0.02" in text_of(page).split(say("steps.redo"))[0]
    site.follow(undo(site))
    assert standing() == []
    site.follow(undo(site, "redo"))
    assert standing() == ["0.01"]
    site.follow(undo(site, "redo"))
    assert standing() == ["0.01", "0.02"]
    assert "redo" not in offered(site)
    site.follow(undo(site))
    site.follow(site.send(site.get(joint), joint, shown="0.03"))
    assert "redo" not in offered(site)  # something new was written since
    assert standing() == ["0.01", "0.03"]


def test_what_is_undone_is_what_the_page_named(site: Site, demo: str) -> None:
    joint = f"{demo}/bond/gas/joint"
    site.follow(site.send(site.get(joint), joint, shown="0.01"))
    stale = site.get(STEPS)
    site.follow(site.send(site.get(joint), joint, shown="0.02"))
    told = site.send(stale, STEPS, do="undo")
    assert told.status_code == 422
    assert say("steps.undo_moved") in text_of(told)
    for _ in range(2):  # the same tap twice is one undo
        page = told
        assert site.send(page, STEPS, do="undo").status_code == 303
    kinds = [e.kind for e in site.desk.read(V).events]
    assert kinds.count("strike") == 1


def test_the_journal_itself_undoes_no_disconnection(desk: Desk) -> None:
    visit = desk.start("x")
    desk.add(visit, "step", {"off": "earthing"})
    with pytest.raises(NotKept, match="something is off"):
        desk.undo(visit)


def test_a_correction_of_many_fields_is_named_by_those_it_changed(site: Site, demo: str) -> None:
    path = f"{demo}/inspected"
    site.follow(site.send(site.get(path), path, **{"intake-tails": "acceptable"}))
    site.follow(site.send(site.get(path), path, **{"intake-tails": "C2"}))
    assert "intake-tails: acceptable → C2" in text_of(site.get(STEPS))


@pytest.mark.parametrize(
    ("where", "typed"), [("/bond/water/together", {"shown": "0.12"}), ("/circuits/1", {"c.1.zs..": "0.61"})]
)
def test_what_was_taken_back_does_not_look_saved_when_its_form_is_sent_once_more(
    site: Site, demo: str, where: str, typed: dict[str, str]
) -> None:
    """Save, undo, the browser's Back, save: it says that it was taken back, and is entered by the next tap."""
    page = site.get(demo + where)
    assert site.send(page, demo + where, **typed).status_code == 303
    assert undo(site).status_code == 303
    again = site.send(page, demo + where, **typed)
    assert again.status_code == 422
    assert say("wrong.taken_back") in text_of(again)
    entered = len(site.desk.read(V).entries)
    assert site.send(again, demo + where, **typed).status_code == 303
    assert len(site.desk.read(V).entries) > entered
