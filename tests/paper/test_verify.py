"""Documents checked: unchanged, changed in every way we can think of, signed, signed and then changed, not ours, bombs."""

from __future__ import annotations

import datetime as dt
import io
import json
import logging
import shutil
import subprocess
import sys
import zlib
from pathlib import Path

import pikepdf
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import pkcs12
from cryptography.x509.oid import NameOID

import earthwright
from earthwright.assess import assess
from earthwright.base.build import build_mark
from earthwright.desk.demo import visit_text
from earthwright.paper import attachments, bounds, signing
from earthwright.paper.attachments import CannotRead, read_inside
from earthwright.paper.documents import make_document
from earthwright.paper.pdf import Attached, print_page
from earthwright.paper.signing import CannotSign, check_signatures, sign_pdf
from earthwright.paper.verify import Verified, verify
from earthwright.visitbook import read_text

TODAY = dt.date(2026, 11, 25)
SECRET = b"correct horse"


def document(book: str, name: str = "evidence sheet") -> bytes:
    read = read_text(book)
    assert read.visit is not None
    return make_document(assess(read.visit, found=read.findings, broken=read.broken), name, book=book, draft=True)


@pytest.fixture(scope="module")
def made_pdf() -> bytes:
    return document(visit_text())


def outcomes(found: Verified) -> dict[str, str]:
    return {c.name: c.outcome for c in found.checks}


def words(found: Verified, name: str) -> str:
    return next(c.words for c in found.checks if c.name == name)


# ---- unchanged ----


@pytest.mark.parametrize("name", ["bonding record", "condition report", "letter", "evidence sheet"])
def test_an_unchanged_document_agrees_in_everything(name: str) -> None:
    found = verify(document(visit_text(), name), TODAY)
    assert found.agrees
    assert set(outcomes(found).values()) == {"agrees"}
    assert found.document == name
    assert "BS 7671:2018+A4" in words(found, "record and readings")


def test_faults_in_the_visit_book_are_part_of_the_record_and_agree_too() -> None:
    book = visit_text().replace("length_m = 16", "length_m = true")
    assert verify(document(book), TODAY).agrees


# ---- changed ----


def resaved(content: bytes, change: object) -> bytes:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(content)) as pdf:
        change(pdf)  # type: ignore[operator]
        pdf.save(out)
    return out.getvalue()


def attach(pdf: pikepdf.Pdf, name: str, content: bytes) -> None:
    pdf.attachments[name] = pikepdf.AttachedFileSpec(pdf, content)


def other_digits(pdf: pikepdf.Pdf) -> None:
    book = pdf.attachments["visit.toml"].get_file().read_bytes().decode()
    assert "shown = 0.31" in book
    attach(pdf, "visit.toml", book.replace("shown = 0.31", "shown = 0.32").encode())


def other_verdict(pdf: pikepdf.Pdf) -> None:
    record = json.loads(pdf.attachments["record.json"].get_file().read_bytes())
    record["bonds"][1].update(verdict="proved", named="")
    attach(pdf, "record.json", json.dumps(record).encode())


