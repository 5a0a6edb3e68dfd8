"""What a form keeps can be read: whatever is typed, it is refused at a field or it stands in the visit without a fault."""

from __future__ import annotations

import pytest
from asked import Site, text_of
from wide import pairs

from earthwright.base.errors import Severity
from earthwright.web.specs import SPECS

IDS = [
    "x",
    "a:b",
    "a: b",
    ": ",
    "a : b: c",
    "a  b",
    "a\nb",
    "a\tb",
    "LIM",
    "1",
    "a@b",
    "a,b",
    "a\u00a0b",
    "a\u2028b",
    "ﬁ",
    "x" * 300,
]
JUNK = ["LIM", "", "-1", "a: b"]


def faults(site: Site) -> set[tuple[str, str]]:
    """Errors of the building and the paper; a second lead set rightly asks which one an earlier step meant."""
    found = site.desk.read("demo-visit").book.findings
    return {(f.where, f.what) for f in found if f.severity is Severity.ERROR and not f.where.startswith("step ")}


ADDED = [t for t in SPECS if t != "visit"]  # that one has a page of its own


@pytest.mark.parametrize(("table", "junk"), pairs(ADDED, JUNK))
def test_a_form_keeps_no_entry_that_cannot_be_read(site: Site, demo: str, table: str, junk: str) -> None:
    path = f"{demo}/add/{table}"
    page = site.get(path)
    before = faults(site)
    for name in IDS:
        typed = dict.fromkeys(("material", "between", "name", "low_ohm", "length_m", "date", "fed_by", "kind"), junk)
        typed |= {"between": "" if junk == "LIM" else junk, "id": name, "part": name}
        typed = {k: v for k, v in typed.items() if any(s.key == k for s in SPECS[table])}
        answer = site.send(page, path, **typed)
        assert answer.status_code in (303, 422)
        assert faults(site) <= before, (name, text_of(answer)[:500])
        if answer.status_code == 422:
            assert 'aria-invalid="true"' in answer.text or 'role="alert"' in answer.text, (name, text_of(answer)[:500])


@pytest.mark.parametrize("name", ["a: b", "a:b", "a  b"])
def test_a_link_with_nothing_at_its_ends_is_refused_at_its_fields(shared: Site, name: str) -> None:
    path = "/v/demo-visit/add/link"
    before = len(shared.desk.store.events())
    answer = shared.send(shared.get(path), path, id=name, between="", material="LIM")
    assert answer.status_code == 422
    assert len(shared.desk.store.events()) == before
    assert "A link joins two different places." in text_of(answer)
    assert "This is not one of the words known here." in text_of(answer)


def test_an_id_that_something_else_has_is_refused_before_it_breaks_that(shared: Site) -> None:
    """A board and a circuit of one id: the circuit, which was judged, could no longer be read."""
    path = "/v/demo-visit/add/board"
    assert "1" in {c.id for c in shared.desk.assess("demo-visit").visit.site.circuits}  # type: ignore[union-attr]
    answer = shared.send(shared.get(path), path, id="1")
    assert answer.status_code == 422
    assert "This id stands twice or is kept for something else." in text_of(answer)
    assert not any("stands twice" in what for _, what in faults(shared))
