"""Forged documents: none agrees. Genuine ones of every kind from several visits, unsigned and signed, all agree."""

from __future__ import annotations

import importlib.util
import io
import re
import warnings
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from forged import DOORS, KINDS, forged
from test_verify import SECRET, TODAY, certificate, document
from wide import pairs

from earthwright.cli import main
from earthwright.desk.demo import visit_text
from earthwright.paper.attachments import CannotRead
from earthwright.paper.kinds import BY_NAME, DOCUMENTS
from earthwright.paper.signing import sign_pdf
from earthwright.paper.verify import verify

HERE = Path(__file__).parent
VISITS = {
    "demo": visit_text(),
    "complete": (HERE / "complete.toml").read_text(encoding="utf-8"),
    "one graph": (HERE.parent / "visits" / "30-one-graph.toml").read_text(encoding="utf-8"),
    "neighbours": (HERE.parent / "visits" / "17-neighbours.toml").read_text(encoding="utf-8"),
}


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments], input=SECRET.decode() + "\n")


@pytest.fixture(scope="module")
def genuine() -> dict[str, bytes]:
    return {
        "bonding record": document(visit_text(), "bonding record"),
        "condition report": document(VISITS["complete"], "condition report"),
    }


@pytest.fixture(scope="module")
def key(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, bytes]:
    import datetime as dt

    now = dt.datetime.now(dt.UTC)
    packed, pem = certificate("J. Example", now - dt.timedelta(days=1), now + dt.timedelta(days=30))
    path = tmp_path_factory.mktemp("keys") / "j.p12"
    path.write_bytes(packed)
    return path, pem


def answered(content: bytes) -> str:
    try:
        return verify(content, TODAY).answer
    except CannotRead:
        return "not a record of ours"


@pytest.mark.parametrize(("kind", "name"), pairs(list(KINDS), ["bonding record", "condition report"]))
def test_no_forgery_agrees(genuine: dict[str, bytes], kind: str, name: str) -> None:
    content = genuine[name]
    try:
        lie = forged(content, kind)
    except (KeyError, IndexError):
        pytest.skip("this document has nothing to do that to")
    assert answered(lie) != "agrees"
    if kind not in (*DOORS, "visit book removed", "another version and verdict"):
        assert answered(lie) == "differs"


@pytest.mark.parametrize("door", DOORS)
def test_a_page_painted_over_behind_something_that_cannot_be_checked_differs(
    genuine: dict[str, bytes], door: str, tmp_path: Path
) -> None:
    """These passed with 'Nothing differs' and exit code 0."""
    lie = tmp_path / "lie.pdf"
    lie.write_bytes(forged(genuine["bonding record"], door, "painted over"))
    done = run("verify", lie)
    assert done.exit_code == 1, done.output
    assert "Differs. Do not rely on this document" in done.output


@pytest.mark.parametrize("name", ["bonding record", "condition report"])
def test_a_genuine_document_of_another_version_cannot_be_checked_and_is_not_accused(
    genuine: dict[str, bytes], name: str, tmp_path: Path
) -> None:
    old = tmp_path / "old.pdf"
    old.write_bytes(forged(genuine[name], "another version"))
    done = run("verify", old)
    assert done.exit_code == 8, done.output
    said = " ".join(done.output.split())
    assert "The words on the pages are those of the record inside" in said
    assert "fonts and what lies over the words were not compared" in said
    assert "Cannot be checked here." in said


@pytest.mark.parametrize("visit", VISITS)
def test_genuine_documents_of_every_kind_agree(visit: str) -> None:
    for name in DOCUMENTS:
        if not BY_NAME[name].private:
            continue  # they hold no record: tests/paper/test_remedial.py
        assert answered(document(VISITS[visit], name)) == "agrees", name


