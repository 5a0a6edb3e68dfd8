"""Files that would hurt whoever opens them: bounded before they are read. Junk inside gets a sentence and no traceback."""

from __future__ import annotations

import io
import json
import subprocess
import sys
import zlib
from pathlib import Path

import pikepdf
import pytest
from click.testing import CliRunner, Result
from forged import attach, attached, forged, rewritten
from test_verify import TODAY, document
from wide import pairs

from earthwright.cli import main
from earthwright.desk.demo import visit_text
from earthwright.paper.attachments import CannotRead
from earthwright.paper.verify import verify

MEMORY = 500  # MB that checking any file may take


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments], input="x\n")


@pytest.fixture(scope="module")
def made() -> bytes:
    return document(visit_text(), "bonding record")


def pdf_of(objects: list[bytes], trailer: bytes = b"") -> bytes:
    """A PDF file of these objects, the first of which is its catalogue."""
    out, places = b"%PDF-1.7\n", []
    for number, body in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%b\nendobj\n" % (number, body)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    size = len(objects) + 1
    return out + b"xref\n0 %d\n0000000000 65535 f \n%btrailer\n<</Size %d/Root 1 0 R%b>>\nstartxref\n%d\n%%%%EOF\n" % (
        size,
        table,
        size,
        trailer,
        len(out),
    )


def stream(content: bytes, more: bytes = b"", packed: int = 1) -> bytes:
    filters = b"/Filter/FlateDecode" if packed == 1 else b"/Filter[%b]" % (b"/FlateDecode " * packed)
    for _ in range(packed):
        content = zlib.compress(content, 9)
    return b"<<%b%b/Length %d>>\nstream\n%b\nendstream" % (more, filters, len(content), content)


