"""What was printed on a phone is found at the office for ever, and whatever was changed of a device's proof is seen."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import text

from earthwright.desk import Desk
from earthwright.desk.anchors import printed_from
from earthwright.records.verify import Head
from earthwright.sync.names import want

from .simulated import VISIT, begin, sync


@pytest.fixture
def three(tmp_path: Path) -> list[Desk]:
    """An office and two phones; the first printed while the second had written something that it did not know."""
    office, one, two = (Desk(tmp_path / f"{n}.sqlite") for n in ("office", "one", "two"))
    begin(one)
    sync(one, office, "one")
    want(two.store, VISIT)
    sync(two, office, "two")
    two.add(VISIT, "step", {"note": "from the second"}, "A. Other")
    one.add(VISIT, "step", {"note": "from the first"}, "J. Example")
    return [office, one, two]


def issued(desk: Desk) -> tuple[str, tuple[int, str]]:
    """A document is issued: the content of the visit and the end of the journal, as they are printed on it."""
    content, head = desk.read(VISIT).book.visit.paperwork.content, desk.store.head()  # type: ignore[union-attr]
    body = {"document": "condition report", "hash": "0" * 64, "record": "1" * 64, "content": content}
    desk.add(VISIT, "issue", body, "J. Example")
    return content, head


def test_a_paper_of_a_phone_is_found_at_the_office(three: list[Desk], tmp_path: Path) -> None:
    office, one, two = three
    content, head = issued(one)
    sync(two, office, "two")
    sync(one, office, "one")
    sync(two, office, "two")
    one.add(VISIT, "step", {"note": "later"}, "J. Example")
    sync(one, office, "one")
    visit, later, fault = printed_from(office, content, set(), head) or ("", -1, "nothing")
    assert (visit, fault) == (VISIT, "")
    assert later == 2  # the second's remark and what came later; the issue itself changes nothing
    assert office.verify([head[1]], [Head("paper", *head)]).whole
    # so it is in a copy, and in an export that was taken in anew
    office.backup(tmp_path / "backup.sqlite")
    office.export(tmp_path / "out")
    anew = Desk(tmp_path / "anew.sqlite")
    anew.import_(tmp_path / "out")
    for other in (Desk(tmp_path / "backup.sqlite"), anew):
        assert other.verify([head[1]], [Head("paper", *head)]).whole
        assert printed_from(other, content, set(), head) == (VISIT, 2, "")
        other.close()


def test_an_end_that_no_device_had_is_told(three: list[Desk]) -> None:
    office, one, _ = three
    content, head = issued(one)
    sync(one, office, "one")
    found = printed_from(office, content, set(), (head[0], "f" * 64))
    assert found is not None
    assert found[2]
    assert not office.verify(heads=[Head("paper", head[0], "f" * 64)]).whole


@pytest.mark.parametrize(
    "change", ["hash = replace(hash, substr(hash, 1, 1), 'x')", "kept_at = '2020'", "seq = seq + 1", "prev = hash"]
)
def test_a_changed_proof_is_seen(three: list[Desk], change: str) -> None:
    office, one, _ = three
    sync(one, office, "one")
    assert office.verify().whole
    with office.store.engine.begin() as connection:
        connection.execute(text("DROP TRIGGER link_no_update"))
        connection.execute(text(f"UPDATE link SET {change} WHERE no = 3"))
    said = " ".join(f.sentence() for f in office.verify().faults)
    assert "device" in said