def test_a_genuine_document_agrees_unsigned_signed_once_and_signed_twice(
    genuine: dict[str, bytes], key: tuple[Path, bytes], tmp_path: Path
) -> None:
    paper, pem = tmp_path / "r.pdf", tmp_path / "j.pem"
    pem.write_bytes(key[1])
    content = genuine["bonding record"]
    for role in ("inspected and tested by", "authorised for issue", ""):
        paper.write_bytes(content)
        assert run("verify", paper).exit_code == 0
        if role != "inspected and tested by":
            assert run("verify", paper, "--trust", pem).exit_code == 0
        content = sign_pdf(content, role, key[0], SECRET, verify(content, TODAY).record) if role else content


def test_trust_in_a_file_without_a_signature_fails(
    genuine: dict[str, bytes], key: tuple[Path, bytes], tmp_path: Path
) -> None:
    paper, pem = tmp_path / "r.pdf", tmp_path / "j.pem"
    paper.write_bytes(genuine["bonding record"])
    pem.write_bytes(key[1])
    done = run("verify", paper, "--trust", pem)
    assert done.exit_code == 1
    assert "nobody signed this file electronically" in " ".join(done.output.split())


def test_a_signature_that_was_announced_and_taken_out_is_missed(key: tuple[Path, bytes], tmp_path: Path) -> None:
    visit, paper = tmp_path / "v.toml", tmp_path / "r.pdf"
    visit.write_text(VISITS["complete"], encoding="utf-8")
    for role, how in (("inspected and tested by", ("--electronic",)), ("authorised for issue", ())):
        assert run("sign", visit, "--role", role, "--name", "J. Example", *how).exit_code == 0
    done = run("paper", visit, "--document", "condition report", "-o", paper)
    assert paper.exists(), done.output
    stripped = paper.read_bytes()
    assert "and the file holds no such signature" in " ".join(run("verify", paper).output.split())
    assert run("verify", paper).exit_code == 1
    signed = run("sign", paper, "--role", "inspected and tested by", "--key", key[0], "-o", tmp_path / "s.pdf")
    assert signed.exit_code == 0, signed.output
    assert run("verify", tmp_path / "s.pdf").exit_code == 0
    assert (tmp_path / "s.pdf").read_bytes().startswith(stripped), "stripping gives the unsigned file back"


def test_a_signature_for_another_record_is_none_for_this_one(
    genuine: dict[str, bytes], key: tuple[Path, bytes], tmp_path: Path
) -> None:
    paper = tmp_path / "r.pdf"
    paper.write_bytes(sign_pdf(genuine["bonding record"], "designer", key[0], SECRET, "0" * 64))
    done = run("verify", paper)
    assert done.exit_code == 1
    assert "for another record" in done.output


def test_the_signature_of_another_file_pasted_in_is_void(
    genuine: dict[str, bytes], key: tuple[Path, bytes], tmp_path: Path
) -> None:
    a, b = genuine["bonding record"], genuine["condition report"]
    signed = [sign_pdf(x, "designer", key[0], SECRET, verify(x, TODAY).record) for x in (a, b)]
    found = [re.search(rb"/Contents <([0-9a-fA-F]{400,})>", s[len(x) :]) for s, x in zip(signed, (a, b), strict=True)]
    assert found[0]
    assert found[1]
    pasted = found[1][1][: len(found[0][1])].ljust(len(found[0][1]), b"0")
    paper = tmp_path / "r.pdf"
    paper.write_bytes(a + signed[0][len(a) :].replace(found[0][1], pasted))
    done = run("verify", paper)
    assert done.exit_code == 1
    assert "altered" in done.output


# ---- added behind the end, where the bytes before stay as they were ----


