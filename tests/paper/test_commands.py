"""The commands that make, sign and check documents, from a visit book to the signed PDF and back."""

from __future__ import annotations

import os
import shutil
import sqlite3
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from test_verify import NOW, SECRET, certificate

from earthwright.base.oneline import one_line
from earthwright.cli import main
from earthwright.desk import Desk
from earthwright.visitbook import read_book, read_text

WHOLE = Path(__file__).parent / "complete.toml"
DEMO = Path(__file__).parents[2] / "src" / "earthwright" / "desk" / "demo" / "visit.toml"
ROLES = ("inspected and tested by", "authorised for issue", "designer", "constructor")


def run(*arguments: object, typed: str = "") -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments], input=typed)


@pytest.fixture
def visit(tmp_path: Path) -> Path:
    return Path(shutil.copy(WHOLE, tmp_path / "visit.toml"))


def signed_by_all(visit: Path) -> Path:
    for role in ROLES:
        done = run("sign", visit, "--role", role, "--name", 'J. "Ex" \\ample', "--position", "electrician")
        assert done.exit_code == 0, done.output
    return visit


def test_the_whole_way_from_a_visit_book_to_a_verified_document(visit: Path, tmp_path: Path) -> None:
    paper = tmp_path / "report.pdf"
    refused = run("paper", visit, "--document", "condition report", "-o", paper)
    assert refused.exit_code == 6
    assert "2 entries missing" in refused.output
    assert "Signature: authorised for issue" in refused.output
    assert not paper.exists()
    signed_by_all(visit)
    for document in (
        "condition report",
        "installation certificate",
        "minor works certificate",
        "letter",
        "danger notice",
        "evidence sheet",
    ):
        done = run("paper", visit, "--document", document, "-o", paper, "--replace")
        assert done.exit_code == 0, done.output
        checked = run("verify", paper)
        assert checked.exit_code == 0, checked.output
        assert "Agrees: paper, files inside, hashes, readings and signatures were compared" in " ".join(
            checked.output.split()
        )
        assert document in checked.output
        assert "It names this version of the visit" in " ".join(checked.output.split())


def test_one_person_signs_once_for_several_roles(visit: Path, tmp_path: Path) -> None:
    own_work = [x for role in ("designer", "constructor", "inspected and tested by") for x in ("--role", role)]
    done = run("sign", visit, *own_work, "--name", "J. Example")
    assert done.exit_code == 0, done.output
    assert run("sign", visit, "--role", "authorised for issue", "--name", "P. Sample").exit_code == 0
    papers = read_book(visit).visit
    assert papers is not None
    assert all(papers.paperwork.holds(s) for s in papers.paperwork.signs)
    assert len(papers.paperwork.signs) == 4
    done = run("paper", visit, "--document", "installation certificate", "-o", tmp_path / "c.pdf")
    assert done.exit_code == 0, done.output


def test_a_signature_stands_for_one_version_and_a_later_change_voids_it(visit: Path, tmp_path: Path) -> None:
    signed_by_all(visit)
    papers = read_book(visit).visit
    assert papers is not None
    assert all(papers.paperwork.holds(s) for s in papers.paperwork.signs)
    text = visit.read_text()
    remark = read_text(text + "\n# a remark is no change\n").visit
    assert remark is not None
    assert all(remark.paperwork.holds(s) for s in remark.paperwork.signs)
    changed = text.replace("shown = 0.57", "shown = 0.58")
    assert changed != text
    visit.write_text(changed)
    after = read_book(visit).visit
    assert after is not None
    assert not any(after.paperwork.holds(s) for s in after.paperwork.signs)
    paper = tmp_path / "report.pdf"
    assert run("paper", visit, "--document", "condition report", "-o", paper).exit_code == 6
    assert "changed after" in run("paper", visit, "--document", "condition report", "-o", paper).output
    assert run("paper", visit, "--document", "condition report", "-o", paper, "--draft").exit_code == 0
    checked = run("verify", paper)
    assert checked.exit_code == 1
    assert "VOID: the visit was changed after it" in " ".join(checked.output.split())
    assert "Draft: void signature" in checked.output


