"""A paper inside a visit that comes as a file says what the file holds, or nothing of it is taken in."""

from __future__ import annotations

from pathlib import Path

import pytest

from earthwright.desk import Desk
from earthwright.paper.documents import make_document
from earthwright.paper.page import record_hash
from earthwright.records import Draft, NotKept
from earthwright.records.canon import digest
from earthwright.records.event import FILE, ISSUE

BY = "J. Example"


@pytest.fixture
def both(tmp_path: Path) -> tuple[Desk, Desk]:
    return Desk(tmp_path / "phone.sqlite"), Desk(tmp_path / "office.sqlite")


def begun(desk: Desk) -> str:
    visit = desk.start("1 Test Row, Nowhere", by=BY, date="2026-11-20")
    for kind, body in (
        ("part", {"id": "water", "kind": "water"}), ("bond", {"part": "water", "csa_mm2": "10", "length_m": "5"}),
        ("leads", {"id": "a", "allowed": "none"}),
        ("step", {"read": "conductor", "bond": "water", "shown": "0.02", "at": "10:00:00", "leads": "a"}),
    ):  # fmt: skip
        desk.add(visit, kind, body, BY)
    return visit


def printed(desk: Desk, visit: str) -> bytes:
    a = desk.record(visit)
    assert a is not None
    return make_document(a, "evidence sheet", book=desk.as_visit_book(visit), journal=desk.store.head())


def issue(desk: Desk, visit: str, made: bytes, **change: object) -> None:
    a = desk.record(visit)
    assert a is not None
    about = {
        "hash": digest(made),
        "size": len(made),
        "caption": "",
        "name": "",
        "media": "application/pdf",
        "about": "",
    }
    body = {"document": "evidence sheet", "hash": digest(made), "record": record_hash(a), "content": "", **change}
    desk.add_all([Draft(visit, FILE, about, BY), Draft(visit, ISSUE, body, BY)], contents=[made])


def test_a_true_paper_comes_along_and_is_looked_at_once(both: tuple[Desk, Desk]) -> None:
    phone, office = both
    visit = begun(phone)
    made = printed(phone, visit)
    issue(phone, visit, made)
    assert office.take_over(phone.hand_over(visit)).new == 7
    assert office.content(digest(made)) == made
    phone.add(visit, "step", {"note": "later"}, BY)
    assert office.take_over(phone.hand_over(visit)).new == 1


def test_whoever_issued_may_not_have_known_what_another_wrote(both: tuple[Desk, Desk]) -> None:
    phone, office = both
    visit = begun(phone)
    made = printed(phone, visit)
    phone.add(visit, "step", {"note": "from the second phone"}, "A. Nother")
    issue(phone, visit, made, record=_record_of(made))
    assert office.take_over(phone.hand_over(visit)).new == 8


def _record_of(made: bytes) -> str:
    import datetime as dt

    from earthwright.paper.verify import verify

    return verify(made, dt.date(2026, 11, 29)).record


@pytest.mark.parametrize(
    ("forge", "said"),
    [
        (lambda made: b"%PDF-1.7 anything", "no paper of ours"),
        (lambda made: made[:-40] + b"%" + made[-40:], "does not hold together"),
    ],
)
def test_what_is_no_paper_of_this_visit_is_refused_whole(both: tuple[Desk, Desk], forge: object, said: str) -> None:
    phone, office = both
    visit = begun(phone)
    issue(phone, visit, forge(printed(phone, visit)))  # type: ignore[operator]
    with pytest.raises(NotKept, match=said):
        office.take_over(phone.hand_over(visit))
    assert office.visits() == []


def test_a_paper_of_other_entries_is_refused(both: tuple[Desk, Desk]) -> None:
    phone, office = both
    visit = begun(phone)
    made = printed(phone, visit)
    phone.add(visit, "part", {"id": "gas", "kind": "gas"}, BY)
    issue(phone, visit, made, record=_record_of(made))
    with pytest.raises(NotKept, match="from other entries"):
        office.take_over(phone.hand_over(visit))
    assert office.visits() == []
