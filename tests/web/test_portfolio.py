"""The pages over the tables of many homes: every section, sorted without script, every answer and table for a spreadsheet."""

from __future__ import annotations

import csv
import datetime as dt
import html
import io
import json
import re
import sys
from pathlib import Path

import pytest

pytest.importorskip("polars", reason="the extra 'portfolio' is not installed")

import pikepdf
from asked import Site
from click.testing import CliRunner

from earthwright.cli import main
from earthwright.desk import Desk
from earthwright.portfolio.again import judge_again
from earthwright.portfolio.answers import asked_on
from earthwright.portfolio.build import build
from earthwright.portfolio.printed import contents
from earthwright.portfolio.register import read_register
from earthwright.portfolio.sections import NAMED, Looking, section, sections
from earthwright.portfolio.sources import AsIf
from earthwright.portfolio.store import Store
from earthwright.web.settings import Settings

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))
from invented.estate import TODAY, estate


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    folder = tmp_path_factory.mktemp("pages")
    made, desk = estate(14), Desk(folder / "journal.sqlite")
    for text in made.books.values():
        desk.take_in(text)
    store = Store(folder / "tables")
    build(str(folder / "journal.sqlite"), store, processes=1)
    (folder / "homes.csv").write_text(made.register(), encoding="utf-8")
    read_register(folder / "homes.csv", store)
    judge_again(str(folder / "journal.sqlite"), store, AsIf("2018+A4"), processes=1)
    now = dt.datetime.combine(TODAY, dt.time(12))
    return Site(desk, Settings(now=lambda: now, portfolio=str(store.folder)))


def test_every_section_stands_on_the_first_page_and_on_its_own(site: Site) -> None:
    first = site.get("/portfolio/")
    assert first.status_code == 200
    assert "by the rules of each visit" in first.text
    for name in NAMED:
        assert f'href="/portfolio/{name}"' in first.text
        assert site.get(f"/portfolio/{name}").status_code == 200, name
    assert 'href="/portfolio/"' in site.get("/").text
    for gone in (
        "/portfolio/nothing",
        "/portfolio/answer/nothing.csv",
        "/portfolio/table/nothing.csv",
        "/portfolio/table/..%2Fx.csv",
    ):
        assert site.get(gone).status_code == 404


def test_a_table_sorts_by_each_column_without_script_and_leads_to_the_visit(site: Site) -> None:
    plain = site.get("/portfolio/bonds").text
    homes = re.findall(r'<th scope="row">(?:<a href="(/v/[^"]+)">)?([^<]+)', plain)
    assert len(homes) > 2
    assert all(link for link, _ in homes)
    assert site.get(homes[0][0]).status_code == 200
    assert [int(h[1].split()[0]) for h in homes] == sorted(int(h[1].split()[0]) for h in homes)
    back = site.get("/portfolio/bonds?sort=-home").text
    assert 'aria-sort="descending"' in back
    assert [h[1] for h in re.findall(r'<th scope="row">(<a[^>]*>)?([^<]+)', back)] == [h[1] for h in reversed(homes)]
    for odd in ("?sort=x%3Cscript%3E", "?from=9999", "?from=-1", "?again=..%2F.."):
        answer = site.get(f"/portfolio/bonds{odd}")
        assert answer.status_code == 200
        assert "<script>" not in answer.text.replace("<script src", "")


def test_answers_and_tables_come_as_csv_in_words(site: Site) -> None:
    answer = site.get("/portfolio/answer/gas-bond.csv")
    assert answer.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert rows
    assert rows[0]["home"].endswith(("Marlfield", "Quay", "Sallow", "Marsh"))
    readings = list(csv.DictReader(io.StringIO(site.get("/portfolio/table/reading.csv").content.decode("utf-8-sig"))))
    conductor = next(r for r in readings if r["test"] == "conductor" and r["display"] == "value")
    assert float(conductor["value"]) == float(conductor["shown"])
    assert conductor["unit"] == "Ω"


def test_the_printed_report_says_what_the_pages_say_and_holds_every_list(site: Site, tmp_path: Path) -> None:
    out = tmp_path / "report.pdf"
    store = site.app.state.settings.portfolio
    done = CliRunner().invoke(
        main, ["portfolio", "report", store, "-o", str(out), "--on", str(TODAY), "--title", "Invented Homes"]
    )
    assert done.exit_code == 0, done.output
    with pikepdf.open(out) as pdf:
        answer = pdf.attachments["gas-bond.csv"].get_file().read_bytes()
        assert {"cpc.csv", "due.csv", "moved.csv", "alike-inspector.csv"} <= set(pdf.attachments)
    assert answer == site.get("/portfolio/answer/gas-bond.csv").content
    look = Looking(Store(Path(store)), asked_on(TODAY))
    page = json.dumps(contents(look, sections(look), ""), ensure_ascii=False)
    for name in NAMED:
        found = section(look, name)
        assert found is not None
        shown = html.unescape(site.get(f"/portfolio/{name}").text)
        for sentence in (found.title, *found.says):
            assert sentence in shown
            assert json.dumps(sentence, ensure_ascii=False)[1:-1] in page


def test_without_a_store_there_are_no_such_pages(site: Site) -> None:
    bare = Site(site.desk)
    assert bare.get("/portfolio/").status_code == 404
    assert "/portfolio/" not in bare.get("/").text
