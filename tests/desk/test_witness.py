"""A journal held against what left the house: each kind of anchor finds what it can, and what none finds is known."""

from __future__ import annotations

import base64
import datetime as dt
import http.server
import json
import re
import shutil
import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from earthwright.assess import assess
from earthwright.cli import main
from earthwright.desk import Desk
from earthwright.paper.documents import make_document
from earthwright.paper.page import record_hash
from earthwright.records import Draft
from earthwright.records.canon import digest
from earthwright.records.event import ISSUE
from earthwright.visitbook import read_text

VISITS = Path(__file__).parents[1] / "visits"


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def said(done: Result) -> str:
    return " ".join(done.output.split())


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    path = tmp_path / "journal.sqlite"
    for name in ("03-paint", "17-neighbours"):
        assert run("keep", "in", VISITS / f"{name}.toml", "--journal", path).exit_code == 0
    return path


def paper_from(journal: Path, target: Path) -> Path:
    """A bonding record printed from the journal, as the pages do."""
    desk = Desk(journal)
    visit = desk.visits()[0].id
    a = desk.record(visit)
    assert a is not None
    target.write_bytes(
        make_document(a, "bonding record", book=desk.as_visit_book(visit), draft=True, journal=desk.store.head())
    )
    desk.close()
    return target


def grown(journal: Path) -> None:
    assert run("keep", "in", VISITS / "00-control.toml", "--journal", journal).exit_code == 0


def rolled_back(journal: Path) -> None:
    """The journal as it was before: a whole, shorter chain. Of itself it tells nothing."""
    earlier = Path(f"{journal}.earlier")
    earlier.unlink(missing_ok=True)
    assert run("keep", "in", VISITS / "03-paint.toml", "--journal", earlier).exit_code == 0
    replaced(journal, earlier)


def chained_anew(journal: Path) -> None:
    """As many events, each hash worked out again after a reading was changed."""
    other = Path(f"{journal}.other")
    other.unlink(missing_ok=True)
    changed = journal.parent / "changed.toml"
    changed.write_text(
        (VISITS / "03-paint.toml").read_text(encoding="utf-8").replace("shown = 0.", "shown = 1.", 1), encoding="utf-8"
    )
    for path in (changed, VISITS / "17-neighbours.toml", VISITS / "00-control.toml"):
        assert run("keep", "in", path, "--journal", other).exit_code == 0
    replaced(journal, other)


def cut(journal: Path) -> None:
    """The last events taken out of the database, guards and all put back."""
    db = sqlite3.connect(journal)
    guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in guards:
        db.execute(f'DROP TRIGGER "{name}"')
    last = db.execute("SELECT visit FROM event ORDER BY no DESC LIMIT 1").fetchone()[0]
    gone = [r[0] for r in db.execute("SELECT body FROM event WHERE visit = ?", (last,))]
    db.execute("DELETE FROM event WHERE visit = ?", (last,))
    db.execute("DELETE FROM personal WHERE visit = ?", (last,))
    for body in gone:
        hash_ = json.loads(body).get("hash") if '"hash"' in body else None
        db.execute("DELETE FROM content WHERE hash = ?", (hash_,))
    for _, sql in guards:
        db.execute(sql)
    db.commit()
    db.close()


def replaced(journal: Path, by: Path) -> None:
    for end in ("", "-wal", "-shm"):
        Path(f"{journal}{end}").unlink(missing_ok=True)
    shutil.copy(by, journal)


def anchors_of(journal: Path, folder: Path) -> dict[str, Path]:
    made = {
        "paper": paper_from(journal, folder / "paper.pdf"),
        "export": folder / "out",
        "zip": folder / "out.zip",
        "backup": folder / "copy.sqlite",
        "witness": folder / "witness.txt",
    }
    assert run("keep", "out", made["export"], "--journal", journal).exit_code == 0
    assert run("keep", "out", made["zip"], "--journal", journal).exit_code == 0
    assert run("keep", "backup", made["backup"], "--journal", journal).exit_code == 0
    assert run("keep", "witness", made["witness"], "--journal", journal).exit_code == 0
    return made


