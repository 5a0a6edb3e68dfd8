"""A repair by one tap: on the page of a bond and of a circuit, without script."""

from __future__ import annotations

from asked import Site, text_of
from books import bonded

from earthwright.desk import Desk

BOOK = (
    """
[visit]
place = "3 Test Row"
date = 2026-11-20
kind = "periodic"
inspector = "J. Example"
[supply]
system = "TN-C-S"
pme = true
"""
    + bonded("gas", 11, 1, 0.2)
    + """[[board]]
id = "db1"
[[circuit]]
id = "c1"
board = "db1"
use = "sockets"
line_mm2 = 2.5
cpc_mm2 = 1.5
length_m = 25
length_tol_m = 1
[[step]]
check = "shorted"
shown = 0.00
[[step]]
off = "gas"
[[step]]
read = "conductor"
bond = "gas"
shown = 0.43
[[step]]
on = "gas"
[[step]]
read = "r1r2"
of = "c1"
shown = "over-range"
[[step]]
check = "shorted"
shown = 0.00
"""
)


def test_one_tap_on_a_disproved_bond_parts_found_from_left(site: Site, desk: Desk) -> None:
    base = f"/v/{desk.take_in(BOOK)}"
    page = site.get(f"{base}/bond/gas")
    assert "disproved: impaired" in text_of(page)
    assert "Joint remade" in page.text
    answer = site.send(page, f"{base}/steps", do="repair", repair="gas", remade="Joint remade", back="bond/gas")
    assert answer.headers["location"] == f"{base}/bond/gas"
    said = text_of(site.get(f"{base}/bond/gas"))
    assert "Found: conductor alone, MET end off: 0.43 Ω" in said
    assert "Put right (Joint remade)" in said
    assert "Left: not shown, since nothing was measured on it after that." in said
    assert "Conductor, one end off, found" in said  # the history tells which reading is which
    assert "Put right, gas: Joint remade" in text_of(site.get(f"{base}/steps"))


def test_one_tap_on_a_circuit_whose_conductor_is_disproved(site: Site, desk: Desk) -> None:
    base = f"/v/{desk.take_in(BOOK)}"
    page = site.get(f"{base}/circuits/c1")
    assert "Protective conductor remade" in page.text
    answer = site.send(
        page, f"{base}/steps", do="repair", repair="c1:cpc", remade="Protective conductor remade", back="circuits/c1"
    )
    assert answer.headers["location"] == f"{base}/circuits/c1"
    said = text_of(site.get(f"{base}/circuits/c1"))
    assert "Found: R1+R2 over-range: fails" in said
    assert "not shown, since not read again: R1+R2" in said
    a = desk.assess(base.removeprefix("/v/"))
    assert a is not None
    assert a.found[0].of == "c1"


def test_a_repair_without_its_words_comes_back_with_what_is_missing(site: Site, desk: Desk) -> None:
    base = f"/v/{desk.take_in(BOOK)}"
    page = site.get(f"{base}/steps")
    answer = site.send(page, f"{base}/steps", do="repair", repair="gas", remade="")
    assert answer.status_code == 422
    assert 'value="gas"' in answer.text


def test_one_tap_at_the_origin_and_readings_after_it_end_danger_at_the_supply(site: Site, desk: Desk) -> None:
    volts = '[[step]]\nvolts = "MET-earth"\nshown = 141\n'
    base = f"/v/{desk.take_in(BOOK + volts)}"
    page = site.get(f"{base}/circuits/origin")
    assert "Connection remade" in page.text
    answer = site.send(
        page, f"{base}/steps", do="repair", repair="origin", remade="Connection remade", back="circuits/origin"
    )
    assert answer.headers["location"] == f"{base}/circuits/origin"
    before = desk.assess(base.removeprefix("/v/"))
    assert before is not None
    assert before.alarms  # nothing was measured since
    page = site.get(f"{base}/steps")
    site.send(page, f"{base}/steps", do="volts", volts="MET-earth", shown="1")
    after = desk.assess(base.removeprefix("/v/"))
    assert after is not None
    assert after.alarms == ()
