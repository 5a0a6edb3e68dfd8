"""Ids as electricians write them: their pages open, take entries and lead back, whatever stands in the id."""

from __future__ import annotations

import html
import re
from urllib.parse import urljoin

import pytest
from asked import Site, text_of
from books import ISOLATED
from hypothesis import given
from hypothesis import strategies as st

from earthwright.desk import Desk
from earthwright.web.address import IdConvertor, part_of_address

IDS = ("1/L1", "DB1/A", ".", "..", "50% ~2F#?&lt", "a\\b;c+d é")
BOOK = (
    """
[visit]
place = "3 Coldwell Steps, Netherby"
date = 2026-11-20
kind = "periodic"
inspector = "P. Marden"
[supply]
system = "TN-S"
[[part]]
id = {part}
kind = "gas"
[[bond]]
part = {part}
csa_mm2 = 10
length_m = 9
[[board]]
id = {board}
[[circuit]]
id = {circuit}
board = {board}
name = "Lights"
device = "BS EN 60898 B6"
line_mm2 = 1.5
cpc_mm2 = 1.0
length_m = 11
[[electrode]]
id = {rod}
kind = "rod"
"""
    + ISOLATED
)


def book(name: str) -> str:
    def quoted(text: str) -> str:
        return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'

    parts = {k: quoted(f"{name}{more}") for k, more in (("part", ""), ("board", "b"), ("rod", "r"))}
    return BOOK.format(circuit=quoted(name + "c" if name not in (".", "..") else name * 2), **parts)


def as_a_browser(address: str) -> str:
    """What a browser makes of an address: it takes dots out, coded ones as well, and a backslash is a slash to it."""
    path = re.sub(r"(?i)%2e", ".", address.split("#")[0]).replace("\\", "/")
    return urljoin("http://here/", path).removeprefix("http://here")


def walk(site: Site, start: str) -> dict[str, str]:
    seen: dict[str, str] = {}
    todo = [start]
    while todo:
        path = todo.pop()
        if path in seen:
            continue
        answer = site.get(path)
        assert answer.status_code == 200, path
        seen[path] = answer.text if "text/html" in answer.headers["content-type"] else ""
        for link in re.findall(r'(?:href|src)="([^"#]*)', seen[path]):
            target = as_a_browser(html.unescape(link))
            if target.startswith(start) and ".p" not in target:
                todo.append(target)
    return seen


@pytest.mark.parametrize("name", IDS)
def test_everything_of_that_name_has_its_page_and_every_link_leads_somewhere(desk: Desk, name: str) -> None:
    site = Site(desk)
    visit = desk.take_in(book(name))
    seen = walk(site, f"/v/{visit}/")
    a = desk.assess(visit)
    assert a is not None
    assert not a.not_judged
    things = [*(p.id for p in a.visit.site.parts), *(b.id for b in a.visit.site.boards)]
    things += [*(c.id for c in a.visit.site.circuits), *(e.id for e in a.visit.site.electrodes)]
    pages = [f"/v/{visit}/circuits/{part_of_address(x)}" for x in things]
    pages += [f"/v/{visit}/bond/{part_of_address(b.bond.id)}" for b in a.bonds]
    pages += [f"{pages[-1]}/{test}" for test in ("conductor", "path", "together", "joint")]
    assert set(pages) <= set(seen)


@pytest.mark.parametrize("name", IDS)
def test_what_is_typed_there_is_kept(desk: Desk, name: str) -> None:
    site = Site(desk)
    visit = desk.take_in(book(name))
    a = desk.assess(visit)
    assert a is not None
    circuit, bond = a.visit.site.circuits[0].id, a.bonds[0].bond.id
    row = f"/v/{visit}/circuits/{part_of_address(circuit)}"
    typed = {f"c.{circuit}.insulation.L-N.": ">999", "note": "looked"}
    assert ">999" in text_of(site.follow(site.send(site.get(row), row, **typed)))
    joint = f"/v/{visit}/bond/{part_of_address(bond)}/joint"
    assert "0.01" in text_of(site.follow(site.send(site.get(joint), joint, shown="0.01")))
    off = f"/v/{visit}/bond/{part_of_address(bond)}"
    steps = f"/v/{visit}/steps"
    entry = f"/v/{visit}/entry/{desk.read(visit).event_of('bond', bond)}"
    assert bond in text_of(site.follow(site.send(site.get(entry), entry, do="correct", length_m="10", why="measured")))
    sent = site.post(steps, {"do": "look", "look": bond, "seen": "tight", "back": off.removeprefix(f"/v/{visit}/")})
    assert site.follow(sent).url.path


def test_a_part_of_such_a_name_is_added_and_bonded_by_the_forms(site: Site, demo: str) -> None:
    board = f"{demo}/add/board"
    assert "DB1/A" in text_of(site.follow(site.send(site.get(board), board, id="DB1/A", where="loft")))
    circuit = f"{demo}/add/circuit"
    sent = site.send(site.get(circuit), circuit, id="..", board="DB1/A", device="BS EN 60898 B6", line_mm2="1.5")
    assert ".." in text_of(site.follow(sent))
    assert site.get(f"{demo}/circuits/~2E~2E").status_code == 200


@given(st.text(min_size=1, max_size=12))
def test_an_id_comes_back_from_its_address_and_a_browser_leaves_it_alone(id_: str) -> None:
    from urllib.parse import unquote

    part = part_of_address(id_)
    assert "/" not in part
    assert unquote(part) not in (".", "..")
    assert IdConvertor().convert(unquote(part)) == id_