def incremental(content: bytes, what: str) -> bytes:
    from pyhanko.pdf_utils import generic, incremental_writer
    from pyhanko.pdf_utils.generic import NameObject, NumberObject, TextStringObject

    name = NameObject
    out = io.BytesIO(content)
    writer = incremental_writer.IncrementalPdfFileWriter(out)
    page = writer.root["/Pages"]["/Kids"][0]
    if what == "pages turned from above":
        writer.root["/Pages"][name("/Rotate")] = NumberObject(180)
        writer.update_container(writer.root["/Pages"])
    elif what == "font replaced":
        fonts = page["/Resources"]["/Font"]
        font = fonts[next(iter(fonts))]
        font[name("/BaseFont")] = name("/Helvetica")
        writer.update_container(font)
    elif what == "page drawn anew":
        page[name("/Contents")] = writer.add_object(generic.StreamObject(stream_data=b"q Q"))
        writer.update_container(page)
    elif what == "bookmark renamed":
        first = writer.root["/Outlines"]["/First"]
        first[name("/Title")] = TextStringObject("All bonds proved")
        writer.update_container(first)
    elif what == "form for a viewer":
        form = generic.DictionaryObject(
            {name("/Fields"): generic.ArrayObject(), name("/XFA"): TextStringObject("<x/>")}
        )
        writer.root[name("/AcroForm")] = writer.add_object(form)
        writer.update_root()
    elif what == "another catalogue":
        root = generic.DictionaryObject(dict(writer.root.items()))
        root[name("/OpenAction")] = TextStringObject("x")
        writer._force_write_when_empty = True
        writer._root_object = root
        writer._root = writer.add_object(root)
    elif what == "attached file replaced":
        names = writer.root["/Names"]["/EmbeddedFiles"]["/Names"]
        names[0] = TextStringObject("other.json")
        writer.update_container(writer.root["/Names"]["/EmbeddedFiles"])
    writer.write_in_place()
    return out.getvalue()


ADDED = (
    "pages turned from above", "font replaced", "page drawn anew", "bookmark renamed", "form for a viewer",
    "another catalogue", "attached file replaced",
)  # fmt: skip


@pytest.mark.parametrize("what", ADDED)
def test_nothing_but_signatures_may_be_added(genuine: dict[str, bytes], key: tuple[Path, bytes], what: str) -> None:
    """Also when it is signed with the change inside: the signature is good, the paper is not."""
    content = genuine["bonding record"]
    changed = incremental(content, what)
    assert changed.startswith(content)
    expected = "not a record of ours" if what == "attached file replaced" else "differs"
    assert answered(changed) == expected
    record = verify(content, TODAY).record
    assert answered(sign_pdf(changed, "designer", key[0], SECRET, record)) == expected
    after = incremental(sign_pdf(content, "designer", key[0], SECRET, record), what)
    assert answered(after) == expected


def test_an_object_that_no_table_names_is_not_let_through(genuine: dict[str, bytes], key: tuple[Path, bytes]) -> None:
    """A viewer that mends a damaged file by itself would find it and show it."""
    content = genuine["bonding record"]
    record = verify(content, TODAY).record
    signed = sign_pdf(content, "designer", key[0], SECRET, record)
    assert answered(signed) == "agrees"
    page = re.findall(rb"\n(\d+) 0 obj\n<<[^>]*/Type/Page/", content)[0]
    hidden = b"%b 0 obj\n<</Type/Page/Rotate 180>>\nendobj\n" % page
    end = content.rindex(b"startxref")
    assert answered(content + hidden + content[end:]) == "differs"
    assert answered(sign_pdf(content + hidden + content[end:], "designer", key[0], SECRET, record)) == "differs"


def test_a_seeded_campaign_of_mutations(tmp_path: Path) -> None:
    """A hundred here; three thousand by ``./run bench forged_pdfs``. None agrees, none takes long, none ends in a traceback."""
    path = HERE.parents[1] / "benchmarks" / "forged_pdfs.py"
    spec = importlib.util.spec_from_file_location("forged_pdfs", path)
    assert spec is not None
    assert spec.loader is not None
    fuzz = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(fuzz)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        answers, slowest, silent = fuzz.campaign(100, fuzz.genuine_documents(tmp_path))
    assert silent == []
    assert slowest < 20.0
    assert sum(answers.values()) == 100


def test_sign_refuses_what_cannot_be_checked(
    genuine: dict[str, bytes], key: tuple[Path, bytes], tmp_path: Path
) -> None:
    paper = tmp_path / "r.pdf"
    for kind in DOORS:
        paper.write_bytes(forged(genuine["bonding record"], kind))
        done = run("sign", paper, "--role", "designer", "--key", key[0])
        assert done.exit_code != 0, kind
        assert paper.read_bytes() == forged(genuine["bonding record"], kind)