@pytest.mark.parametrize("attack", [rolled_back, cut, chained_anew])
def test_every_anchor_finds_a_journal_that_was_rolled_back_cut_or_chained_anew(
    journal: Path, tmp_path: Path, attack: object
) -> None:
    grown(journal)
    made = anchors_of(journal, tmp_path)
    whole = run("keep", "check", "--journal", journal, "--witness", *made.values())
    assert whole.exit_code == 0, whole.output
    assert whole.output.count("is the one it was") == len(made)
    attack(journal)  # type: ignore[operator]
    alone = run("keep", "check", "--journal", journal)
    assert alone.exit_code == 0, "of itself the chain is whole: " + alone.output
    for name, path in made.items():
        found = run("keep", "check", "--journal", journal, "--witness", path)
        assert found.exit_code == 1, name
        expected = "chained anew" if attack is chained_anew else "rolled back or cut"
        assert expected in said(found), name
    differs = run("verify", made["paper"], "--journal", journal)
    assert differs.exit_code == 1


def test_what_is_added_later_is_no_fault(journal: Path, tmp_path: Path) -> None:
    made = anchors_of(journal, tmp_path)
    grown(journal)
    assert run("keep", "witness", made["witness"], "--journal", journal).exit_code == 0
    found = run("keep", "check", "--journal", journal, "--witness", *made.values())
    assert found.exit_code == 0, found.output
    assert len(made["witness"].read_text().splitlines()) == 2


def test_the_head_of_the_chain_stands_on_the_paper_and_is_checked(journal: Path, tmp_path: Path) -> None:
    from earthwright.paper.text import runs

    paper = paper_from(journal, tmp_path / "p.pdf")
    desk = Desk(journal)
    no, head = desk.store.head()
    desk.close()
    for page in runs(paper.read_bytes()):
        assert f"Journal event {no}, {head}" in page
    done = run("verify", paper, "--journal", journal)
    assert done.exit_code == 0, done.output
    grown(journal)
    assert run("verify", paper, "--journal", journal).exit_code == 0
    other = tmp_path / "other.sqlite"
    for name in ("17-neighbours", "03-paint"):
        run("keep", "in", VISITS / f"{name}.toml", "--journal", other)
    assert run("verify", paper, "--journal", other).exit_code == 1


def test_a_paper_is_known_after_the_names_in_its_visit_were_erased(journal: Path, tmp_path: Path) -> None:
    text = (
        (VISITS / "21-steel.toml")
        .read_text(encoding="utf-8")
        .replace("[visit]", '[visit]\nclient = "A. Client (invented)"', 1)
    )
    book = tmp_path / "v.toml"
    book.write_text(text, encoding="utf-8")
    assert run("keep", "in", book, "--journal", journal).exit_code == 0
    paper = paper_from(journal, tmp_path / "p.pdf")
    assert run("verify", paper, "--journal", journal).exit_code == 0
    done = run("keep", "erase", "last", "--by", "J. Example", "--reason", "asked for", "--yes", "--journal", journal)
    assert done.exit_code == 0, done.output
    known = run("verify", paper, "--journal", journal)
    assert known.exit_code == 0, known.output
    assert run("keep", "check", "--journal", journal, "--witness", paper).exit_code == 0


def test_a_log_cut_at_its_end_is_found_by_a_witness(journal: Path, tmp_path: Path) -> None:
    """SQLite promises a whole journal up to the last commit that is whole in its log, and cannot know that one is gone."""
    desk = Desk(journal)
    desk.store.head()
    held = sqlite3.connect(journal)
    held.execute("SELECT count(*) FROM event").fetchone()
    grown(journal)
    witness = tmp_path / "w.txt"
    assert run("keep", "witness", witness, "--journal", journal).exit_code == 0
    copy = tmp_path / "cut.sqlite"
    shutil.copy(journal, copy)
    log = Path(f"{journal}-wal").read_bytes()
    assert log, "the newest commits stand in the log"
    held.close()
    desk.close()
    assert run("keep", "check", "--journal", copy).exit_code == 0, "without its log it is an earlier, whole journal"
    found = run("keep", "check", "--journal", copy, "--witness", witness)
    assert found.exit_code == 1
    assert "rolled back or cut" in said(found)


