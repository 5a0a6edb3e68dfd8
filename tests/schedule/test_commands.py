"""The two commands: a table written for a spreadsheet, and a table filled into a new visit book."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from earthwright.cli import main
from earthwright.schedule import COLUMNS

BOOK = """[visit]
place = "x"
date = 2026-11-20
[[board]]
id = "b1"
[[circuit]]
id = "c1"
length_m = 20
[[step]]
of = "c1"
off = "c1:neutral"
tests = { zs = 0.93 }
"""


def run(*args: object) -> Result:
    return CliRunner().invoke(main, [str(a) for a in args])


@pytest.fixture
def visit(tmp_path: Path) -> Path:
    path = tmp_path / "v.toml"
    path.write_text(BOOK, encoding="utf-8")
    return path


def test_out_and_in_again(visit: Path, tmp_path: Path) -> None:
    table, new = tmp_path / "c.csv", tmp_path / "new.toml"
    assert run("table", visit, "-o", table).exit_code == 0
    content = table.read_bytes()
    assert content.startswith(b"\xef\xbb\xbf" + ",".join(c.header for c in COLUMNS[:4]).encode())
    table.write_text(
        content.decode("utf-8-sig").replace("c1,,radial,final", "c1,Lights,radial,final"), encoding="utf-8"
    )
    done = run("fill", visit, table, "-o", new)
    assert done.exit_code == 0, done.output
    assert "Added: 0 circuits, 1 value of circuits, 0 readings." in done.output
    assert 'name = "Lights"' in new.read_text(encoding="utf-8")


def test_what_is_off_is_said_with_the_readings(visit: Path, tmp_path: Path) -> None:
    table = tmp_path / "c.csv"
    table.write_text("Circuit,Polarity\nc1,good\n", encoding="utf-8")
    done = run("fill", visit, table, "-o", tmp_path / "new.toml")
    assert done.exit_code == 0
    assert "c1:neutral" in done.output


def test_bad_cells_are_told_and_nothing_is_written(visit: Path, tmp_path: Path) -> None:
    table, new = tmp_path / "c.csv", tmp_path / "new.toml"
    table.write_text("Circuit,Zs (Ω),Length (m)\nc1,0.99,21\n", encoding="utf-8")
    done = run("fill", visit, table, "-o", new)
    assert done.exit_code == 3
    assert "B2 (Zs (Ω)): The visit book has 0.93" in done.output
    assert "C2 (Length (m)): The visit book says 20" in done.output
    assert "2 entries to put right" in done.output
    assert not new.exists()


def test_no_file_is_overwritten_or_made_up(visit: Path, tmp_path: Path) -> None:
    table = tmp_path / "c.csv"
    table.write_text("Circuit\nc1\n", encoding="utf-8")
    assert run("fill", visit, table, "-o", visit).exit_code == 2
    assert visit.read_text(encoding="utf-8") == BOOK
    assert run("fill", visit, tmp_path / "none.csv", "-o", tmp_path / "n.toml").exit_code == 7
    assert run("fill", tmp_path / "none.toml", table, "-o", tmp_path / "n.toml").exit_code == 4
    assert run("table", tmp_path / "none.toml", "-o", tmp_path / "n.csv").exit_code == 4


def test_a_board_of_its_own(visit: Path, tmp_path: Path) -> None:
    assert run("table", visit, "--board", "b1", "-o", tmp_path / "a.csv").exit_code == 0
    done = run("table", visit, "--board", "b2", "-o", tmp_path / "b.csv")
    assert done.exit_code == 2
    assert "Known: b1" in done.output


def test_what_cannot_be_read_is_left_out_and_said(visit: Path, tmp_path: Path) -> None:
    visit.write_text(BOOK.replace("length_m = 20", "length_m = -20"), encoding="utf-8")
    done = run("table", visit, "-o", tmp_path / "a.csv")
    assert done.exit_code == 3
    assert "length_m" in done.output
    visit.write_text(BOOK.replace('id = "c1"', "id = 1"), encoding="utf-8")
    done = run("table", visit, "-o", tmp_path / "c.csv")
    assert done.exit_code == 3
    assert "circuit 1: id" in done.output
    visit.write_text("[visit]\nplace = 'x'\n", encoding="utf-8")
    assert run("table", visit, "-o", tmp_path / "b.csv").exit_code == 3


def test_a_fault_of_the_visit_book_comes_before_the_rows_that_rest_on_it(visit: Path, tmp_path: Path) -> None:
    """Twenty rows that say 'the entry of b1 is broken' do not help anybody who is not told what is wrong with b1."""
    visit.write_text(BOOK.replace('id = "b1"', 'id = "b1"\nphases = 2'), encoding="utf-8")
    table = tmp_path / "c.csv"
    table.write_text("Board,Circuit,Name\nb1,c2,two\nb1,c3,three\n", encoding="utf-8")
    done = run("fill", visit, table, "-o", tmp_path / "new.toml")
    assert done.exit_code == 3
    first = done.output.splitlines()[0]
    assert "board b1: phases" in first
    # What is wrong with the board's phases takes nothing from the rows, so they are added and the fault still told.
    assert "Added: 2 circuits" in done.output


def test_readings_of_an_instrument_are_imported_with_their_source(visit: Path, tmp_path: Path) -> None:
    saved, columns, new = tmp_path / "day.csv", tmp_path / "columns.toml", tmp_path / "new.toml"
    saved.write_text("Way;Loop\n1;0.93\n1;0.95\n", encoding="utf-8")
    assert '#Loop = ""  # 0.93, 0.95' in run("import", visit, saved).output
    columns.write_text("[columns]\nWay = 'of'\nLoop = 'zs'\n", encoding="utf-8")
    refused = run("import", visit, saved, "--columns", columns, "-o", new)
    assert refused.exit_code == 3
    assert "What was measured here?" in refused.output
    assert "In which unit" in refused.output
    assert not new.exists()
    columns.write_text(
        "[columns]\nWay = 'of'\nLoop = 'zs'\n[units]\nLoop = 'Ω'\n[things]\n1 = 'c1'\n", encoding="utf-8"
    )
    done = run("import", visit, saved, "--columns", columns, "-o", new)
    assert "Added: 2 readings" in done.output, done.output
    assert "c1:neutral" in done.output  # what was off holds for them
    assert new.read_text(encoding="utf-8").count("day.csv, row ") == 2
    assert run("import", new, saved, "--columns", columns, "-o", tmp_path / "twice.toml").exit_code == 3