def test_signing_a_visit_book_asks_for_what_it_needs(visit: Path, tmp_path: Path) -> None:
    assert run("sign", visit, "--role", "designer").exit_code == 2
    assert "--key signs a document" in run("sign", visit, "--role", "designer", "--name", "x", "--key", "k.p12").output
    visit.write_text(visit.read_text().replace("fuse_a = 80", "fuse_a = true"))
    broken = run("sign", visit, "--role", "designer", "--name", "x")
    assert broken.exit_code == 3
    assert "[[sign]]" not in visit.read_text()
    none = tmp_path / "none.toml"
    assert run("sign", none, "--role", "designer", "--name", "x").exit_code == 4
    assert run("sign", visit, "--role", "designer", "--name", "x", "--pen").exit_code == 3


def test_a_pen_signature_leaves_room_for_ink(visit: Path, tmp_path: Path) -> None:
    for role in ROLES[:2]:
        assert run("sign", visit, "--role", role, "--name", "J. Example", "--pen").exit_code == 0
    read = read_book(visit).visit
    assert read is not None
    assert {s.how for s in read.paperwork.signs} == {"pen"}
    assert run("paper", visit, "--document", "condition report", "-o", tmp_path / "r.pdf").exit_code == 0


@pytest.fixture
def key(tmp_path: Path) -> tuple[Path, Path]:
    import datetime as dt

    packed, pem = certificate("J. Example", NOW - dt.timedelta(days=1), NOW + dt.timedelta(days=30))
    (tmp_path / "j.p12").write_bytes(packed)
    (tmp_path / "j.pem").write_bytes(pem)
    return tmp_path / "j.p12", tmp_path / "j.pem"


def test_a_document_is_signed_with_a_certificate_and_the_pass_phrase_is_never_shown(
    visit: Path, tmp_path: Path, key: tuple[Path, Path]
) -> None:
    paper, out = tmp_path / "r.pdf", tmp_path / "s.pdf"
    run("paper", signed_by_all(visit), "--document", "condition report", "-o", paper)
    asked = run("sign", paper, "--role", ROLES[0], "--key", key[0], "-o", out, typed=SECRET.decode() + "\n")
    assert asked.exit_code == 0, asked.output
    assert SECRET.decode() not in asked.output
    read_end, write_end = os.pipe()
    os.write(write_end, SECRET + b"\n")
    os.close(write_end)
    try:
        again = run("sign", out, "--role", ROLES[1], "--key", key[0], "--pass-fd", read_end)
    finally:
        os.close(read_end)
    assert again.exit_code == 0, again.output
    trusting = run("verify", out, "--trust", key[1])
    assert trusting.exit_code == 0, trusting.output
    assert trusting.output.count("agrees. good;") == 2
    assert "unknown signer" in run("verify", out).output
    assert run("verify", out).exit_code == 0
    stranger = tmp_path / "x.pem"
    stranger.write_bytes(certificate("X", NOW, NOW.replace(year=NOW.year + 1))[1])
    assert run("verify", out, "--trust", stranger).exit_code == 1
    out.write_bytes(out.read_bytes() + b"\n% more\n")
    more = run("verify", out)
    assert more.exit_code == 1
    assert "appended" in " ".join(more.output.split())


def test_drafts_forgeries_and_wrong_pass_phrases_are_not_signed(
    visit: Path, tmp_path: Path, key: tuple[Path, Path]
) -> None:
    paper = tmp_path / "r.pdf"
    run("paper", visit, "--document", "condition report", "--draft", "-o", paper)
    draft = run("sign", paper, "--role", ROLES[0], "--key", key[0], typed="x\n")
    assert draft.exit_code == 6
    assert "this is a draft" in draft.output
    run("paper", signed_by_all(visit), "--document", "condition report", "-o", paper, "--replace")
    wrong = run("sign", paper, "--role", ROLES[0], "--key", key[0], typed="guess\n")
    assert wrong.exit_code == 6
    assert "pass phrase is wrong" in wrong.output
    assert run("sign", paper, "--role", ROLES[0]).exit_code == 2
    paper.write_bytes(paper.read_bytes() + b"%")
    forged = run("sign", paper, "--role", ROLES[0], "--key", key[0], typed=SECRET.decode() + "\n")
    assert forged.exit_code == 6
    assert "not everything in this document could be compared and agrees" in forged.output
    assert run("sign", visit, "--role", ROLES[0], "--name", "x", "--pass-fd", "99").exit_code == 0


def test_verify_refuses_what_is_not_ours(tmp_path: Path) -> None:
    (tmp_path / "x.pdf").write_text("hello")
    assert run("verify", tmp_path / "x.pdf").exit_code == 4
    assert run("verify", tmp_path / "none.pdf").exit_code == 7