def test_a_paper_that_names_a_head_of_its_own_is_found_by_the_journal(journal: Path, tmp_path: Path) -> None:
    desk = Desk(journal)
    visit = desk.visits()[0].id
    a = desk.record(visit)
    assert a is not None
    lie = tmp_path / "lie.pdf"
    lie.write_bytes(make_document(a, "letter", book=desk.as_visit_book(visit), draft=True, journal=(3, "0" * 64)))
    desk.close()
    assert run("verify", lie).exit_code == 0, "it is what its visit book prints"
    assert "chained anew" in said(run("verify", lie, "--journal", journal))
    assert run("verify", lie, "--journal", journal).exit_code == 1


def test_hashes_printed_on_records_are_found_in_their_journal(journal: Path, tmp_path: Path) -> None:
    """They were 'not in the chain'."""
    desk = Desk(journal)
    visit = desk.visits()[0].id
    a = desk.record(visit)
    assert a is not None
    printed = record_hash(a)
    desk.close()
    found = run("keep", "check", printed, printed[:16], "--journal", journal)
    assert found.exit_code == 0, found.output
    assert f"{printed}: visit {visit[:8]}" in found.output
    typed = (VISITS / "03-paint.toml").read_text(encoding="utf-8")
    read = read_text(typed)
    assert read.visit is not None
    by_hand = record_hash(assess(read.visit, found=read.findings, broken=read.broken))
    assert run("keep", "check", by_hand, "--journal", journal).exit_code == 0, "printed from the visit book itself"
    assert run("keep", "check", "0" * 64, "--journal", journal).exit_code == 1
    assert run("keep", "check", printed[:11], "--journal", journal).exit_code == 1, "too short to mean anything"


def test_an_issued_record_is_found_in_the_chain_itself_and_a_forged_one_is_not(journal: Path) -> None:
    desk = Desk(journal)
    visit = desk.visits()[0].id
    body = {"document": "letter", "hash": digest(b"x"), "state": "", "record": digest(b"record")}
    desk.add_all([Draft(visit, ISSUE, body)])
    desk.close()
    found = run("keep", "check", digest(b"record"), digest(b"x"), "--journal", journal)
    assert found.exit_code == 0
    assert "record of a document that was issued" in found.output
    assert run("keep", "check", digest(b"another"), "--journal", journal).exit_code == 1


def test_a_paper_of_a_visit_that_is_not_there_is_missed(journal: Path, tmp_path: Path) -> None:
    text = (VISITS / "21-steel.toml").read_text(encoding="utf-8")
    read = read_text(text)
    assert read.visit is not None
    paper = tmp_path / "p.pdf"
    paper.write_bytes(
        make_document(assess(read.visit, found=read.findings, broken=read.broken), "letter", book=text, draft=True)
    )
    assert "was given out" in said(run("keep", "check", "--journal", journal, "--witness", paper))
    run("keep", "in", VISITS / "21-steel.toml", "--journal", journal)
    assert run("keep", "check", "--journal", journal, "--witness", paper).exit_code == 0


@pytest.mark.parametrize(
    "content",
    [b"", b"x", b"{}", b"[]", b'{"schema": "earthwright-witness-1"}', b'{"schema": "earthwright-witness-1", "no": true, "head": 5}',
     b"%PDF-1.7", b"SQLite format 3\0junk", b"PK\x05\x06" + bytes(18), b"[" * 100_000, b"\xff\xfe", b" " * 3_000_000],
)  # fmt: skip
def test_what_is_no_witness_is_refused_with_its_name(journal: Path, tmp_path: Path, content: bytes) -> None:
    for name in ("w.txt", "w.json"):
        (tmp_path / name).write_bytes(content)
        done = run("keep", "check", "--journal", journal, "--witness", tmp_path / name)
        assert done.exit_code == 5, done.output
        assert isinstance(done.exception, SystemExit), done.exception
        assert name in done.output