def page_of(body: bytes) -> bytes:
    return pdf_of([b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Count 1/Kids[3 0 R]>>", b"<</Type/Page/Parent 2 0 R/MediaBox[0 0 9 9]/Contents 4 0 R>>", body])  # fmt: skip


def with_object_stream(inner: bytes) -> bytes:
    """A file whose pages stand in an object stream, as a cross-reference stream allows."""
    head = b"2 0 "
    packed = stream(head + inner, b"/Type/ObjStm/N 1/First 4")
    out = b"%PDF-1.7\n"
    first = len(out)
    out += b"1 0 obj\n<</Type/Catalog/Pages 2 0 R>>\nendobj\n"
    third = len(out)
    out += b"3 0 obj\n" + packed + b"\nendobj\n"
    fourth = len(out)
    rows = [(0, 0, 0), (1, first, 0), (2, 3, 0), (1, third, 0), (1, fourth, 0)]
    table = b"".join(a.to_bytes(1, "big") + b.to_bytes(4, "big") + c.to_bytes(1, "big") for a, b, c in rows)
    out += b"4 0 obj\n" + stream(table, b"/Type/XRef/Size 5/W[1 4 1]/Root 1 0 R") + b"\nendobj\n"
    return out + b"startxref\n%d\n%%%%EOF\n" % fourth


GIGA = 1_500_000_000


def zeros(size: int) -> bytes:
    """What a stream of so many zeros packs into, made without packing them: a block that is flushed whole may be said again."""
    pack = zlib.compressobj(9, zlib.DEFLATED, -15)
    block = pack.compress(bytes(10_000_000)) + pack.flush(zlib.Z_FULL_FLUSH)
    times = size // 10_000_000
    checksum = (times * 10_000_000 % 65_521) << 16 | 1  # Adler-32 of zeros
    return b"\x78\xda" + block * times + pack.flush() + checksum.to_bytes(4, "big")


def packed_page(packed: bytes, filters: bytes = b"/FlateDecode") -> bytes:
    return page_of(b"<</Filter%b/Length %d>>\nstream\n%b\nendstream" % (filters, len(packed), packed))


BOMBS = {
    "a page of 1.5 GB in 1.5 MB": lambda: packed_page(zeros(GIGA)),
    "packed twice": lambda: packed_page(zlib.compress(zeros(GIGA)), b"[/FlateDecode/FlateDecode]"),
    "packed twice, named elsewhere": lambda: packed_page(zlib.compress(zeros(GIGA)), b" 9 0 R"),
    "a name in code": lambda: packed_page(zeros(20_000_000), b"/L#5AWDecode"),
    "30 million kids": lambda: with_object_stream(b"<</Type/Pages/Count 1/Kids[" + b"9 0 R " * 5_000_000 + b"]>>"),
    "an array of 20 million": lambda: page_of(b"[" + b"0 " * 20_000_000 + b"]"),
    "arrays 100,000 deep": lambda: page_of(b"[" * 100_000),
    "dictionaries 100,000 deep": lambda: page_of(b"<</a" * 100_000),
    "pages that hold themselves": lambda: pdf_of([b"<</Type/Catalog/Pages 2 0 R>>", b"<</Type/Pages/Count 9/Kids[2 0 R 2 0 R]>>"]),
    "a size of two thousand million": lambda: pdf_of([b"<</Type/Catalog/Pages 2 0 R>>"], b"/Size 2000000000"),
    "too large": lambda: b"%PDF-1.7\n" + bytes(50_000_001),
}  # fmt: skip


@pytest.mark.parametrize("kind", BOMBS)
def test_a_file_that_stands_for_more_than_a_machine_holds_is_refused_unopened(kind: str, tmp_path: Path) -> None:
    """In a process of its own, which may not take more than a stated memory, nor long."""
    file = tmp_path / "bomb.pdf"
    file.write_bytes(BOMBS[kind]())
    # The peak that the kernel keeps for this process alone; getrusage hands down that of the process it was made from.
    peak = "print(next(int(s.split()[1]) for s in open('/proc/self/status') if s.startswith('VmHWM')) // 1024)"
    code = f"from earthwright.cli import main\ntry: main(['verify', {str(file)!r}])\nfinally: {peak}"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 4, done.stderr[-600:]
    assert "Traceback" not in done.stderr
    assert int(done.stdout.split()[-1]) < MEMORY


def test_a_record_of_too_many_values_is_refused(made: bytes) -> None:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(made)) as pdf:
        attach(pdf, "record.json", b"[" + b"[]," * 3_000_000 + b"[]]")
        pdf.save(out)
    with pytest.raises(CannotRead, match="more than 1500000 values"):
        verify(out.getvalue(), TODAY)


@pytest.mark.parametrize("junk", [None, 5, "x", [5], [None], {"file": 3}, [{"file": 5}], True])
def test_findings_that_are_none_get_a_sentence(made: bytes, junk: object, tmp_path: Path) -> None:
    out, file = io.BytesIO(), tmp_path / "j.pdf"
    with pikepdf.open(io.BytesIO(made)) as pdf:
        record = attached(pdf, "record.json")
        record["findings"] = junk
        rewritten(pdf, record)
        pdf.save(out)
    file.write_bytes(out.getvalue())
    done = run("verify", file)
    assert done.exit_code == 1
    assert isinstance(done.exception, SystemExit)
    assert "findings" in done.output


PARTS = ["visit", "bonds", "boards", "program", "editions", "site_evidence", "schema", "model"]


@pytest.mark.parametrize(("name", "junk"), pairs(PARTS, [None, 5, [], {}, [[]], "x\n\x1b[2J"]))
def test_any_part_of_a_record_may_be_junk(made: bytes, name: str, junk: object, tmp_path: Path) -> None:
    out, file = io.BytesIO(), tmp_path / "j.pdf"
    with pikepdf.open(io.BytesIO(made)) as pdf:
        record = attached(pdf, "record.json")
        if record[name] == junk:
            return
        record[name] = junk
        rewritten(pdf, record)
        pdf.save(out)
    file.write_bytes(out.getvalue())
    done = run("verify", file)
    assert done.exit_code in (1, 4, 8)
    assert isinstance(done.exception, SystemExit), done.exception
    assert "\x1b[2J" not in done.output


FACTS = ["document", "record", "content", "program", "says", "draft", "book"]


@pytest.mark.parametrize(("name", "junk"), pairs(FACTS, [None, 5, [], {}, "x\n\x1b[2J"]))
def test_any_part_of_the_facts_may_be_junk(made: bytes, name: str, junk: object, tmp_path: Path) -> None:
    out, file = io.BytesIO(), tmp_path / "j.pdf"
    with pikepdf.open(io.BytesIO(made)) as pdf:
        said = attached(pdf, "document.json")
        said[name] = junk
        attach(pdf, "document.json", json.dumps(said).encode())
        pdf.save(out)
    file.write_bytes(out.getvalue())
    done = run("verify", file)
    assert done.exit_code in (1, 4, 8)
    assert isinstance(done.exception, SystemExit), done.exception
    assert "\x1b[2J" not in done.output


@pytest.mark.parametrize("value", ["<</Type/Sig/Filter/Adobe.PPKLite/Contents<00>/ByteRange[0 1 2 3]>>", "<</Type/Sig>>", "5", "(x)", "[]",
    "<</Contents(x)/ByteRange 5/Filter/Adobe.PPKLite>>", "<</ByteRange[0 9999999999999 -1 3]/Contents<3082>/Filter/Adobe.PPKLite/SubFilter/ETSI.CAdES.detached>>"])  # fmt: skip
def test_a_junk_signature_gets_a_sentence(made: bytes, value: str, tmp_path: Path) -> None:
    out, file = io.BytesIO(), tmp_path / "j.pdf"
    with pikepdf.open(io.BytesIO(made)) as pdf:
        field = pikepdf.Dictionary(FT=pikepdf.Name.Sig, T="designer", V=pikepdf.Object.parse(value.encode()))
        pdf.Root.AcroForm = pikepdf.Dictionary(Fields=pikepdf.Array([pdf.make_indirect(field)]))
        pdf.save(out)
    file.write_bytes(out.getvalue())
    done = run("verify", file)
    assert done.exit_code == 1, done.output
    assert isinstance(done.exception, SystemExit), done.exception


def test_a_name_in_the_file_cannot_print_a_line_of_ours(made: bytes, tmp_path: Path) -> None:
    file = tmp_path / "j.pdf"
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(forged(made, "another version"))) as pdf:
        attach(pdf, "x\nAgrees: everything\x1b[1A", b"x")
        rewritten(pdf, attached(pdf, "record.json"), document="x\n[=] journal: agrees")
        pdf.save(out)
    file.write_bytes(out.getvalue())
    lines = run("verify", file).output.splitlines()
    assert not any(line.startswith(("Agrees", "[=] journal")) for line in lines)
    assert "\x1b" not in "".join(lines)
