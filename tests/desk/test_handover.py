"""A visit handed over as one file: whole or not at all, once, and never mixed with what the other went on with."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.cli import main
from earthwright.desk import Desk
from earthwright.records import Conflict, JournalError
from earthwright.records.trouble import Damaged

PICTURE = b"\x89PNG\r\n\x1a\n not much of a picture"


@pytest.fixture
def both(tmp_path: Path) -> tuple[Desk, Desk, str]:
    phone, office = Desk(tmp_path / "phone.sqlite"), Desk(tmp_path / "office.sqlite")
    office.start("9 Other Street, Elsewhere", by="A. Nother")  # the office has a journal of its own
    phone.start("8 Third Street", by="J. Example")
    visit = phone.start("1 Test Row, Nowhere", by="J. Example", client="C. Lient")
    phone.add(visit, "part", {"id": "water", "kind": "water"}, "J. Example")
    phone.attach(visit, PICTURE, "the clamp", "J. Example", media="image/png")
    return phone, office, visit


def test_a_visit_goes_over_whole_once_and_on(both: tuple[Desk, Desk, str]) -> None:
    phone, office, visit = both
    first = phone.hand_over(visit)
    assert (office.take_over(first).new, office.take_over(first).new) == (3, 0)
    assert office.as_visit_book(visit).split("\n", 1)[1] == phone.as_visit_book(visit).split("\n", 1)[1]
    photo = next(e for e in office.read(visit).events if e.kind == "photo")
    assert office.content(photo.body["hash"]) == PICTURE
    assert {v.place for v in office.visits()} == {"1 Test Row, Nowhere", "9 Other Street, Elsewhere"}
    phone.add(visit, "step", {"note": "more"}, "J. Example")
    assert office.take_over(phone.hand_over(visit)).new == 1
    office.add(visit, "step", {"note": "from the office"}, "A. Nother")
    assert phone.take_over(office.hand_over(visit)).new == 1  # and back
    assert [e.id for e in phone.read(visit).events] == [e.id for e in office.read(visit).events]
    assert office.verify().whole
    assert phone.verify().whole


def test_the_command_tells_a_visit_from_a_whole_journal(both: tuple[Desk, Desk, str], tmp_path: Path) -> None:
    phone, _, visit = both
    asked = ["keep", "out", str(tmp_path / "v.zip"), "--visit", visit, "--journal", str(tmp_path / "phone.sqlite")]
    assert CliRunner().invoke(main, asked).exit_code == 0
    taking = ["keep", "in", str(tmp_path / "v.zip"), "--journal", str(tmp_path / "office.sqlite")]
    assert "3 of 3 entries are new here" in CliRunner().invoke(main, taking).output
    assert "0 of 3 entries are new here" in CliRunner().invoke(main, taking).output
    phone.export(tmp_path / "all.zip")
    again = ["keep", "in", str(tmp_path / "all.zip"), "--journal", str(tmp_path / "new.sqlite")]
    assert "4 events taken in" in CliRunner().invoke(main, again).output


def test_where_both_went_on_nothing_is_mixed(both: tuple[Desk, Desk, str]) -> None:
    phone, office, visit = both
    office.take_over(phone.hand_over(visit))
    phone.add(visit, "step", {"off": "water"}, "J. Example")
    office.add(visit, "step", {"note": "meanwhile"}, "A. Nother")
    before = [e.id for e in office.read(visit).events]
    with pytest.raises(Conflict, match="1 more here, 1 more in the file"):
        office.take_over(phone.hand_over(visit))
    assert [e.id for e in office.read(visit).events] == before


def test_a_file_that_was_changed_is_refused(both: tuple[Desk, Desk, str]) -> None:
    phone, office, visit = both
    whole = phone.hand_over(visit)
    for old, new in ((b'"water"', b'"gasss"'), (b"C. Lient", b"D. Lient")):
        made = io.BytesIO()
        with zipfile.ZipFile(io.BytesIO(whole)) as inside, zipfile.ZipFile(made, "w") as changed:
            for name in inside.namelist():
                changed.writestr(name, inside.read(name).replace(old, new))
        with pytest.raises(Damaged):
            office.take_over(made.getvalue())
    for broken in (whole[:-200], b"PK nothing", b""):
        with pytest.raises(JournalError):
            office.take_over(broken)
    assert len(office.visits()) == 1