@pytest.mark.parametrize("stamp", ["zz", "3", 5, [1], {"a": 1}, "\u0663\u0663"])
def test_a_time_stamp_that_is_no_hex_is_said_to_be_damaged(journal: Path, tmp_path: Path, stamp: object) -> None:
    witness = tmp_path / "w.txt"
    assert run("keep", "witness", witness, "--journal", journal).exit_code == 0
    witness.write_text(json.dumps(json.loads(witness.read_text()) | {"stamp": stamp}))
    done = run("keep", "check", "--journal", journal, "--witness", witness)
    assert done.exit_code == 5, done.output
    assert isinstance(done.exception, SystemExit), done.exception
    assert "w.txt: the time stamp in it is damaged" in said(done)


def test_an_encrypted_zip_is_no_witness_and_says_why(journal: Path, tmp_path: Path) -> None:
    export = tmp_path / "out.zip"
    assert run("keep", "out", export, "--journal", journal).exit_code == 0
    content = bytearray(export.read_bytes())
    for header, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):  # bit 0 of the flags: encrypted (APPNOTE.TXT 4.4.4)
        at = content.find(header)
        while at >= 0:
            content[at + flags] |= 1
            at = content.find(header, at + 4)
    export.write_bytes(content)
    done = run("keep", "check", "--journal", journal, "--witness", export)
    assert done.exit_code == 5, done.output
    assert isinstance(done.exception, SystemExit), done.exception
    assert "out.zip: cannot be read as a witness" in said(done)
    assert "encrypted" in said(done)


def test_a_witness_is_written_of_a_whole_journal_and_over_nothing_else(journal: Path, tmp_path: Path) -> None:
    other = tmp_path / "notes.txt"
    other.write_text("my notes")
    assert run("keep", "witness", other, "--journal", journal).exit_code == 2
    assert other.read_text() == "my notes"
    assert run("keep", "witness", tmp_path / "w.txt", "--journal", journal).exit_code == 0
    db = sqlite3.connect(journal)
    for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        db.execute(f'DROP TRIGGER "{name}"')
    db.commit()
    db.close()
    assert run("keep", "witness", tmp_path / "w2.txt", "--journal", journal).exit_code == 1
    assert not (tmp_path / "w2.txt").exists()


# ---- time stamps, by a server on this machine ----


class Server:
    """A time stamp server of our own: what it answers is made by the library's own test server."""

    def __init__(self) -> None:
        from asn1crypto import keys, tsp
        from asn1crypto import x509 as asn1
        from cryptography import x509
        from cryptography.hazmat.primitives import hashes, serialization
        from cryptography.hazmat.primitives.asymmetric import rsa
        from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
        from pyhanko.sign.timestamps import DummyTimeStamper

        key = rsa.generate_private_key(65537, 2048)
        name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Example Clock")])
        now = dt.datetime.now(dt.UTC)
        made = (
            x509.CertificateBuilder().subject_name(name).issuer_name(name).public_key(key.public_key())
            .serial_number(x509.random_serial_number()).not_valid_before(now - dt.timedelta(days=1))
            .not_valid_after(now + dt.timedelta(days=9))
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING]), critical=True)
            .sign(key, hashes.SHA256())
        )  # fmt: skip
        self.pem = made.public_bytes(serialization.Encoding.PEM)
        private = key.private_bytes(
            serialization.Encoding.DER, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
        clock = DummyTimeStamper(
            asn1.Certificate.load(made.public_bytes(serialization.Encoding.DER)), keys.PrivateKeyInfo.load(private)
        )
        asked = self.asked = []
        self.answer: bytes | None = None
        here = self

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                question = self.rfile.read(int(self.headers["Content-Length"]))
                asked.append(question)
                import asyncio

                made = asyncio.run(clock.async_request_tsa_response(tsp.TimeStampReq.load(question))).dump()
                self.send_response(200)
                self.end_headers()
                self.wfile.write(made if here.answer is None else here.answer)

            def log_message(self, *_: object) -> None:
                pass

        self.http = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self.http.server_address[1]}/"
        threading.Thread(target=self.http.serve_forever, daemon=True).start()


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    made = Server()
    yield made
    made.http.shutdown()
    made.http.server_close()


