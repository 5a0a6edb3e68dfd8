"""The worked examples of ARCHITECTURE.md and docs/worked-examples.md are true: applied to a copy, each stands on every surface."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]
PAGES = ("ARCHITECTURE.md", "docs/worked-examples.md")
BOOK = """[visit]
place = "4 Ellergate Row"
date = 2026-11-20
kind = "periodic"
[[leads]]
id = "long"
allowed = "nulled"
[[board]]
id = "db1"
[[circuit]]
id = "c1"
enclosure = "IPX5"
line_mm2 = 1.5
cpc_mm2 = 2.5
[[step]]
read = "armour"
of = "c1"
shown = 0.17
"""
SEES = f"""
import json, runpy, sys
from click.testing import CliRunner
from earthwright.assess import assess
from earthwright.cli.main import main
from earthwright.desk.next_visit import STRUCTURE
from earthwright.paper.documents import page_of, preview
from earthwright.schedule.fill import fill
from earthwright.schedule.read import read_sheet
from earthwright.schedule.write import as_csv
from earthwright.visitbook import read_text
from earthwright.visitbook.schema import book_schema
from earthwright.web.drawing.circuit import circuit_drawing
from earthwright.web.schedule_rows import things
from earthwright.web.specs import SPECS
BOOK = {BOOK!r}
book = read_text(BOOK)
a = assess(book.visit, found=book.findings)
report = page_of(a, "condition report", record="x")
schedule = report["schedules"][0]
open("visit.toml", "w").write(BOOK)
filled = fill(BOOK, read_sheet("Circuit,Armour (Ω)\\r\\nc1,0.17 | 0.18\\r\\n".encode()))
wrong = read_text(BOOK.replace("IPX5", "IP99"))
page = runpy.run_path("docs/reference.py")["page"]()
schema = book_schema()["properties"]
print(json.dumps({{
    "faults": [str(f) for f in book.findings],
    "refused": [f.what for f in wrong.findings],
    "csv": as_csv(book.visit),
    "filled": filled.readings,
    "form": [(s.label("circuit"), s.choices) for s in SPECS["circuit"] if s.key == "enclosure"],
    "place": [t for thing in things(a) for t in thing.keys if thing.id == "c1" and t[0] == "armour"],
    "drawn": circuit_drawing("armour").count("<svg"),
    "details": dict(zip(report["details_head"], schedule["details"][0])),
    "results": dict(zip(report["results_head"], schedule["results"][0])),
    "terminal": CliRunner().invoke(main, ["judge", "visit.toml", "--full"]).output,
    "docs": page,
    "schema": [schema["circuit"]["items"]["properties"]["enclosure"]["enum"], schema["step"]["items"]["properties"]["read"]["enum"]],
    "left_out": STRUCTURE["circuit"],
    "judged": [
        [[r.outcome, [f.family for f in r.findings]] for c in assess(read_text(BOOK.replace("0.17", shown)).visit).circuits for r in c.tests if r.test == "armour"]
        for shown in ("0.17", "'<0.01'", "0.71", "'>99.9'")
    ],
    "larger": [[f.entry, f.severity.value] for f in a.findings if f.family == "size.cpc"],
    "means": CliRunner().invoke(main, ["findings", "size.cpc"]).output,
    "boards": page_of(a, "list of boards")["boards"],
    "pages": [png[1:4].decode() for png in preview(a, "list of boards")],
    "offered": CliRunner().invoke(main, ["paper", "visit.toml", "--document", "list of boards", "--draft", "-o", "boards.pdf"]).output,
}}))
"""


def examples() -> list[tuple[str, str, str]]:
    """File, old and new lines of each diff in the two pages."""
    text = "".join((ROOT / name).read_text(encoding="utf-8") for name in PAGES)
    found = []
    for block in re.findall(r"```diff\n(.*?)```", text, re.S):
        name, *lines = block.splitlines()
        old = [x[1:] for x in lines if x[:1] != "+"]
        new = [x[1:] for x in lines if x[:1] != "-"]
        found.append((name.removeprefix("+++ "), "\n".join(old), "\n".join(new)))
    return found


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    copy = tmp_path_factory.mktemp("copy")
    shutil.copytree(ROOT / "src", copy / "src", ignore=shutil.ignore_patterns("__pycache__"))
    (copy / "docs").mkdir()
    shutil.copy(ROOT / "docs" / "reference.py", copy / "docs")
    for name, old, new in examples():
        if not old:
            assert not (copy / name).exists(), f"{name}: a file of its own is there already"
            (copy / name).write_text(new + "\n", encoding="utf-8")
            continue
        text = (copy / name).read_text(encoding="utf-8")
        assert text.count(old) == 1, f"{name}: the example's own lines are not there: {old}"
        (copy / name).write_text(text.replace(old, new), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", SEES],
        cwd=copy,
        env={**os.environ, "PYTHONPATH": str(copy / "src"), "COLUMNS": "200"},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return dict(json.loads(done.stdout))


def test_a_field_and_a_test_are_one_declaration_in_one_file_each() -> None:
    declared = [name for name, old, _ in examples() if "/site/" in name and old]
    assert list(dict.fromkeys(declared)) == ["src/earthwright/site/circuit.py", "src/earthwright/site/tests.py"]


def test_a_judgement_of_a_figure_meets_fails_and_does_not_guess(seen: dict[str, Any]) -> None:
    meets, below_the_display, fails, open_or_a_lead_off = seen["judged"]
    assert meets == below_the_display == [["meets", []]]
    assert fails == [["fails", ["armour.limit"]]]
    assert open_or_a_lead_off == [["not decided", []]]


def test_a_check_speaks_and_says_what_it_means(seen: dict[str, Any]) -> None:
    assert seen["larger"] == [["c1", "warning"]]
    assert "larger than its line" in " ".join(seen["means"].split())


def test_a_document_is_made_and_offered(seen: dict[str, Any]) -> None:
    assert seen["boards"] == [["db1", "", "the origin"]]
    assert seen["pages"] == ["PNG"]
    assert "boards.pdf" in seen["offered"]


def test_a_field_of_one_declaration_stands_on_every_surface(seen: dict[str, Any]) -> None:
    assert seen["faults"] == []
    assert seen["refused"] == ["This is not one of the words known here."]
    assert "Enclosure of its fittings" in seen["csv"].splitlines()[0]
    assert "IPX5" in seen["csv"]
    assert seen["form"] == [["Enclosure of its fittings", ["IPX4", "IPX5", "IPX7"]]]
    assert seen["details"]["Enclosure"] == "IPX5"
    assert seen["schema"][0] == ["IPX4", "IPX5", "IPX7"]
    assert "| `enclosure` | Enclosure of its fittings | IPX4, IPX5, IPX7 |" in seen["docs"]
    assert "enclosure" not in seen["left_out"]  # the next visit begins with it


def test_a_test_of_one_declaration_stands_on_every_surface(seen: dict[str, Any]) -> None:
    assert "Armour (Ω)" in seen["csv"].splitlines()[0]
    assert "0.17" in seen["csv"]
    assert seen["filled"] == 1
    assert seen["place"] == [["armour", "", ""]]
    assert seen["drawn"] == 1
    assert seen["results"]["Armour Ω"] == "0.17"
    assert "armour" in seen["terminal"]
    assert "0.17" in seen["terminal"]
    assert "armour" in seen["schema"][1]
    assert "| `armour` | Armour | Ω | circuit |" in seen["docs"]