def other_page(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[1]
    page.Contents = pdf.make_stream(page.Contents.read_bytes() + b"\n0 0 m 100 100 l S\n")


def covered(pdf: pikepdf.Pdf) -> None:
    note = pikepdf.Dictionary(
        Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.FreeText, Rect=[0, 0, 300, 300], Contents="C3"
    )
    pdf.pages[0].Annots = pikepdf.Array([pdf.make_indirect(note)])


def saved_again(pdf: pikepdf.Pdf) -> None:
    pass


@pytest.mark.parametrize(
    ("change", "differs", "said"),
    [
        (other_digits, "record and readings", "clamp current 2, shown: 0.31 in the record, 0.32 from the readings"),
        (other_verdict, "record inside", "states another"),
        (other_verdict, "record and readings", "bond gas, verdict: proved in the record, disproved from the readings"),
        (other_page, "paper and record", "page 2 differs"),
        (covered, "paper and record", "page 1 differs"),
        (saved_again, "paper and record", "the pages draw the same"),
    ],
)
def test_each_change_is_found_and_named(made_pdf: bytes, change: object, differs: str, said: str) -> None:
    found = verify(resaved(made_pdf, change), TODAY)
    assert not found.agrees
    assert outcomes(found)[differs] == "differs"
    assert said in words(found, differs)


def test_a_consistent_forgery_of_record_and_facts_does_not_survive_the_readings(made_pdf: bytes) -> None:
    """Somebody who knows the format changes the verdict, the hash and the page data together."""
    from earthwright.paper.page import hash_of

    def forge(pdf: pikepdf.Pdf) -> None:
        record = json.loads(pdf.attachments["record.json"].get_file().read_bytes())
        facts = json.loads(pdf.attachments["document.json"].get_file().read_bytes())
        record["bonds"][1].update(verdict="proved", named="")
        facts["record"] = hash_of(record)
        attach(pdf, "record.json", json.dumps(record).encode())
        attach(pdf, "document.json", json.dumps(facts).encode())
        pdf.docinfo["/Keywords"] = f"record {hash_of(record)}"

    found = verify(resaved(made_pdf, forge), TODAY)
    assert outcomes(found) == {
        "record inside": "agrees",
        "record and readings": "differs",
        "paper and record": "differs",
    }


def test_bytes_added_at_the_end_are_found(made_pdf: bytes) -> None:
    found = verify(made_pdf + b"\n% nothing to see\n", TODAY)
    assert "bytes were added" in words(found, "paper and record")
    assert not found.agrees


def test_every_byte_of_a_page_counts(made_pdf: bytes) -> None:
    """A flipped bit anywhere is found, or the file cannot be read at all."""
    for place in range(200, len(made_pdf), len(made_pdf) // 12):
        flipped = made_pdf[:place] + bytes([made_pdf[place] ^ 1]) + made_pdf[place + 1 :]
        try:
            assert not verify(flipped, TODAY).agrees, place
        except CannotRead:
            continue


def test_without_the_visit_book_nothing_is_claimed() -> None:
    read = read_text(visit_text())
    assert read.visit is not None
    found = verify(make_document(assess(read.visit), "evidence sheet"), TODAY)
    assert outcomes(found) == {
        "record inside": "agrees",
        "record and readings": "cannot be checked here",
        "paper and record": "cannot be checked here",
    }
    assert not found.agrees


def test_another_version_of_the_program_is_said_and_not_called_a_forgery(
    made_pdf: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    import earthwright.assess.visit
    import earthwright.paper.verify

    monkeypatch.setattr(earthwright.assess.visit, "__version__", "9.9.9")
    monkeypatch.setattr(earthwright.paper.verify, "__version__", "9.9.9")
    found = verify(made_pdf, TODAY)
    assert outcomes(found) == {
        "record inside": "agrees",
        "record and readings": "cannot be checked here",
        "paper and record": "cannot be checked here",
    }
    assert found.answer == "cannot be checked here"
    assert "every verdict is the same" in words(found, "record and readings")


def test_another_build_of_this_version_is_said_and_not_called_a_forgery(
    made_pdf: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A change of the program between two papers of one version was called a difference."""
    import earthwright.paper.verify

    monkeypatch.setattr(earthwright.paper.verify, "build_mark", lambda: "000000000000")
    monkeypatch.setattr(
        earthwright.paper.verify, "make_document", lambda *a, **k: document(visit_text().replace("16", "17"))
    )
    found = verify(made_pdf, TODAY)
    assert found.answer == "cannot be checked here"
    said = words(found, "paper and record")
    assert "build 000000000000" in said
    assert build_mark() in said


def test_a_build_is_known_by_what_judges_and_prints(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import shutil

    import earthwright.base.build as build

    source = Path(earthwright.__file__).parent
    copy = tmp_path / "earthwright"
    shutil.copytree(source, copy, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(build, "files", lambda name: copy)
    of = build.build_mark.__wrapped__
    assert of() == build_mark(), "the same files elsewhere are the same build"
    for name, same in (("web/app.py", True), ("x.pyc", True), ("paper/text.py", False), ("rules/data/new.toml", False)):
        with (copy / name).open("a", encoding="utf-8") as file:
            file.write("\n")
        assert (of() == build_mark()) is same, name


# ---- what today's edition would say ----


def test_today_an_old_report_with_an_fi_alone_would_come_out_otherwise() -> None:
    whole = (Path(__file__).parent / "complete.toml").read_text(encoding="utf-8")
    book = whole.replace("date = 2026-11-20", "date = 2026-10-01", 1)
    book += "[[observation]]\nwhat = 'a'\nwhere = 'b'\ncode = 'FI'\n"
    said = " ".join(verify(document(book), TODAY).today)
    assert "BS 7671:2018+A4:2026" in said
    assert "The codes led to unsatisfactory; under them they lead to satisfactory" in said
    assert "led to" not in " ".join(verify(document(book.replace("10-01", "11-01")), TODAY).today)
    assert "not reviewed since 2027-05-25" in " ".join(verify(document(book), dt.date(2040, 1, 1)).today)


# ---- not ours, broken, too large ----


def plain_page(**files: bytes) -> bytes:
    page = {"title": "t", "place": "p", "date": "2026-11-20", "day_said": "", "year": 2026, "month": 11, "day": 20, "number": "", "hash": "0" * 64,
            "draft": "", "missing": [], "editions": [], "program": "", "signatures": [], "content": "", "inspector": "",
            "groups": [], "bonds": [], "clauses": "", "constants": "", "decision": "", "not_judged": [], "taken_in": []}  # fmt: skip
    attached = [Attached(name.replace("_", "."), content, "text/plain", "data", "x") for name, content in files.items()]
    return print_page("evidence.typ", page, {}, attached)


def test_what_is_no_document_of_ours_is_refused_with_the_reason(made_pdf: bytes) -> None:
    for content, said in (
        (b"", "no PDF"),
        (b"%PDF-1.7 nonsense", "no PDF"),
        (plain_page(), "no record of ours inside"),
        (plain_page(document_json=b"{}", record_json=b"{}"), "not of the kind"),
        (plain_page(document_json=b"{", record_json=b"{}"), "cannot be read"),
        (plain_page(document_json=b"[" * 100_000, record_json=b"{}"), "cannot be read"),
        (plain_page(**{f"f{i}_x": b"x" for i in range(17)}), "17 files are attached"),
    ):
        with pytest.raises(CannotRead, match=said):
            verify(content, TODAY)
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(made_pdf)) as pdf:
        pdf.save(out, encryption=pikepdf.Encryption(owner="a", user="b"))
    with pytest.raises(CannotRead, match="encrypted"):
        verify(out.getvalue(), TODAY)


def test_a_small_file_that_stands_for_a_huge_one_is_not_unpacked(made_pdf: bytes) -> None:
    def bomb(pdf: pikepdf.Pdf) -> None:
        pdf.attachments["record.json"].get_file().obj.write(
            zlib.compress(b" " * (attachments.LARGEST_ATTACHMENT + 1), 9), filter=pikepdf.Name.FlateDecode
        )

    content = resaved(made_pdf, bomb)
    assert len(content) < 300_000
    with pytest.raises(CannotRead, match="larger than"):
        verify(content, TODAY)


def test_limits_are_limits(made_pdf: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bounds, "LARGEST_FILE", len(made_pdf))
    assert read_inside(made_pdf).files
    monkeypatch.setattr(bounds, "LARGEST_FILE", len(made_pdf) - 1)
    with pytest.raises(CannotRead, match="too large"):
        read_inside(made_pdf)


def test_without_the_extra_it_says_what_is_needed(made_pdf: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pikepdf", None)
    with pytest.raises(CannotRead, match="extra 'verify'"):
        read_inside(made_pdf)
    for name in [m for m in sys.modules if m.startswith("pyhanko")]:
        monkeypatch.setitem(sys.modules, name, None)
    monkeypatch.setitem(sys.modules, "pyhanko", None)
    with pytest.raises(CannotSign, match="extra 'sign'"):
        check_signatures(made_pdf)
    with pytest.raises(CannotSign, match="extra 'sign'"):
        sign_pdf(made_pdf, "designer", Path("k.p12"), SECRET, "0")


# ---- electronic signatures ----

NOW = dt.datetime.now(dt.UTC)


def certificate(name: str, start: dt.datetime, end: dt.datetime) -> tuple[bytes, bytes]:
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    use = x509.KeyUsage(True, True, False, False, False, False, False, False, False)
    cert = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(end)
        .add_extension(use, critical=True)
        .sign(key, hashes.SHA256())
    )
    packed = pkcs12.serialize_key_and_certificates(b"k", key, cert, None, serialization.BestAvailableEncryption(SECRET))
    return packed, cert.public_bytes(serialization.Encoding.PEM)


@pytest.fixture(scope="module")
def signer(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, bytes]:
    packed, pem = certificate("J. Example", NOW - dt.timedelta(days=1), NOW + dt.timedelta(days=30))
    path = tmp_path_factory.mktemp("keys") / "j.p12"
    path.write_bytes(packed)
    return path, pem


@pytest.fixture(scope="module")
def signed(made_pdf: bytes, signer: tuple[Path, bytes]) -> bytes:
    once = sign_pdf(made_pdf, "inspected and tested by", signer[0], SECRET, "0" * 64)
    return sign_pdf(once, "authorised for issue", signer[0], SECRET, "0" * 64)


def how(content: bytes, *trusted: bytes, now: dt.datetime | None = None) -> list[tuple[str, str]]:
    return [(s.role, s.outcome) for s in check_signatures(content, trusted, now)]


def test_good_unknown_and_expired_are_told_apart(signed: bytes, signer: tuple[Path, bytes]) -> None:
    roles = ("inspected and tested by", "authorised for issue")
    assert how(signed, signer[1]) == [(r, "good") for r in roles]
    assert how(signed) == [(r, "unknown signer") for r in roles]
    stranger = certificate("Somebody", NOW - dt.timedelta(days=1), NOW + dt.timedelta(days=9))[1]
    assert how(signed, stranger) == [(r, "unknown signer") for r in roles]
    assert how(signed, signer[1], now=NOW + dt.timedelta(days=31)) == [(r, "expired") for r in roles]
    assert "J. Example" in check_signatures(signed)[0].signer


def test_altered_and_appended_are_told_apart(signed: bytes, signer: tuple[Path, bytes], made_pdf: bytes) -> None:
    flipped = signed[:3000] + bytes([signed[3000] ^ 1]) + signed[3001:]
    assert how(flipped, signer[1])[0] == ("inspected and tested by", "altered")
    with_note = io.BytesIO(signed)
    from pyhanko.pdf_utils import generic
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

    writer = IncrementalPdfFileWriter(with_note)
    page = writer.root["/Pages"]["/Kids"][0]
    box = generic.ArrayObject([generic.NumberObject(x) for x in (0, 0, 90, 90)])
    page["/MediaBox"] = box
    writer.update_container(page)
    writer.write_in_place()
    changed = with_note.getvalue()
    assert changed.startswith(signed)
    assert how(changed, signer[1])[-1] == ("authorised for issue", "appended")
    assert not verify(changed, TODAY).agrees
    assert how(signed + b"\n% more\n", signer[1])[-1][1] == "appended"
    assert how(made_pdf) == []


def test_a_signed_document_still_agrees_with_its_record_but_one_changed_before_signing_does_not(
    signed: bytes, made_pdf: bytes, signer: tuple[Path, bytes]
) -> None:
    found = verify(signed, TODAY)
    assert found.agrees, words(found, "paper and record")
    assert "signatures and change nothing else" in words(found, "paper and record")
    forged = sign_pdf(resaved(made_pdf, other_page), "designer", signer[0], SECRET, "0")
    assert how(forged, signer[1]) == [("designer", "good")], "the signature itself is fine"
    assert not verify(forged, TODAY).agrees, "but the paper is not"


def test_a_page_changed_inside_the_signing_step_is_found(made_pdf: bytes, signer: tuple[Path, bytes]) -> None:
    """A change in the very revision that is signed is covered by the signature; only our own comparison sees it."""
    from pyhanko.pdf_utils import generic
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

    first = io.BytesIO(made_pdf)
    writer = IncrementalPdfFileWriter(first)
    page = writer.root["/Pages"]["/Kids"][0]
    page["/Rotate"] = generic.NumberObject(180)
    writer.update_container(page)
    writer.write_in_place()
    content = sign_pdf(first.getvalue(), "designer", signer[0], SECRET, "0")
    assert how(content, signer[1]) == [("designer", "good")]
    found = verify(content, TODAY)
    assert "page 1 was changed (/Rotate)" in words(found, "paper and record")


def test_signing_keeps_what_the_file_says_it_is(signed: bytes) -> None:
    with pikepdf.open(io.BytesIO(signed)) as pdf, pdf.open_metadata() as meta:
        assert (meta["pdfaid:part"], meta["pdfaid:conformance"], meta["pdfuaid:part"]) == ("3", "A", "1")
        assert len(pdf.attachments) == 3


def test_a_second_tool_agrees(signed: bytes, tmp_path: Path) -> None:
    tool = shutil.which("pdfsig")
    assert tool, "this check asks poppler's pdfsig (Debian: apt install poppler-utils)"
    (tmp_path / "s.pdf").write_bytes(signed)
    done = subprocess.run([tool, str(tmp_path / "s.pdf")], capture_output=True, text=True, check=False)
    assert done.stdout.count("Signature is Valid") == 2
    assert done.stdout.count("ETSI.CAdES.detached") == 2
    (tmp_path / "f.pdf").write_bytes(signed[:3000] + bytes([signed[3000] ^ 1]) + signed[3001:])
    done = subprocess.run([tool, str(tmp_path / "f.pdf")], capture_output=True, text=True, check=False)
    assert "Signature is Valid" not in done.stdout


def test_a_role_is_taken_once_and_bad_keys_are_refused(
    signed: bytes, made_pdf: bytes, signer: tuple[Path, bytes], tmp_path: Path
) -> None:
    with pytest.raises(CannotSign, match="already signed as 'inspected and tested by'"):
        sign_pdf(signed, "inspected and tested by", signer[0], SECRET, "0")
    with pytest.raises(CannotSign, match="pass phrase is wrong"):
        sign_pdf(made_pdf, "designer", signer[0], b"guess", "0")
    with pytest.raises(CannotSign, match="cannot be read"):
        sign_pdf(made_pdf, "designer", tmp_path / "none.p12", SECRET, "0")
    (tmp_path / "junk.p12").write_bytes(b"junk")
    with pytest.raises(CannotSign, match="no PKCS#12"):
        sign_pdf(made_pdf, "designer", tmp_path / "junk.p12", SECRET, "0")
    for name, start, end in (("old", -9, -1), ("new", 1, 9)):
        packed, _ = certificate(name, NOW + dt.timedelta(days=start), NOW + dt.timedelta(days=end))
        (tmp_path / f"{name}.p12").write_bytes(packed)
        with pytest.raises(CannotSign, match="not today"):
            sign_pdf(made_pdf, "designer", tmp_path / f"{name}.p12", SECRET, "0")
    with pytest.raises(CannotSign, match="trust cannot be read"):
        check_signatures(signed, (b"-----BEGIN CERTIFICATE-----\nxxxx\n-----END CERTIFICATE-----\n",))


def test_neither_key_nor_pass_phrase_reaches_the_document_or_a_log(
    signed: bytes, made_pdf: bytes, signer: tuple[Path, bytes], caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.DEBUG):
        sign_pdf(made_pdf, "designer", signer[0], SECRET, "0")
        check_signatures(signed)
    assert SECRET.decode() not in caplog.text
    assert [r.name for r in caplog.records if r.name != "asyncio"] == []
    assert SECRET not in signed
    key, _, _ = pkcs12.load_key_and_certificates(signer[0].read_bytes(), SECRET)
    assert key is not None
    secret = key.private_numbers().private_value.to_bytes(32, "big")  # type: ignore[union-attr]
    assert secret not in signed
    assert logging.getLogger("pyhanko").level == logging.NOTSET
    assert signing.SAID
