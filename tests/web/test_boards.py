"""Boards, main switches, separate residual current devices and codes through the forms of the pages."""

from __future__ import annotations

import re

from asked import Site, forms_of, text_of

from earthwright.site.installation import Switch
from earthwright.site.visit import Visit


def entry_of(site: Site, kind: str, name: str = "") -> str:
    entries = site.desk.read("demo-visit").entries
    return next(e.id for e in entries if e.kind == kind and (not name or e.body.get("id") == name))


def installation(site: Site) -> Visit:
    a = site.desk.assess("demo-visit")
    assert a is not None
    return a.visit


def correct(site: Site, demo: str, entry: str, **typed: str) -> str:
    path = f"{demo}/entry/{entry}"
    answer = site.send(site.get(path), path, do="correct", why="looked again", **typed)
    return "" if answer.status_code == 303 else text_of(answer)


def test_a_board_is_entered_with_its_main_switch_and_its_own_device(site: Site, demo: str) -> None:
    said = correct(
        site,
        demo,
        entry_of(site, "board"),
        **{
            "live": "L+N",
            "spd_type": "2",
            "switch.kind": "residual current device",
            "switch.poles": "2",
            "switch.rated_v": "230",
            "rcd.rcd_type": "A",
            "rcd.rcd_ma": "100",
            "rcd.rcd_delay": "S",
            "rcd.standard": "BS EN 61008",
            "rcd.rating_a": "80",
        },
    )
    assert said == ""
    b = installation(site).site.boards[0]
    assert b.switch == Switch("residual current device", poles=2, rated_v=230)
    assert b.rcd is not None
    assert (b.rcd.standard, b.rcd.rating_a, b.rcd.rcd_delay) == ("BS EN 61008", 80, "S")
    assert (b.live, b.spd_type, b.main_switch) == ("L+N", "2", "100 A, two-pole")
    # Sent back unchanged it stays as it is, and the journal's visit book reads as the same board.
    assert correct(site, demo, entry_of(site, "board")) == ""
    assert installation(site).site.boards[0] == b


def test_every_fault_of_a_table_inside_a_board_stands_at_its_own_field(site: Site, demo: str) -> None:
    path = f"{demo}/entry/{entry_of(site, 'board')}"
    typed = {
        "switch.kind": "residual current device",
        "switch.rating_a": "-5",
        "switch.rated_v": "true",
        "rcd.rating_a": "inf",
        "rcd.rcd_delay": "slow",
        "u_v": "1e300",
        "why": "looked again",
    }
    answer = site.send(site.get(path), path, do="correct", **typed)
    assert answer.status_code < 500
    assert answer.status_code != 303
    wrong = set(re.findall(r'id="f-([\w.]+)-wrong"', answer.text))
    assert wrong == {"switch.rating_a", "switch.rated_v", "rcd.rating_a", "rcd.rcd_delay", "rcd.rcd_type", "u_v"}
    assert re.search(r"<details open>", answer.text)
    fields = next(f for f in forms_of(answer.text) if f["action"] == path)["fields"]
    assert {k: fields[k] for k in typed} == typed  # type: ignore[index]
    said = text_of(answer)
    assert re.search(r"Main switch, rated current ?: This number is not possible\.", said)
    assert re.search(r"RCD of the whole board, delay ?: This is not a delay\.", said)
    assert installation(site).site.boards[0].switch is None


def test_a_separate_device_and_codes_are_entered_with_a_circuit(site: Site, demo: str) -> None:
    entry = entry_of(site, "circuit", "1")
    said = correct(
        site,
        demo,
        entry,
        rcd_standard="BS EN 61008",
        rcd_rating_a="63",
        rcd_delay="150 ms",
        wiring="F",
        reference="100",
    )
    assert said == ""
    c = next(c for c in installation(site).site.circuits if c.id == "1")
    assert (c.device.rcd_standard, c.device.rcd_rating_a, c.device.rcd_delay) == ("BS EN 61008", 63, "150 ms")
    assert (c.wiring, c.reference) == ("F", "100")
    page = site.get(f"{demo}/entry/{entry}").text
    assert '<option value="F" selected>F: thermoplastic cable with steel-wire armour</option>' in page
    assert '<option value="100" selected>100: on a ceiling, below heat insulation up to 100 mm thick</option>' in page


def test_bad_codes_sent_past_the_list_are_refused(site: Site, demo: str) -> None:
    entry = entry_of(site, "circuit", "1")
    for key, value in (("wiring", "Z"), ("reference", "H"), ("rcd_rating_a", "-1"), ("rcd_delay", "true")):
        path = f"{demo}/entry/{entry}"
        answer = site.send(site.get(path), path, do="correct", why="x", **{key: value})
        assert f'id="f-{key}-wrong"' in answer.text


def test_words_of_an_earlier_book_are_not_lost_by_a_list_of_codes(site: Site, demo: str) -> None:
    path = f"{demo}/add/origin"
    page = site.get(path)
    form = next(f for f in forms_of(page.text) if f["action"] == path)
    answer = site.post(path, {**form["fields"], "live": "1-phase, 2-wire", "current": "AC"})  # type: ignore[dict-item]
    assert answer.status_code == 303
    entry = entry_of(site, "origin")
    assert '<option value="1-phase, 2-wire" selected>1-phase, 2-wire</option>' in site.get(f"{demo}/entry/{entry}").text
    assert correct(site, demo, entry, demand_a="60") == ""
    origin = installation(site).paperwork.origin
    assert (origin.live, origin.demand_a) == ("1-phase, 2-wire", 60)


def test_the_main_switch_of_the_origin_is_entered_and_shown_in_words(site: Site, demo: str) -> None:
    path = f"{demo}/add/origin"
    typed = {
        "live": "L+N",
        "switch_kind": "circuit breaker",
        "switch_rcd_type": "A",
        "switch_rcd_ma": "300",
        "switch_rcd_delay": "S",
    }
    assert site.send(site.get(path), path, **typed).status_code == 303
    origin = installation(site).paperwork.origin
    assert (origin.switch_kind, origin.switch_rcd_type, origin.switch_rcd_ma) == ("circuit breaker", "A", 300)
    said = text_of(site.get(f"{demo}/details"))
    assert "L+N: one line and neutral, 2 conductors" in said
    assert "Main switch, RCD rated residual current 300 mA" in said


def test_what_changed_on_a_board_is_told_field_by_field(site: Site, demo: str) -> None:
    from earthwright.desk.compare import compare

    before = site.desk.read("demo-visit")
    assert correct(site, demo, entry_of(site, "board"), **{"switch.poles": "2", "switch.rating_a": "100"}) == ""
    changes = compare(before, site.desk.read("demo-visit")).changes
    assert [(c.name, c.key, c.old, c.new) for c in changes] == [
        ("db1", "switch.poles", "", "2"),
        ("db1", "switch.rating_a", "", "100"),
    ]
