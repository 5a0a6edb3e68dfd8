"""Many visit books at once."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.cli import main
from earthwright.cli.many import BookLine, row

VISITS = Path(__file__).parents[1] / "visits"


def test_the_worst_comes_first_and_a_broken_book_stops_nothing(tmp_path: Path) -> None:
    for name in ("00-control", "02-flattered", "16-open-pen"):
        (tmp_path / f"{name}.toml").write_text((VISITS / f"{name}.toml").read_text(encoding="utf-8"))
    (tmp_path / "broken.toml").write_text("= no visit book")
    out = tmp_path / "all.csv"
    done = CliRunner().invoke(main, ["many", str(tmp_path), "-o", str(out), "--json"])
    assert done.exit_code == 4, done.output
    rows = json.loads(done.stdout[done.stdout.index("[") :])
    assert [Path(r["file"]).stem for r in rows] == ["16-open-pen", "02-flattered", "broken", "00-control"]
    assert rows[0]["alarms"] == 1
    assert (rows[1]["disproved"], rows[1]["exit_code"]) == (1, 1)
    assert "cannot be read" in rows[2]["said"]
    assert (rows[3]["proved"], rows[3]["exit_code"]) == (1, 0)
    with out.open(encoding="utf-8-sig", newline="") as file:
        assert [r["place"] for r in csv.DictReader(file)] == [r["place"] for r in rows]


def test_a_place_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    (tmp_path / "v.toml").write_text('[visit]\nplace = "=1+1"\ndate = 2026-11-20\n')
    out = tmp_path / "all.csv"
    assert CliRunner().invoke(main, ["many", str(tmp_path / "v.toml"), "-o", str(out)]).exit_code == 0
    with out.open(encoding="utf-8-sig", newline="") as file:
        assert next(csv.DictReader(file))["place"] == "'=1+1"


def test_several_processes_give_the_same_rows(tmp_path: Path) -> None:
    text = (VISITS / "02-flattered.toml").read_text(encoding="utf-8")
    for number in range(9):
        (tmp_path / f"v{number}.toml").write_text(text)
    found = [CliRunner().invoke(main, ["many", str(tmp_path), "--json", "--processes", str(n)]).stdout for n in (1, 2)]
    assert found[0] == found[1]
    assert len(json.loads(found[0])) == 9


def test_an_empty_folder_says_so(tmp_path: Path) -> None:
    done = CliRunner().invoke(main, ["many", str(tmp_path)])
    assert done.exit_code == 2
    assert "no visit book" in done.output


def test_a_disproved_conductor_of_a_circuit_counts_and_one_file_is_one_visit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit code 1 and nothing disproved would be a list that hides the worst."""
    text = (VISITS / "30-one-graph.toml").read_text(encoding="utf-8").replace("shown = 0.28", 'shown = "over-range"')
    (tmp_path / "v.toml").write_text(text)
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, ["many", "v.toml", str(tmp_path), "--json"])
    rows = json.loads(done.stdout)
    assert len(rows) == 1
    assert rows[0]["disproved"] == 2  # the bond to the gas pipe, and c7
    assert done.exit_code == rows[0]["exit_code"] == 1


def test_each_line_names_its_file_and_counts_in_english(tmp_path: Path) -> None:
    (tmp_path / "v.toml").write_text((VISITS / "02-flattered.toml").read_text(encoding="utf-8"))
    (tmp_path / "dir.toml").mkdir()
    done = CliRunner().invoke(main, ["many", str(tmp_path)])
    assert "1 disproved" in done.output
    assert "v.toml)" in done.output
    assert "1 bond not shown" in done.output
    assert "1 visit, 1 that needs somebody." in done.output
    assert "dir.toml" not in done.output


def test_a_visit_in_which_all_is_well_was_judged_all_the_same(tmp_path: Path) -> None:
    """Without a bond nothing is proved, and the line must not say that there was nothing to judge."""
    text = '[visit]\nplace = "1 Larch BookLine"\ndate = 2026-11-20\n[supply]\nsystem = "TN-S"\n[[board]]\nid = "db1"\n'
    reading = '[[step]]\nread = "functional"\nof = "db1"\npoint = "SPD"\noutcome = "good"\n'
    (tmp_path / "v.toml").write_text(text + reading)
    done = CliRunner().invoke(main, ["many", str(tmp_path / "v.toml")])
    assert "1 test meets its rule" in done.output


