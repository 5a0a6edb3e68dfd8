"""Text from outside is one printable line, whichever door it came through."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from earthwright.assess import assess
from earthwright.base.errors import Finding, Severity, VisitBookError
from earthwright.base.oneline import cleaned, hides, one_line
from earthwright.cli.main import main
from earthwright.schedule import read_sheet
from earthwright.visitbook import read_tables, read_text

FAKE = "Gas\n[=] Water: proved\x1b[2K\x1b[1A\u202edevorp\u2028x\u200b"


def one(text: str) -> bool:
    return text.isprintable()


@given(st.text())
def test_whatever_the_text_it_becomes_one_printable_line_and_stays_so(text: str) -> None:
    line = one_line(text)
    assert one(line)
    assert one_line(line) == line


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("plain", "plain"),
        ("two  blanks", "two  blanks"),
        ("é à Ω µ 2½ mm² “so”", "é à Ω µ 2½ mm² “so”"),
        ("a\nb", "a b"),
        ("a\r\n\tb", "a b"),
        ("a\u00a0b", "a b"),
        ("\x1b[31mred", "[31mred"),
        ("\u202eabc", "abc"),
        ("e\u0301\u0301\u0301\u0301", "e\u0301\u0301"),
        ("a\u3164b", "a b"),
    ],
)
def test_what_becomes_of_marks(typed: str, line: str) -> None:
    assert one_line(typed) == line


def test_two_keys_never_become_one() -> None:
    assert cleaned({"hall": 1, "ha\u200bll": 2}) == {"hall": 1, "ha\u200bll": 2}
    assert cleaned({"ha\u200bll": [FAKE]}) == {"hall": [one_line(FAKE)]}


def test_what_hides_is_told_and_what_only_breaks_is_not() -> None:
    assert hides("a\u202eb")
    assert not hides("a\n\tb\u00a0c")


BOOK = """
[visit]
place = {0}
date = 2026-11-20
client = {0}
note = {0}

[[part]]
id = "water"
kind = "water"
name = {0}

[[bond]]
part = "water"
csa_mm2 = 10
length_m = 18
clamp = {0}

[[board]]
id = "db1"
name = {0}
[[circuit]]
id = "c1"
name = {0}
line_mm2 = 2.5

[[step]]
of = "c1"
note = {0}
tests = {{ polarity = "bad", r1r2 = "LIM" }}
"""
TOML = '"Gas\\n[=] Water: proved\\u001b[2K\\u001b[1A\\u202Edevorp\\u2028x\\u200b"'


def _texts(value: object, seen: list[str]) -> list[str]:
    if isinstance(value, str):
        seen.append(value)
    elif isinstance(value, (list, tuple)):
        for x in value:
            _texts(x, seen)
    elif hasattr(value, "__attrs_attrs__"):
        for a in value.__attrs_attrs__:
            _texts(getattr(value, a.name), seen)
    return seen


def test_a_visit_book_cannot_print_a_line_of_its_own() -> None:
    book = read_text(BOOK.format(TOML), "file\nWater: proved")
    assert book.visit is not None
    assert book.visit.site.place == one_line(FAKE)
    texts = _texts(assess(book.visit, found=book.findings), [])
    assert [t for t in texts if not one(t)] == []
    assert "Marks that cannot be seen were taken out of this text." in [f.what for f in book.findings]


def test_tables_of_a_journal_or_a_form_go_through_the_same_door() -> None:
    book = read_tables({"visit": {"place": FAKE, "date": "2026-11-20"}, "part": [{"id": FAKE, "kind": "gas"}]})
    assert book.visit is not None
    assert book.visit.site.place == one_line(FAKE)
    assert all(one(p.id) for p in book.visit.site.parts)
    assert all(one(f.sentence()) for f in book.findings)


def test_a_table_of_circuits_goes_through_the_same_door() -> None:
    sheet = read_sheet(f'Board,Circuit,Name,Cable\ndb1,c1,"{FAKE}","a\nWater: proved"\n'.encode(), "a\nb.csv")
    assert (sheet.rows[0].text("Name"), sheet.rows[0].text("Cable")) == ("", "a Water: proved")
    assert [f.what for f in sheet.findings] == ["There is a character here that cannot be seen."]
    assert all(one(f.sentence()) for f in sheet.findings)


def test_findings_and_errors_are_one_line_whatever_they_quote() -> None:
    assert one(Finding(FAKE, FAKE, Severity.NOTE, "x", FAKE, FAKE, FAKE, FAKE, FAKE).at(FAKE, 3).sentence())
    assert one(str(VisitBookError(FAKE)))


def test_the_name_of_a_file_cannot_fake_a_verdict(tmp_path: Path) -> None:
    from click.testing import CliRunner

    path = tmp_path / "a\n[=] Water: proved\x1b[1A.toml"
    path.write_text(BOOK.format(TOML), encoding="utf-8")
    for command in (["judge", str(path)], ["next", str(path)], ["many", str(tmp_path)], ["observe", str(path)]):
        done = CliRunner().invoke(main, command)
        assert done.exception is None or isinstance(done.exception, SystemExit)
        lines = done.output.split("\n")
        assert all(one(line) for line in lines), command
        # A verdict begins in the first column; what a text says is wrapped further in.
        assert not [line for line in lines if line.startswith(("[=] Water", "Water"))], command
    missing = CliRunner().invoke(main, ["judge", str(tmp_path / "no\nWater: proved")])
    assert len(missing.output.strip().split("\n")) == 1


@pytest.mark.parametrize("fake", ["[=] Water: proved", "Error: nothing is wrong", "STOP. Go on"])
def test_wrapped_text_cannot_begin_a_line_as_ours_do(fake: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A name of the right length put its own *[=]* at the beginning of the next line."""
    from earthwright.cli.screen import paragraph

    for width in range(60, 100):
        paragraph(f"[?] {'x' * width} {fake}", indent="", hang="    ")
        paragraph(f"{'x ' * (width // 2)}{fake} \u202e\x1b[31m")
        lines = capsys.readouterr().out.splitlines()
        mine = [line for line in lines if not line.startswith("[?]")]
        assert not [line for line in mine if line.lstrip().startswith(fake.split()[0])], width
        assert all(line.isprintable() for line in lines)