def test_the_journal_knows_the_visit_a_document_was_printed_from(visit: Path, tmp_path: Path) -> None:
    journal, paper = tmp_path / "j.sqlite", tmp_path / "r.pdf"
    assert run("keep", "in", signed_by_all(visit), "--journal", journal).exit_code == 0
    run("paper", visit, "--document", "condition report", "-o", paper)
    known = run("verify", paper, "--journal", journal)
    assert known.exit_code == 0, known.output
    assert "is the one this document was printed from" in " ".join(known.output.split())
    other = tmp_path / "o.pdf"
    run("paper", DEMO, "-o", other)
    unknown = run("verify", other, "--journal", journal)
    assert unknown.exit_code == 1
    assert "no visit in it is or was" in " ".join(unknown.output.split())


def test_a_document_is_found_in_a_large_journal_by_its_content(
    visit: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nine minutes it took among 2,000 visits, each replayed from its beginning again and again."""
    journal, paper = tmp_path / "j.sqlite", tmp_path / "r.pdf"
    assert run("keep", "in", signed_by_all(visit), "--journal", journal).exit_code == 0
    assert run("keep", "in", DEMO, "--journal", journal).exit_code == 0
    run("paper", visit, "--document", "condition report", "-o", paper)
    with monkeypatch.context() as m:
        m.setattr(Desk, "verify", None)  # the whole journal is not asked for
        m.setattr(Desk, "visits", None)
        known = run("verify", paper, "--journal", journal)
    assert known.exit_code == 0, known.output
    assert "its entries are as they were kept. The rest of the journal was not looked at" in " ".join(
        known.output.split()
    )
    with sqlite3.connect(journal) as raw:
        place = 'substr(body, instr(body, \'"content":"\') + 11, 64)'
        asked = f"SELECT visit FROM event WHERE kind IN ('issue', 'sign', 'erase') AND {place} = 'x'"
        assert "event_content" in str(raw.execute(f"EXPLAIN QUERY PLAN {asked}").fetchall())
        raw.execute("DROP TRIGGER event_no_update")
        raw.execute("UPDATE event SET at = '2020' WHERE no = 3")
    raw.close()
    changed = run("verify", paper, "--journal", journal)
    assert changed.exit_code == 1
    assert "Event 3 of this visit is not what was kept" in " ".join(changed.output.split())


def test_the_default_document_is_the_bonding_record(tmp_path: Path) -> None:
    out = tmp_path / "r.pdf"
    assert run("paper", DEMO, "-o", out).exit_code == 0, "what it says is no failure of the command"
    assert "bonding record, record" in run("verify", out).output


def test_observe_lists_proposals_entries_and_items(visit: Path, tmp_path: Path) -> None:
    listed = run("observe", DEMO)
    assert listed.exit_code == 0
    assert "proposed  C2" in listed.output
    assert "common practice" in " ".join(listed.output.split())
    assert "Going by the codes: unsatisfactory" in listed.output
    entries = run("observe", DEMO, "--entries").output
    grown = DEMO.read_text() + entries
    read = read_text(grown)
    assert read.visit is not None
    assert [o.about for o in read.visit.paperwork.observations] == ["gas", "steel", "steel"]
    items = run("observe", "--items").output
    assert "bonding-joints" in items
    assert run("observe").exit_code == 2
    decided = run("observe", visit).output
    assert "1  C3" in decided
    assert "The inspector: satisfactory" in decided


def test_deadlines_as_a_list_and_a_calendar(visit: Path, tmp_path: Path) -> None:
    text = visit.read_text().replace('code = "C3"\nclause', 'code = "C2"\nclause')
    visit.write_text(text)
    ics = tmp_path / "c.ics"
    done = run("deadlines", visit, "--ics", ics)
    assert done.exit_code == 0
    assert "2026-12-17  Remedial or investigative work" in done.output
    calendar = ics.read_bytes()
    assert b"DTSTART;VALUE=DATE:20261217\r\n" in calendar
    assert all(len(line) <= 75 for line in calendar.split(b"\r\n"))
    assert calendar.endswith(b"END:VCALENDAR\r\n")


def test_a_hostile_name_does_not_leave_its_string(visit: Path) -> None:
    name = 'x"\n[[observation]]\ncode = "C1" # \\ \x7f'
    assert run("sign", visit, "--role", "designer", "--name", name).exit_code == 0
    read = read_book(visit).visit
    assert read is not None
    assert read.paperwork.signs[0].name == one_line(name), "text from outside is one printable line"
    assert len(read.paperwork.observations) == 2