def test_a_fault_of_the_program_costs_one_row(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("nought")

    monkeypatch.setattr("earthwright.cli.many.assess", broken)
    (tmp_path / "v.toml").write_text((VISITS / "02-flattered.toml").read_text(encoding="utf-8"))
    done = CliRunner().invoke(main, ["many", str(tmp_path)])
    assert done.exit_code == 3
    assert "a fault of the program, not judged: ZeroDivisionError: nought" in done.output


def test_a_stopped_run_goes_on_where_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    judged: list[str] = []

    def stopping(path: Path) -> BookLine:
        if len(judged) == 2:
            raise KeyboardInterrupt
        judged.append(path.name)
        return row(path)

    monkeypatch.setattr("earthwright.cli.many.row", stopping)
    for number in range(4):
        (tmp_path / f"v{number}.toml").write_text((VISITS / "02-flattered.toml").read_text(encoding="utf-8"))
    out = tmp_path / "all.csv"
    done = CliRunner().invoke(main, ["many", str(tmp_path), "-o", str(out)])
    assert done.exit_code == 130
    assert "Stopped after 2 of 4 visits. Nothing was written. The same command goes on from there." in done.output
    assert not out.exists()
    (tmp_path / "v0.toml").write_text((VISITS / "00-control.toml").read_text(encoding="utf-8"))  # changed meanwhile
    judged.clear()
    monkeypatch.setattr("earthwright.cli.many.row", lambda path: judged.append(path.name) or row(path))
    done = CliRunner().invoke(main, ["many", str(tmp_path), "-o", str(out)])
    assert judged == ["v0.toml", "v2.toml", "v3.toml"]
    with out.open(encoding="utf-8-sig", newline="") as file:
        assert sorted(Path(r["file"]).name for r in csv.DictReader(file)) == [
            "v0.toml",
            "v1.toml",
            "v2.toml",
            "v3.toml",
        ]
    assert [p.name for p in tmp_path.iterdir() if p.name.startswith(".")] == []


def test_a_day_without_rules_is_told(tmp_path: Path) -> None:
    """An archive judged by no rule says so, and does not print the conductor standard as its edition."""
    text = (VISITS / "00-control.toml").read_text(encoding="utf-8").replace("2026-11-20", "2001-11-20")
    (tmp_path / "v.toml").write_text(text)
    done = CliRunner().invoke(main, ["many", str(tmp_path), "--json"])
    (found,) = json.loads(done.stdout)
    assert found["edition"] == ""
    assert "no edition of the wiring rules is known for 2001-11-20" in found["said"]
    assert "1 of 1: no edition" in CliRunner().invoke(main, ["many", str(tmp_path)]).output


def test_visits_of_a_journal_are_judged_as_their_books_are(tmp_path: Path) -> None:
    """And one that is corrected between two runs is judged anew."""
    books = [tmp_path / f"{n}.toml" for n in ("00-control", "02-flattered", "16-open-pen")]
    for book in books:
        book.write_text((VISITS / book.name).read_text(encoding="utf-8"), encoding="utf-8")
    journal = str(tmp_path / "journal.sqlite")
    assert CliRunner().invoke(main, ["keep", "in", *map(str, books), "--journal", journal]).exit_code == 0
    found = {}
    for where in (str(tmp_path), journal):
        done = CliRunner().invoke(main, ["many", where, "--json"])
        found[where] = json.loads(done.stdout[done.stdout.index("[") :])
        assert done.exit_code == 1
    assert len(found[journal]) == 3
    for kept, book in zip(found[journal], found[str(tmp_path)], strict=True):
        assert {**kept, "file": ""} == {**book, "file": ""}
    none = CliRunner().invoke(main, ["many", f"sqlite:///{tmp_path / 'nothing.sqlite'}"])
    assert none.exit_code == 5
    assert "There is no journal" in none.output