def test_a_time_stamp_says_when_a_server_saw_the_chain(journal: Path, tmp_path: Path, server: Server) -> None:
    witness, trusted = tmp_path / "w.txt", tmp_path / "clock.pem"
    trusted.write_bytes(server.pem)
    done = run("keep", "witness", witness, "--stamp", server.url, "--journal", journal)
    assert done.exit_code == 0, done.output
    assert "time stamped" in done.output
    head = re.findall(r"[0-9a-f]{64}", done.output)[0]
    assert bytes.fromhex(head) in server.asked[-1], "the hash was sent"
    assert len(server.asked[-1]) < 100, "and nothing else"
    found = run("keep", "check", "--journal", journal, "--witness", witness)
    assert found.exit_code == 0, found.output
    assert "Example Clock saw event" in said(found)
    assert "was not asked" in said(found)
    sure = run("keep", "check", "--journal", journal, "--witness", witness, "--trust", trusted)
    assert sure.exit_code == 0, sure.output
    assert "was not asked" not in said(sure)


def test_a_time_stamp_of_another_head_or_by_a_stranger_or_changed_does_not_hold(
    journal: Path, tmp_path: Path, server: Server
) -> None:
    witness = tmp_path / "w.txt"
    run("keep", "witness", witness, "--stamp", server.url, "--journal", journal)
    grown(journal)
    run("keep", "witness", tmp_path / "plain.txt", "--journal", journal)
    stamped, plain = (json.loads(p.read_text()) for p in (witness, tmp_path / "plain.txt"))
    moved = tmp_path / "moved.txt"
    moved.write_text(json.dumps(plain | {"stamp": stamped["stamp"]}))
    done = run("keep", "check", "--journal", journal, "--witness", moved)
    assert done.exit_code == 1
    assert "does not hold" in said(done)
    bad = bytearray.fromhex(stamped["stamp"])
    bad[-20] ^= 1
    moved.write_text(json.dumps(stamped | {"stamp": bytes(bad).hex()}))
    assert run("keep", "check", "--journal", journal, "--witness", moved).exit_code == 1
    moved.write_text(json.dumps(stamped | {"stamp": base64.b16encode(b"junk").decode()}))
    assert run("keep", "check", "--journal", journal, "--witness", moved).exit_code == 1
    stranger = tmp_path / "stranger.pem"
    other = Server()
    stranger.write_bytes(other.pem)
    other.http.shutdown()
    other.http.server_close()
    assert "leads to none you trust" in said(
        run("keep", "check", "--journal", journal, "--witness", witness, "--trust", stranger)
    )


def test_a_server_that_answers_nonsense_or_is_not_there_writes_nothing(
    journal: Path, tmp_path: Path, server: Server
) -> None:
    witness = tmp_path / "w.txt"
    for answer in (b"", b"junk", bytes(300_000)):
        server.answer = answer
        try:
            assert run("keep", "witness", witness, "--stamp", server.url, "--journal", journal).exit_code == 5
        finally:
            server.answer = None
    for url in ("http://127.0.0.1:9/", "file:///etc/hostname", "ftp://x/", "x"):
        done = run("keep", "witness", witness, "--stamp", url, "--journal", journal)
        assert done.exit_code == 5, done.output
    assert not witness.exists()
