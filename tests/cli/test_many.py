"""Many visit books at once."""

from __future__ import annotations

import csv
import json
from pathlib import Path

from click.testing import CliRunner

from earthwright.cli import main

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
