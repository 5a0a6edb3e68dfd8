"""Photographs in print: with their observation, numbered and dated, bound to the record by hash, and without place and device."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import shutil
import subprocess
from pathlib import Path

import pikepdf
import pytest
from click.testing import CliRunner
from PIL import Image, ImageDraw
from remedied import CHECKED, DONE, FOUND, visit

from earthwright.assess import assess
from earthwright.base.jpeg import LARGEST, LONGEST, unfit
from earthwright.cli.main import main
from earthwright.desk.camera import CannotShow, made_ready
from earthwright.paper.attachments import read_inside
from earthwright.paper.documents import make_document, page_of
from earthwright.paper.kinds import REPORT
from earthwright.paper.verify import verify
from earthwright.visitbook import read_text

TODAY = dt.date(2026, 11, 28)
WHERE = "52 deg 12 min N, device Invented 9"


def camera(number: int = 1, size: tuple[int, int] = (3000, 2000), turned: int = 6) -> bytes:
    """A large picture with much in it, its place and device in EXIF, lying on its side; a red corner at its top left."""
    picture = Image.effect_noise((size[0] // 8, size[1] // 8), 60 + number).resize(size).convert("RGB")
    ImageDraw.Draw(picture).rectangle((0, 0, 400, 400), fill="red")
    exif = Image.Exif()
    exif[0x0110], exif[0x0112], exif[0x9286] = WHERE, turned, WHERE
    made = io.BytesIO()
    picture.save(made, "JPEG", quality=90, exif=exif, comment=WHERE.encode())
    return made.getvalue()


@pytest.fixture(scope="module")
def ready() -> list[bytes]:
    return [made_ready(camera(n)) for n in range(3)]


def book(ready: list[bytes], ofs: tuple[str, ...] = ("observation 3", "board DB", "")) -> str:
    tables = [
        f'[[picture]]\nhash = "{hashlib.sha256(c).hexdigest()}"\ncaption = "Caption {n}"\nof = "{of}"\ntaken = 2026-11-20T10:1{n}:00\n'
        + ("sketch = true\n" if not of else "")
        for n, (c, of) in enumerate(zip(ready, ofs, strict=True), 1)
    ]
    return visit(FOUND + DONE + CHECKED, after="0.62") + "\n" + "\n".join(tables)


def held(ready: list[bytes]) -> dict[str, bytes]:
    return {hashlib.sha256(c).hexdigest(): c for c in ready}


def printed(text: str, document: str, photos: dict[str, bytes]) -> bytes:
    read = read_text(text)
    assert read.visit is not None
    a = assess(read.visit, found=read.findings, broken=read.broken)
    return make_document(a, document, book=text, draft=True, photos=photos)


def words_of(content: bytes, tmp_path: Path) -> str:
    (tmp_path / "d.pdf").write_bytes(content)
    reader = shutil.which("pdftotext")
    assert reader
    done = subprocess.run([reader, "-layout", tmp_path / "d.pdf", "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


def test_what_a_camera_wrote_is_gone_and_the_picture_stands_upright() -> None:
    taken = camera()
    assert WHERE.encode() in taken
    assert "camera wrote" in unfit(camera(size=(300, 200)))
    made = made_ready(taken)
    assert unfit(made) == ""
    assert WHERE.encode() not in made
    assert len(made) <= LARGEST
    with Image.open(io.BytesIO(made)) as picture:
        assert max(picture.size) == LONGEST
        assert picture.size[1] > picture.size[0], "turned upright, as the camera said"
        red = picture.convert("RGB").getpixel((picture.width - 20, 20))
        assert isinstance(red, tuple)
        assert red[0] > 200 > 80 > red[1]
        assert not picture.getexif()
    assert made_ready(made) == made, "once is enough: the browser may have done it"
    assert made_ready(taken) == made


@pytest.mark.parametrize(
    "content",
    [b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n" + bytes(40), b"<svg/>", camera(size=(64, 64))[:-300], b"GIF89a" + bytes(90)],
    ids=["nothing", "begun", "no png", "svg", "cut off", "gif"],
)  # fmt: skip
def test_what_is_no_picture_is_refused_in_words(content: bytes) -> None:
    with pytest.raises(CannotShow, match="cannot be read"):
        made_ready(content)


def test_a_second_picture_behind_the_first_is_seen(ready: list[bytes]) -> None:
    assert "camera wrote" in unfit(ready[0] + camera(size=(64, 64)))
    assert unfit(ready[0][:-2]) == "it is no whole JPEG"
    assert unfit(ready[0][:20] + b"\xff\xd9") == "it is no whole JPEG"


def test_photographs_stand_with_their_observation_and_the_same_bytes_come_out(
    ready: list[bytes], tmp_path: Path
) -> None:
    text, photos = book(ready), held(ready)
    content = printed(text, REPORT, photos)
    assert printed(text, REPORT, photos) == content
    said = words_of(content, tmp_path)
    first, second = said.index("Photo 1. Caption 1. 20 November 2026"), said.index("Photo 2. Caption 2")
    assert said.index("The socket by the window") < first < said.index("What to do") < second
    assert "Sketch 3. Caption 3. 20 November 2026" in said
    assert "without what the camera wrote" in said
    assert read_inside(content).photos == photos, "byte for byte, so that the record's hashes can be held against them"
    found = verify(content, TODAY)
    assert [c.outcome for c in found.checks] == ["agrees"] * 3, found.checks


def test_a_changed_or_missing_photograph_is_told_plainly(ready: list[bytes], tmp_path: Path) -> None:
    text, photos = book(ready), held(ready)
    content = printed(text, REPORT, photos)
    at = content.index(ready[1]) + len(ready[1]) // 2
    changed = content[:at] + bytes([content[at] ^ 1]) + content[at + 1 :]
    check = verify(changed, TODAY).checks[-1]
    assert check.outcome == "differs"
    assert "Photo 2 (Caption 2) is not in this file as it was taken in: changed, or taken out." in check.words
    # what is not at hand when it is printed, or is another file than the record names, is said in its place
    names = list(photos)
    lacking = printed(text, REPORT, {names[0]: ready[0], names[1]: ready[2]})
    said = words_of(lacking, tmp_path)
    assert "The file at hand is not the one that was taken in: it was changed. Photo 2" in said
    assert "Its file is not at hand. Sketch 3" in said
    assert verify(lacking, TODAY).checks[-1].outcome == "agrees", "the paper says so itself"


def test_no_forged_picture_agrees_and_the_page_is_named(ready: list[bytes]) -> None:
    content = printed(book(ready), REPORT, held(ready))
    for kind, said in ((swapped, "(pictures)"), (turned_negative, "(pictures)"), (added, "(what is drawn, pictures)")):
        out = io.BytesIO()
        with pikepdf.open(io.BytesIO(content)) as pdf:
            kind(pdf)
            pdf.save(out, static_id=True)
        found = verify(out.getvalue(), TODAY)
        assert found.answer == "differs", kind
        assert f"page 1 differs {said}" in found.checks[-1].words, found.checks[-1].words


def shown(pdf: pikepdf.Pdf) -> list[pikepdf.Stream]:
    every = [o for o in pdf.objects if isinstance(o, pikepdf.Stream)]
    return [o for o in every if str(o.get("/Filter")) == "/DCTDecode"]


def swapped(pdf: pikepdf.Pdf) -> None:
    one, other = shown(pdf)[:2]
    first, second = one.read_raw_bytes(), other.read_raw_bytes()
    one.write(second, filter=pikepdf.Name.DCTDecode)
    other.write(first, filter=pikepdf.Name.DCTDecode)


def turned_negative(pdf: pikepdf.Pdf) -> None:
    shown(pdf)[0].Decode = pikepdf.Array([1, 0, 1, 0, 1, 0])


def added(pdf: pikepdf.Pdf) -> None:
    """One of the pictures shown once more, on the first page."""
    page = pdf.pages[0].obj
    page.Resources.XObject["/Lie"] = shown(pdf)[0]
    page.Contents = pikepdf.Array([page.Contents, pdf.make_stream(b"q 200 0 0 200 90 400 cm /Lie Do Q")])


def test_what_the_camera_wrote_is_never_printed(tmp_path: Path) -> None:
    raw = camera(size=(200, 100))
    content = printed(book([raw] * 3), REPORT, held([raw]))
    assert WHERE.encode() not in content
    assert "not made ready (smaller, without place and device)" in words_of(content, tmp_path)


def test_what_is_passed_on_shows_none_and_the_closing_statement_those_of_its_observations(ready: list[bytes]) -> None:
    text, photos = book(ready), held(ready)
    for document, shown in (("report to pass on", 0), ("letter", 0), ("closing statement", 1), ("bonding record", 3)):
        content = printed(text, document, photos)
        assert len(read_inside(content).photos) == shown, document


def test_twelve_photographs_stay_below_three_megabytes(ready: list[bytes]) -> None:
    content = printed(book(ready), REPORT, held(ready))
    beside = len(content) - sum(map(len, ready))
    assert 12 * LARGEST + beside < 3_000_000
    assert beside < 400_000, "each stands in the file once"


def test_a_photograph_belongs_to_what_is_signed(ready: list[bytes]) -> None:
    one, other = read_text(book(ready)).visit, read_text(book([ready[1], ready[0], ready[2]])).visit
    assert one is not None
    assert other is not None
    assert one.paperwork.content != other.paperwork.content
    assert page_of(assess(one), REPORT)["hash"] != page_of(assess(other), REPORT)["hash"]


def test_from_a_file_beside_a_visit_book_to_the_paper(tmp_path: Path) -> None:
    path, shot = tmp_path / "visit.toml", tmp_path / "IMG_1.jpg"
    path.write_text(visit(), encoding="utf-8")
    shot.write_bytes(camera())
    run = CliRunner()
    done = run.invoke(main, ["picture", str(path), str(shot), "--of", "observation 3", "--caption", 'Burnt "pin"'])
    assert done.exit_code == 0, done.output
    (kept,) = (tmp_path / "visit-photos").iterdir()
    out = tmp_path / "d.pdf"
    assert run.invoke(main, ["paper", str(path), "--document", REPORT, "--draft", "-o", str(out)]).exit_code in (0, 1)
    assert read_inside(out.read_bytes()).photos == held([kept.read_bytes()])
    assert 'Burnt "pin"' in words_of(out.read_bytes(), tmp_path)
    bad = run.invoke(main, ["picture", str(path), str(path), "--caption", "x"])
    assert bad.exit_code == 2
    assert "cannot be read" in bad.output
