"""What is typed once and offered again: a board with its circuits as a template, a client with what belongs to them. Never a result."""

from __future__ import annotations

import json
import re

import pytest
from asked import Site, forms_of, text_of

from earthwright.web.views import fill

FIRST = {"place": "1 Test Row", "date": "2026-11-20", "kind": "periodic", "inspector": "J. Example", "temp_c": "15"}


def begun(site: Site, **typed: str) -> str:
    """Address of a new visit of the same inspector."""
    return site.send(site.get("/new"), "/new", **{**FIRST, **typed}).headers["location"].rstrip("/")


def chosen(site: Site, path: str, name: str, value: str) -> str:
    """Press the button of that name and value on a page; the address one lands on."""
    page = site.get(path)
    action = path.rpartition("/")[0].removesuffix("/add") + "/templates"
    button = re.search(
        rf'<form\b[^>]*action="{action}"(?:(?!</form>).)*name="{name}" value="({value})"', page.text, re.S
    )
    assert button, text_of(page)
    form = next(f["fields"] for f in forms_of(page.text) if f["action"] == action)
    return str(site.post(action, {**form, name: button[1]}).headers["location"])


def test_a_board_is_saved_by_one_tap_and_begun_by_one_tap_without_anything_of_the_place(site: Site, demo: str) -> None:
    here = site.desk.read("demo-visit").book.visit
    assert here is not None
    assert text_of(site.get(chosen(site, f"{demo}/circuits", "save", "db1"))).count("Saved as a template") == 1
    new = begun(site, inspector=here.inspector)
    assert chosen(site, f"{new}/add/board", "use", '[^"]+') == f"{new}/circuits"
    read = site.desk.read(new.removeprefix("/v/"))
    made = read.book.visit
    assert made is not None
    assert made.events == ()
    mine = [c for c in here.site.circuits if c.board == "db1"]
    built = [(c.id, c.name, c.use, c.device, c.line_mm2, c.cpc_mm2, c.wiring) for c in mine]
    assert len(built) > 3
    assert [(c.id, c.name, c.use, c.device, c.line_mm2, c.cpc_mm2, c.wiring) for c in made.site.circuits] == built
    assert any(c.length_m or c.points for c in mine)
    assert not any(c.length_m or c.points or c.location or c.note for c in made.site.circuits)
    assert not any(f.severity.value == "error" for f in read.book.findings)
    # A second board of the same kind in the same house gets names of its own.
    assert chosen(site, f"{new}/add/board", "use", '[^"]+') == f"{new}/circuits"
    made = site.desk.read(new.removeprefix("/v/")).book.visit
    assert made is not None
    assert len({b.id for b in made.site.boards}) == 2
    assert [c.id for c in made.site.circuits][len(built) :] == [f"{made.site.boards[1].id}-{c.id}" for c in mine]


def test_a_template_is_the_inspectors_own_is_renewed_and_goes_when_it_is_removed_or_erased(
    site: Site, demo: str
) -> None:
    here = site.desk.read("demo-visit").book.visit
    assert here is not None
    for _ in range(2):  # saved again it takes the place of the first
        chosen(site, f"{demo}/circuits", "save", "db1")
    new, others = begun(site, inspector=here.inspector), begun(site, inspector="A. N. Other")
    assert site.get(f"{new}/add/board").text.count('name="use"') == 1
    assert site.get(f"{others}/add/board").text.count('name="use"') == 0
    chosen(site, f"{new}/add/board", "drop", '[^"]+')
    chosen(site, f"{new}/add/board", "drop", '[^"]+')
    assert site.get(f"{new}/add/board").text.count('name="use"') == 0
    chosen(site, f"{demo}/circuits", "save", "db1")
    assert site.get(f"{new}/add/board").text.count('name="use"') == 1
    site.desk.erase("demo-visit", "asked to", "A. Officer")
    assert site.get(f"{new}/add/board").text.count('name="use"') == 0


def test_a_client_is_offered_again_with_what_belongs_to_them_and_nothing_that_was_found(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(fill, "AT_ONCE", 99)  # all of the form on one page
    first = begun(site, client="Harrow Homes")
    path = f"{first}/add/report"
    typed = {
        "client_address": "2 Test Row",
        "landlord": "social",
        "number": "R1",
        "general": "worn",
        "occupier": "A. Tenant",
    }
    assert site.send(site.get(path), path, **typed).status_code == 303
    assert 'data-put="Harrow Homes"' in site.get("/new").text
    # Nobody is named yet: one tap on the form of what is missing names the client, and fills the address beside it.
    nameless = begun(site, place="9 Test Row", client="")
    chip = re.search(r'data-put="Harrow Homes" data-also="([^"]*)"', site.get(f"{nameless}/fill/condition-report").text)
    assert chip
    assert list(json.loads(chip[1].replace("&#34;", '"')).values()) == ["2 Test Row"]
    # Named: the address is proposed on both forms, to be seen before it is saved.
    second = begun(site, place="8 Test Row", client="Harrow Homes")
    fields = {k: v for f in forms_of(site.get(f"{second}/add/report").text) for k, v in f["fields"].items()}  # type: ignore[attr-defined]
    assert (fields["client_address"], fields["landlord"]) == ("2 Test Row", "social")
    assert (fields["number"], fields["general"], fields["occupier"]) == ("", "", "")
    asked = {
        k.rpartition(":")[2]: v
        for f in forms_of(site.get(f"{second}/fill/condition-report").text)
        for k, v in f["fields"].items()
    }  # type: ignore[attr-defined]
    assert asked["client_address"] == "2 Test Row"
    assert site.desk.read(second.removeprefix("/v/")).tables.get("report") is None
    # Another inspector is offered nobody; what was erased is offered to nobody.
    other = begun(site, inspector="A. N. Other", client="Harrow Homes")
    assert "2 Test Row" not in site.get(f"{other}/add/report").text
    for visit in (first, second, nameless):
        site.desk.erase(visit.removeprefix("/v/"), "asked to", "A. Officer")
    assert "Harrow Homes" not in site.get("/new").text.replace(f'value="{other}"', "")


def test_what_belongs_to_one_client_does_not_follow_the_house_to_another(site: Site) -> None:
    first = begun(site, client="Harrow Homes")
    path = f"{first}/add/report"
    site.send(site.get(path), path, client_address="2 Test Row", firm_address="3 Test Row", copies="A. Agent")
    for client, address in (("Harrow Homes", "2 Test Row"), ("B. Buyer", None)):
        after = begun(site, client=client, after=first.removeprefix("/v/"))
        report = site.desk.read(after.removeprefix("/v/")).tables["report"]
        assert (report.get("client_address"), report["firm_address"]) == (address, "3 Test Row")
