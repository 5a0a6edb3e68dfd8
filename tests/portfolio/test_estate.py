"""Questions to an invented estate: what was planted comes out, on every engine alike."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path

import pytest

pl = pytest.importorskip("polars", reason="the extra 'portfolio' is not installed")

from earthwright.base.errors import EarthwrightError  # noqa: E402
from earthwright.portfolio.again import judge_again  # noqa: E402
from earthwright.portfolio.answers import Answer, answer, frames_for  # noqa: E402
from earthwright.portfolio.build import build  # noqa: E402
from earthwright.portfolio.chance import by_luck, sample_size  # noqa: E402
from earthwright.portfolio.engines import DASK, DUCKDB, ENGINES, SPARK, digest, rows_of  # noqa: E402
from earthwright.portfolio.questions import QUESTIONS, Asked  # noqa: E402
from earthwright.portfolio.register import read_register  # noqa: E402
from earthwright.portfolio.sources import AsIf  # noqa: E402
from earthwright.portfolio.store import Store  # noqa: E402

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))
from invented.estate import CHRISTMAS, TODAY, Estate, estate  # noqa: E402

ASKED = Asked(TODAY, CHRISTMAS, dt.date(2021, 11, 28))
NEEDS = {DUCKDB: "duckdb", DASK: "dask.dataframe", SPARK: "pyspark.sql"}
HOMES = 45


@pytest.fixture(scope="module")
def planted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Estate, Store]:
    folder = tmp_path_factory.mktemp("estate")
    made = estate(HOMES)
    (folder / "books").mkdir()
    for name, text in made.books.items():
        (folder / "books" / name).write_text(text, encoding="utf-8")
    store = Store(folder / "tables")
    build(str(folder / "books"), store, processes=1)
    (folder / "homes.csv").write_text(made.register(), encoding="utf-8")
    assert read_register(folder / "homes.csv", store) == HOMES
    _, again = judge_again(str(folder / "books"), store, AsIf("2018+A4"), processes=1)
    assert again.new == len(made.books)
    return made, store


def ask(store: Store, name: str) -> Answer:
    return answer(store, QUESTIONS[name], ASKED)


@pytest.mark.parametrize(
    "name", ["gas-bond", "cpc", "flattered", "newly-fails", "open-codes", "lapsed", "old-evidence", "never"]
)
def test_what_was_planted_comes_out_and_nothing_else(planted: tuple[Estate, Store], name: str) -> None:
    made, store = planted
    assert made.truth[name], "nothing is planted"
    assert {row[0] for row in ask(store, name).rows} == made.truth[name]


def test_reports_that_no_edition_judges_are_told(planted: tuple[Estate, Store]) -> None:
    made, store = planted
    found = ask(store, "no-rule")
    assert {r[0] for r in found.rows if r[2] < "2008"} == made.truth["before all rules"] != set()
    assert all(r[2] < "2018-07-02" for r in found.rows)  # from then on there are editions in the data


def test_what_falls_due_before_christmas(planted: tuple[Estate, Store]) -> None:
    made, store = planted
    found = ask(store, "due")
    assert {r[0] for r in found.rows if r[3] == "Next inspection, by the report"} == made.truth["due"]
    days = [r[2] for r in found.rows]
    assert days == sorted(days)
    assert days[-1] <= "2026-12-25"


def test_the_inspector_of_habit_stands_out_and_the_chance_is_said(planted: tuple[Estate, Store]) -> None:
    made, store = planted
    found = ask(store, "alike-inspector")
    odd = {r[0] for r, n in zip(found.rows, found.raw, strict=True) if by_luck(*n[3:7], tried=500) < 0.001}
    assert odd == {made.truth["odd-inspector"]}


def test_defects_are_counted_by_area_decade_and_kind(planted: tuple[Estate, Store]) -> None:
    made, store = planted
    raw = ask(store, "defects").raw
    seen = [h for h in made.homes if (h.days and "broken" not in h.plants) or len(h.days) > 1]
    assert sum(r[3] for r in raw) == len(seen)
    assert 0 < sum(r[4] for r in raw) < len(seen)


@pytest.mark.filterwarnings("ignore")  # the engines' own
@pytest.mark.parametrize("engine", [e for e in ENGINES if e in NEEDS])
def test_every_engine_gives_the_same(planted: tuple[Estate, Store], engine: str) -> None:
    pytest.importorskip(NEEDS[engine], reason=f"the extra '{engine}' is not installed")
    _, store = planted
    for q in QUESTIONS.values():
        both = [rows_of(q.ask(frames_for(store, q, "", e), ASKED).select(*q.columns)) for e in ("polars", engine)]
        assert digest(both[0]) == digest(both[1]), q.name
        assert both[0] == both[1]


def test_a_question_says_what_it_lacks(tmp_path: Path) -> None:
    with pytest.raises(EarthwrightError, match="not a portfolio"):
        ask(Store(tmp_path / "nothing"), "bond")
    (tmp_path / "odd").mkdir()
    (tmp_path / "odd" / "file").write_text("x")
    with pytest.raises(EarthwrightError, match="something other"):
        Store(tmp_path / "odd")


def test_a_register_names_all_its_faults_and_changes_nothing(planted: tuple[Estate, Store], tmp_path: Path) -> None:
    _, store = planted
    before = rows_of(frames_for(store, QUESTIONS["never"])["home"])
    (tmp_path / "homes.csv").write_text("place,built\n,1950\n1 Row,new\n2 Row,1960\n2 row,1961\n", encoding="utf-8")
    with pytest.raises(EarthwrightError) as said:
        read_register(tmp_path / "homes.csv", store)
    for part in ("line 2: no place", "line 3: built", "line 5: '2 row' stands there twice"):
        assert part in str(said.value)
    assert rows_of(frames_for(store, QUESTIONS["never"])["home"]) == before


def test_chance_and_sample_size_against_scipy_and_the_textbook() -> None:
    stats = pytest.importorskip("scipy.stats")
    for times, of, others, others_of in ((6, 85, 1, 237), (3, 10, 20, 100), (0, 5, 0, 5), (72, 72, 2, 255)):
        whole, marked = of + others_of, times + others
        assert by_luck(times, of, others, others_of, 1) == pytest.approx(
            stats.hypergeom.sf(times - 1, whole, marked, of), rel=1e-6
        )
    assert sample_size(10**9, 0.05) == 59  # ln 0.05 / ln 0.95, rounded up
    for homes, share, sure, allowed in ((30_000, 0.01, 0.95, 0), (500, 0.05, 0.99, 2), (40, 0.1, 0.9, 0)):
        n, marked = sample_size(homes, share, sure, allowed), int(share * homes) + 1
        assert (
            stats.hypergeom.cdf(allowed, homes, marked, n)
            <= 1 - sure
            < stats.hypergeom.cdf(allowed, homes, marked, n - 1)
        )
    with pytest.raises(ValueError):
        sample_size(10, 0.05, allowed=1)
