"""Names and addresses stand apart: they can be erased, cannot be changed, and the chain stays whole."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import text

from earthwright.desk import Desk
from earthwright.desk.erasure import CLIENT
from earthwright.records import JournalError, NoSuch, NotKept
from earthwright.records.personal import ERASED, MISSING

NAMES = ("12 Thornwick Lea", "Ada Client", "Berta Tenant", "Cleo Agent")
BOOK = b"""
[visit]
place = "12 Thornwick Lea"
date = 2026-11-20
client = "Ada Client"
inspector = "J. Example"

[report]
occupier = "Berta Tenant"
copies = ["Cleo Agent", "Ada Client"]

[[part]]
id = "water"

[[step]]
note = "seen"
by = "A. Helper"

[[sign]]
role = "inspected and tested by"
name = "J. Example"
content = "0"
"""


def raw_events(desk: Desk) -> str:
    with desk.store.reading() as connection:
        return " ".join(r[0] + r[1] for r in connection.execute(text("SELECT body, who FROM event")))


def test_no_name_or_address_stands_in_an_event(desk: Desk) -> None:
    visit = desk.take_in(BOOK, by="J. Example")
    raw = raw_events(desk)
    for name in (*NAMES, "J. Example", "A. Helper"):
        assert name not in raw
    tables = desk.read(visit).tables
    assert tables["visit"]["client"] == "Ada Client"
    assert tables["report"]["copies"] == ["Cleo Agent", "Ada Client"]
    assert tables["step"][0]["by"] == "A. Helper"
    assert desk.read(visit).events[0].by == "J. Example"


def test_correction_of_a_heading_keeps_its_names_apart_too(desk: Desk) -> None:
    visit = desk.take_in(BOOK, by="J. Example")
    heading = desk.read(visit).entries[0]
    desk.correct(heading.id, {**heading.body, "client": "Dora Newclient"}, "sold", "J. Example")
    assert "Dora" not in raw_events(desk)
    assert desk.read(visit).tables["visit"]["client"] == "Dora Newclient"


def test_signed_erasure_takes_the_client_out_and_leaves_the_chain_whole(desk: Desk) -> None:
    visit = desk.take_in(BOOK, by="J. Example")
    desk.attach(visit, b"picture of Ada", "the meter", "J. Example", media="image/jpeg")
    other = desk.take_in(BOOK.replace(b"seen", b"looked at"), by="J. Example")
    before = desk.store.events()
    content = desk.read(visit).book.visit.paperwork.content  # type: ignore[union-attr]
    kept = desk.erase(visit, "asked for by the client", "J. Example")
    assert desk.verify([e.hash for e in before]).whole
    tables = desk.read(visit).tables
    assert (tables["visit"]["place"], tables["visit"]["client"]) == (ERASED, ERASED)
    assert tables["report"]["copies"] == [ERASED, ERASED]
    assert tables["visit"]["inspector"] == "J. Example"  # who inspected and who signed stay
    assert tables["sign"][0]["name"] == "J. Example"
    assert (kept.kind, kept.body["content"]) == ("erase", content)
    assert len(kept.body["files"]) == 2  # the photo, and the visit book as it was typed
    assert desk.read(other).tables["visit"]["client"] == "Ada Client"
    assert [(e.no, e.hash) for e in desk.store.events()][: len(before)] == [(e.no, e.hash) for e in before]
    with pytest.raises(NoSuch, match="nothing left"):
        desk.erase(visit, "again", "J. Example")
    with pytest.raises(NoSuch):
        desk.content(kept.body["files"][0])


def test_nothing_of_the_name_is_left_in_the_file(tmp_path: Path, at_desk: Callable[[Path], Desk]) -> None:
    file = tmp_path / "j.sqlite"
    desk = at_desk(file)
    visit = desk.take_in(BOOK, by="J. Example")

    def anywhere(name: str) -> bool:
        return any(name.encode() in p.read_bytes() for p in tmp_path.iterdir())

    assert all(map(anywhere, NAMES))
    desk.erase(visit, "asked for", "J. Example")
    assert not any(map(anywhere, NAMES))
    assert anywhere("A. Helper")


def test_erasure_is_signed_with_a_name_and_a_reason(desk: Desk) -> None:
    visit = desk.take_in(BOOK)
    for reason, by in (("", "J. Example"), ("asked for", "  ")):
        with pytest.raises(NotKept, match="signed"):
            desk.erase(visit, reason, by)
    assert desk.verify().whole


def test_named_fields_only_and_files_left(desk: Desk) -> None:
    visit = desk.take_in(BOOK, by="J. Example")
    kept = desk.erase(visit, "asked for", "J. Example", fields=("client",), files=False)
    assert kept.body["files"] == []
    heading = desk.read(visit).tables["visit"]
    assert (heading["client"], heading["place"]) == (ERASED, "12 Thornwick Lea")


def test_what_was_erased_does_not_come_back(
    desk: Desk, new_url: Callable[[], str], tmp_path: Path, at_desk: Callable[[str], Desk]
) -> None:
    visit = desk.take_in(BOOK, by="J. Example")
    desk.export(tmp_path / "before")
    desk.erase(visit, "asked for", "J. Example")
    assert desk.import_(tmp_path / "before") == 0
    assert desk.read(visit).tables["visit"]["client"] == ERASED
    desk.export(tmp_path / "after")
    elsewhere = at_desk(new_url())
    elsewhere.import_(tmp_path / "before")
    assert elsewhere.read(visit).tables["visit"]["client"] == "Ada Client"
    assert elsewhere.import_(tmp_path / "after") == 1  # the erasure travels
    assert elsewhere.read(visit).tables["visit"]["client"] == ERASED
    assert elsewhere.verify().whole
    assert elsewhere.store.head() == desk.store.head()


def test_a_changed_name_is_found(desk: Desk) -> None:
    visit = desk.take_in(BOOK, by="J. Example")
    with desk.store.writing() as connection:
        connection.execute(text("DROP TRIGGER personal_no_update" + ("" if desk.store.sqlite else " ON personal")))
        connection.execute(text("UPDATE personal SET value = 'Eve Forger' WHERE field = 'client'"))
    said = [f.sentence() for f in desk.verify().faults]
    assert any("The client was changed after it was kept" in s for s in said)
    assert any("personal_no_update" in s for s in said)
    assert desk.read(visit).tables["visit"]["client"] == "Eve Forger"


def test_a_name_gone_without_a_signature_is_found(desk: Desk) -> None:
    visit = desk.take_in(BOOK, by="J. Example")
    with desk.store.writing() as connection:
        connection.execute(text("DROP TRIGGER personal_delete" + ("" if desk.store.sqlite else " ON personal")))
        connection.execute(text("DELETE FROM personal WHERE field = 'client'"))
    assert any("missing and was never erased" in f.what for f in desk.verify().faults)
    assert desk.read(visit).tables["visit"]["client"] == MISSING


def test_an_erasure_nobody_signed_is_refused(desk: Desk) -> None:
    visit = desk.take_in(BOOK, by="J. Example")
    heading = desk.read(visit).entries[0]
    with pytest.raises(JournalError, match="append-only"), desk.store.writing() as connection:
        connection.execute(text("INSERT INTO erased SELECT key, :e FROM personal"), {"e": heading.id})
    assert desk.verify().whole


def test_sent_again_after_an_erasure_is_still_the_same_event(desk: Desk) -> None:
    visit = desk.start("12 Thornwick Lea", by="J. Example", client="Ada Client", visit_id="visit-0001")
    body = {"place": "12 Thornwick Lea", "date": desk.read(visit).tables["visit"]["date"].isoformat(),
            "kind": "periodic", "client": "Ada Client"}  # fmt: skip
    desk.erase(visit, "asked for", "J. Example")
    again = desk.add(visit, "visit", body, "J. Example", id="visit-0001-heading")
    assert not again.new
    assert desk.read(visit).tables["visit"]["client"] == ERASED


def test_every_field_of_the_client_is_a_personal_one() -> None:
    from earthwright.records.personal import PERSONAL

    assert set(CLIENT) <= {key for keys in PERSONAL.values() for key in keys}
