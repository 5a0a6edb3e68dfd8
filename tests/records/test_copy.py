"""Backup, restore, export and import: the same hashes everywhere, and nothing inside an export can do harm."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from sqlalchemy import text

from earthwright.desk import Desk
from earthwright.records import Conflict, Damaged, JournalError
from earthwright.records.cells import cell
from earthwright.visitbook import read_text

VISITS = Path(__file__).parents[1] / "visits"
At = Callable[[str | Path], Desk]


def filled(desk: Desk) -> str:
    """Two visits with everything that can be in a journal."""
    first = desk.take_in((VISITS / "01-masked.toml").read_bytes(), by="J. Example")
    second = desk.take_in((VISITS / "03-paint.toml").read_bytes(), by="A. Other")
    steps = [e for e in desk.read(second).entries if e.kind == "step" and "read" in e.body]
    desk.correct(steps[0].id, {**steps[0].body, "note": "read again"}, "a remark was missing", "A. Other")
    desk.strike(steps[-1].id, "entered twice", "A. Other")
    desk.attach(second, b"\x89PNG picture", "clamp on paint", "A. Other", media="image/png", name="../../evil.sh")
    desk.erase(first, "asked for by the client", "J. Example")
    return second


def everything(desk: Desk) -> object:
    return desk.store.head(), desk.store.events(), [desk.as_visit_book(v.id) for v in desk.visits()]


@pytest.mark.parametrize("form", ["out", "out.zip"])
def test_export_and_import_give_the_same_hashes(
    desk: Desk, new_url: Callable[[], str], at_desk: At, tmp_path: Path, form: str
) -> None:
    filled(desk)
    manifest = desk.export(tmp_path / form)
    assert (manifest["events"], manifest["head"]) == desk.store.head()
    elsewhere = at_desk(new_url())
    assert elsewhere.import_(tmp_path / form) == manifest["events"]
    assert everything(elsewhere) == everything(desk)
    assert elsewhere.verify([manifest["head"]]).whole
    assert elsewhere.import_(tmp_path / form) == 0  # once more adds nothing
    desk.add(desk.visits()[0].id, "step", {"note": "went on"}, "A. Other")
    desk.export(tmp_path / f"later-{form}")
    assert elsewhere.import_(tmp_path / f"later-{form}") == 1  # what is newer is added
    assert everything(elsewhere) == everything(desk)


def test_two_exports_of_one_journal_are_the_same_bytes(desk: Desk, tmp_path: Path) -> None:
    filled(desk)
    assert desk.export(tmp_path / "a") == desk.export(tmp_path / "b")
    desk.export(tmp_path / "a.zip")
    desk.export(tmp_path / "b.zip")
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()


def test_every_line_of_an_export_can_be_worked_out_with_what_the_read_me_says(desk: Desk, tmp_path: Path) -> None:
    second = filled(desk)
    out = tmp_path / "out"
    manifest = desk.export(out)
    last = "0" * 64
    personal = {p["key"]: p for p in map(json.loads, (out / "personal.jsonl").read_text().splitlines())}
    erased = {p["what"] for p in map(json.loads, (out / "erased.jsonl").read_text().splitlines())}
    schema = json.loads((out / "schema" / "event.schema.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    for line in (out / "events.jsonl").read_text(encoding="utf-8").splitlines():
        event = json.loads(line)
        jsonschema.validate(event, schema)
        hash_ = event.pop("hash")
        made = json.dumps(event, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
        assert hashlib.sha256(made).hexdigest() == hash_
        assert event["prev"] == last
        last = hash_
        by = event["by"]
        one = personal[by["personal"]]
        assert hashlib.sha256(f"{one['salt']}:{json.dumps(one['value'])}".encode()).hexdigest() == by["seal"]
    assert last == manifest["head"]
    assert erased
    for name, hash_ in manifest["files"].items():
        assert hashlib.sha256((out / name).read_bytes()).hexdigest() == hash_
    for path in (out / "files").iterdir():
        assert hashlib.sha256(path.read_bytes()).hexdigest() == path.stem
    assert read_text((out / "visits" / "0002.toml").read_text()).visit is not None
    rows = list(csv.DictReader(io.StringIO((out / "csv" / "readings.csv").read_bytes().decode("utf-8-sig"))))
    mine = [r for r in rows if r["visit"] == second]
    assert [r["struck"] for r in mine].count("true") == 1
    assert {r["shown"] for r in mine} >= {"0.02", "0.03"}
    for name in ("personal", "erased"):
        made_of = json.loads((out / "schema" / f"{name}.schema.json").read_text())
        for line in (out / f"{name}.jsonl").read_text().splitlines():
            jsonschema.validate(json.loads(line), made_of)
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**event, "hash": "short"}, schema)


def test_no_name_in_an_export_comes_from_what_people_typed(desk: Desk, tmp_path: Path) -> None:
    filled(desk)
    visit = desk.start("../../../etc/cron.d/x", by="J. Example", client="C:\\Windows\\x\0y".replace("\0", ""))
    desk.attach(visit, b"x", "../../caption", name="/etc/passwd", media="text/../../x")
    desk.export(tmp_path / "out")
    names = [str(p.relative_to(tmp_path / "out")) for p in (tmp_path / "out").rglob("*")]
    assert not [n for n in names if ".." in n or "passwd" in n or "evil" in n or "cron" in n]
    assert sorted(p.name for p in tmp_path.iterdir() if p.suffix != ".sqlite" and "sqlite" not in p.name) == ["out"]


def test_a_target_that_is_there_is_not_overwritten(desk: Desk, tmp_path: Path) -> None:
    filled(desk)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine.txt").write_text("mine")
    (tmp_path / "a.zip").write_text("mine")
    for target in ("full", "a.zip"):
        with pytest.raises(JournalError, match="not overwritten"):
            desk.export(tmp_path / target)
    with pytest.raises(JournalError, match="not overwritten"):
        desk.backup(tmp_path / "a.zip")
    (tmp_path / "empty").mkdir()
    desk.export(tmp_path / "empty")
    assert (tmp_path / "full" / "mine.txt").read_text() == (tmp_path / "a.zip").read_text() == "mine"
    with pytest.raises(JournalError, match="cannot be written"):
        desk.export(tmp_path / "a.zip" / "x")


def rewritten(out: Path, change: Callable[[list[dict[str, Any]]], None], name: str = "events.jsonl") -> None:
    lines = [json.loads(line) for line in (out / name).read_text(encoding="utf-8").splitlines()]
    change(lines)
    text = "".join(json.dumps(line, sort_keys=True, separators=(",", ":"), ensure_ascii=False) + "\n" for line in lines)
    (out / name).write_text(text, encoding="utf-8")


CHANGES: dict[str, Callable[[Path], object]] = {
    "a digit": lambda out: rewritten(out, lambda e: e[5]["body"].update(changed="1")),
    "a hash": lambda out: rewritten(out, lambda e: e[5].update(hash="0" * 64)),
    "an event gone": lambda out: rewritten(out, lambda e: e.pop(5)),
    "the first gone": lambda out: rewritten(out, lambda e: e.pop(0)),
    "two swapped": lambda out: rewritten(out, lambda e: e.insert(5, e.pop(6))),
    "one twice": lambda out: rewritten(out, lambda e: e.insert(5, e[5])),
    "a key more": lambda out: rewritten(out, lambda e: e[5].update(more=1)),
    "a number as text": lambda out: rewritten(out, lambda e: e[5].update(no="6")),
    "a truth as number": lambda out: rewritten(out, lambda e: e[5].update(no=True)),
    "another form": lambda out: rewritten(out, lambda e: e[5].update(form=2)),
    "a fraction": lambda out: rewritten(out, lambda e: e[5]["body"].update(changed=0.5)),
    "a name": lambda out: rewritten(out, lambda p: p[0].update(value="Eve Forger"), "personal.jsonl"),
    "a name gone": lambda out: rewritten(out, lambda p: p.pop(0), "personal.jsonl"),
    "a name more": lambda out: rewritten(out, lambda p: p.append({**p[0], "key": "k"}), "personal.jsonl"),
    "an erasure gone": lambda out: rewritten(out, lambda p: p.pop(0), "erased.jsonl"),
    "an erasure more": lambda out: rewritten(out, lambda p: p.append({**p[0], "what": "k"}), "erased.jsonl"),
    "an erasure of nothing": lambda out: rewritten(out, lambda p: p[0].update(event="none-of-these"), "erased.jsonl"),
    "a photo changed": lambda out: next((out / "files").glob("*.png")).write_bytes(b"other"),
    "a photo gone": lambda out: next((out / "files").glob("*.png")).unlink(),
    "no events": lambda out: (out / "events.jsonl").unlink(),
    "a link for events": lambda out: ((out / "events.jsonl").rename(out / "e"), (out / "events.jsonl").symlink_to("e")),
    "no JSON": lambda out: (out / "events.jsonl").write_text("{\n"),
    "a list": lambda out: (out / "events.jsonl").write_text("[]\n"),
    "no text": lambda out: (out / "events.jsonl").write_bytes(b"\xff\xfe\n"),
    "deep": lambda out: (out / "events.jsonl").write_text("[" * 100_000 + "\n"),
    "one endless line": lambda out: (out / "events.jsonl").write_text("x" * 600_000),
    "a number in a name": lambda out: rewritten(out, lambda p: p[0].update(salt=7), "personal.jsonl"),
}  # fmt: skip


@pytest.mark.parametrize("change", CHANGES)
def test_an_altered_export_is_refused_whole(tmp_path: Path, at_desk: At, change: str) -> None:
    desk = at_desk(tmp_path / "source.sqlite")
    filled(desk)
    out = tmp_path / "out"
    desk.export(out)
    CHANGES[change](out)
    target = at_desk(tmp_path / "target.sqlite")
    with pytest.raises((Damaged, JournalError)):
        target.import_(out)
    assert target.store.head()[0] == 0
    assert target.verify().whole


@pytest.mark.parametrize(
    ("change", "words"),
    [("a digit", "Event 6 is not what was kept"), ("a photo changed", "was changed after it was exported"),
     ("an event gone", "Event 6 is missing"), ("no events", "events.jsonl is missing")],
)  # fmt: skip
def test_a_refused_export_says_what_is_wrong_with_it(tmp_path: Path, at_desk: At, change: str, words: str) -> None:
    desk = at_desk(tmp_path / "source.sqlite")
    filled(desk)
    desk.export(tmp_path / "out")
    CHANGES[change](tmp_path / "out")
    with pytest.raises(Damaged, match=words):
        at_desk(tmp_path / "target.sqlite").import_(tmp_path / "out")


def test_an_altered_export_is_refused_by_each_database(
    desk: Desk, new_url: Callable[[], str], at_desk: At, tmp_path: Path
) -> None:
    filled(desk)
    for number, change in enumerate(("a digit", "a name", "an erasure more", "a photo gone")):
        out = tmp_path / f"out{number}"
        desk.export(out)
        CHANGES[change](out)
        target = at_desk(new_url())
        with pytest.raises((Damaged, JournalError)):
            target.import_(out)
        assert target.store.head()[0] == 0


def test_a_journal_that_went_another_way_is_refused_and_both_stay(
    desk: Desk, new_url: Callable[[], str], at_desk: At, tmp_path: Path
) -> None:
    visit = filled(desk)
    desk.backup(tmp_path / "copy.sqlite")
    copy = at_desk(tmp_path / "copy.sqlite")
    desk.add(visit, "step", {"note": "here"})
    copy.add(visit, "step", {"note": "there"})
    copy.export(tmp_path / "out")
    before = everything(desk)
    with pytest.raises(Conflict, match=f"the same first {desk.store.head()[0] - 1} events and then differ"):
        desk.import_(tmp_path / "out")
    assert everything(desk) == before
    # the newer work of one is entered again, under the same ids
    newer = copy.store.events(after=copy.store.head()[0] - 1)
    from earthwright.records import Draft

    desk.add_all([Draft(e.visit, e.kind, e.body, e.by, e.id, e.at) for e in newer])
    assert desk.read(visit).entries[-1].body == {"note": "there"}
    assert desk.verify().whole


def test_backup_while_others_write_and_restore(
    desk: Desk, new_url: Callable[[], str], at_desk: At, tmp_path: Path
) -> None:
    visit = filled(desk)
    with desk.store.reading() as connection:  # somebody is looking, and somebody writes
        from earthwright.records.copy import Snapshot

        count = len(list(Snapshot(connection).rows()))
        desk.add(visit, "step", {"note": "meanwhile"})
        assert len(list(Snapshot(connection).rows())) == count
    saved = tmp_path / "saved.sqlite"
    assert desk.backup(saved) == desk.store.head()[0]
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith("saved")] == ["saved.sqlite"]
    bytes_before = saved.read_bytes()
    elsewhere = at_desk(new_url())
    assert elsewhere.restore(saved) == desk.store.head()[0]
    assert everything(elsewhere) == everything(desk)
    assert saved.read_bytes() == bytes_before
    with pytest.raises(JournalError, match="already holds entries"):
        elsewhere.restore(saved)
    with pytest.raises(JournalError, match="no backup"):
        at_desk(new_url()).restore(tmp_path / "none.sqlite")


def test_a_damaged_journal_gives_no_backup(tmp_path: Path, at_desk: At) -> None:
    file = tmp_path / "a.sqlite"
    desk = at_desk(file)
    filled(desk)
    desk.close()
    raw = bytearray(file.read_bytes())
    place = raw.index(b"read again")
    raw[place] ^= 1
    file.write_bytes(raw)
    with pytest.raises(Damaged):
        at_desk(file).backup(tmp_path / "saved.sqlite")
    assert not list(tmp_path.glob("saved*"))


FORMULAS = [
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "=cmd|'/C calc'!A0",
    "−1" and "-cmd",
    "＝1",
    "%0A",
    "|x",
]


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_is_a_formula(text: str) -> None:
    assert cell(text) == "'" + text
    assert cell({"k": text}).startswith("k")
    assert cell([text]) == "'" + text


@pytest.mark.parametrize("text", ["0.03", "-0.02", "+5", "over-range", ">99.9", "12 Lane", "", "-", "a=b"])
def test_readings_stay_as_typed(text: str) -> None:
    assert cell(text) == ("'-" if text == "-" else text)


def test_formulas_in_an_export_begin_with_an_apostrophe(desk: Desk, tmp_path: Path) -> None:
    visit = desk.start('=HYPERLINK("http://example.org")', by="+A1", client="@x")
    desk.add(visit, "part", {"id": "water", "name": "-A2+3", "=key": "x"}, "=who")
    desk.add(visit, "step", {"read": "together", "bond": "=b", "shown": "=0.02", "note": 'a,"b"\r\n=1+1'}, "=who")
    desk.export(tmp_path / "out")
    for name in ("readings", "entries"):
        text = (tmp_path / "out" / "csv" / f"{name}.csv").read_bytes().decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text)))
        assert len(rows) > 1
        for row in rows[1:]:
            for value in row:
                assert not value.startswith(("=", "+", "-", "@", "\t", "\r"))


def test_a_large_backup_comes_back_without_reading_the_journal_for_every_event(
    cluster_url: str, tmp_path: Path, at_desk: At
) -> None:
    """In PostgreSQL the time grew with the square of the events: the guards kept a plan made while the journal was small."""
    one = at_desk(tmp_path / "one.sqlite")
    for number in range(8):
        one.take_in((VISITS / "03-paint.toml").read_bytes(), again=number > 0)
    count = one.backup(tmp_path / "saved.sqlite")
    other = at_desk(cluster_url)
    assert other.restore(tmp_path / "saved.sqlite") == count
    other.take_in((VISITS / "01-masked.toml").read_bytes())
    engine = other.store.engine
    other.close()
    with engine.connect() as connection:
        read = connection.execute(
            text("SELECT seq_tup_read FROM pg_stat_user_tables WHERE relid = 'event'::regclass")
        ).scalar_one()
    engine.dispose()
    assert read < 10 * count, f"{read} rows read for {count} events"
