"""Kept visits as tables: nothing personal in them, only what is new is judged, and one bad book costs one row."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

pl = pytest.importorskip("polars", reason="the extra 'portfolio' is not installed")

from click.testing import CliRunner  # noqa: E402

from earthwright.assess import assess  # noqa: E402
from earthwright.base.errors import EarthwrightError  # noqa: E402
from earthwright.cli import main  # noqa: E402
from earthwright.desk import Desk  # noqa: E402
from earthwright.portfolio import sources  # noqa: E402
from earthwright.portfolio.build import build  # noqa: E402
from earthwright.portfolio.engines import Frames, digest, rows_of  # noqa: E402
from earthwright.portfolio.flatten import flatten  # noqa: E402
from earthwright.portfolio.keys import Keys  # noqa: E402
from earthwright.portfolio.register import read_register  # noqa: E402
from earthwright.portfolio.store import Store, schema_of  # noqa: E402
from earthwright.portfolio.tables import BY_YEAR, TABLES, code  # noqa: E402
from earthwright.visitbook import read_book  # noqa: E402

VISITS = Path(__file__).parents[1] / "visits"
SOME = ("00-control", "02-flattered", "08-ring-broken-cpc", "22-long-six", "28-live-and-lapsed")


@pytest.fixture
def books(tmp_path: Path) -> Path:
    folder = tmp_path / "books"
    folder.mkdir()
    for name in SOME:
        text = (VISITS / f"{name}.toml").read_text(encoding="utf-8")
        who = 'inspector = "Q. Inventedname"\nfirm = "Madeup and Daughters"\nclient = "Z. Clientperson"\n'
        lines = [x for x in text.splitlines(keepends=True) if x.split(" =")[0] not in ("inspector", "firm", "client")]
        (folder / f"{name}.toml").write_text(
            "".join(lines).replace("[visit]\n", f"[visit]\n{who}", 1), encoding="utf-8"
        )
    return folder


def tables(store: Store) -> dict[str, list[tuple[object, ...]]]:
    return {t.name: rows_of(Frames(store)[t.name]) for t in BY_YEAR}


def test_nothing_personal_stands_in_the_tables_and_every_column_is_described(books: Path, tmp_path: Path) -> None:
    store = Store(tmp_path / "estate")
    made = build(str(books), store, processes=1)
    assert (made.new, made.failed) == (len(SOME), ())
    names = store.names()
    places = set(names["place"])
    assert len(places) == len(SOME)
    everything = b"".join(f.read_bytes() for f in store.folder.rglob("*") if f.is_file())
    texts = json.dumps([rows_of(Frames(store)[t]) for t in Frames(store)], default=str)
    for personal in (*places, *names["name"], "Inventedname", "Madeup", "Clientperson"):
        assert personal.encode() not in everything
        assert personal not in texts
    assert oct((tmp_path / "estate.private").stat().st_mode & 0o777) == "0o700"
    said = json.loads((store.folder / "datapackage.json").read_text(encoding="utf-8"))
    for resource in said["resources"]:
        table = TABLES[resource["name"].replace("-", "_")]
        for path in resource["path"]:
            assert dict(pl.read_parquet_schema(store.folder / path)) == schema_of(table)
        assert [f["name"] for f in resource["schema"]["fields"]] == list(table.names)
        assert all(f["description"] and ("unit" in f or f["type"] != "number") for f in resource["schema"]["fields"])
    # What stands there is what the visit says: 34 m of 6 mm² read 0.10 Ω with one end off, and the bond is proved.
    long_six = names.filter(pl.col("name") == "22-long-six.toml")["visit"][0]
    read = [r for r in tables(store)["reading"] if r[0] == long_six and r[4] == code("conductor")]
    assert [(r[5], r[6], r[12]) for r in read] == [("0.10", 100, 1)]
    bond = [v for v in tables(store)["verdict"] if v[0] == long_six]
    assert [(v[3], v[4]) for v in bond] == [(code("bond"), code("proved"))]


def test_only_what_is_new_is_judged_and_it_comes_to_the_same(books: Path, tmp_path: Path) -> None:
    store, whole = Store(tmp_path / "a"), Store(tmp_path / "b")
    late = books / "08-ring-broken-cpc.toml"
    aside = tmp_path / late.name
    shutil.move(late, aside)
    build(str(books), store, processes=1)
    shutil.move(aside, late)
    changed = books / "00-control.toml"  # another year: its rows leave the file of the old one
    changed.write_text(
        changed.read_text(encoding="utf-8").replace("date = 2026-11-20", "date = 2025-03-02"), encoding="utf-8"
    )
    (books / "22-long-six.toml").unlink()
    made = build(str(books), store, processes=1)
    assert (made.new, made.gone) == (2, 1)
    whole.private.mkdir()
    shutil.copy(store.private / "key", whole.private / "key")
    build(str(books), whole, processes=1)
    assert {t: digest(r) for t, r in tables(store).items()} == {t: digest(r) for t, r in tables(whole).items()}
    assert build(str(books), store, processes=1).new == 0
    before = tables(store)
    (tmp_path / "empty").mkdir()
    with pytest.raises(EarthwrightError, match=r"None of the 4 visits .* is in .*empty\. Is it another folder"):
        build(str(tmp_path / "empty"), store, processes=1)
    assert tables(store) == before
    assert build(str(books), store, processes=1, anew=True).new == 4
    assert tables(store) == before


def test_a_journal_is_read_from_its_last_event_on(books: Path, tmp_path: Path) -> None:
    desk = Desk(tmp_path / "journal.sqlite")
    ids = [desk.take_in(p.read_bytes()) for p in sorted(books.glob("*.toml"))[:3]]
    store, url = Store(tmp_path / "estate"), str(tmp_path / "journal.sqlite")
    assert build(url, store, processes=1).new == 3
    assert build(url, store, processes=1).new == 0
    heading = next(e for e in desk.read(ids[1]).entries if e.kind == "visit")
    desk.correct(heading.id, {**heading.body, "date": "2024-05-05"}, "wrong day")
    assert build(url, store, processes=1).new == 1
    assert {r[3] for r in tables(store)["visit"]} >= {dt.date(2024, 5, 5)}
    assert len(tables(store)["visit"]) == 3
    desk.erase(ids[1], "asked to", "Q. Inventedname", fields=("place", "client"))
    home = dict(store.names().select("name", "home").iter_rows())[ids[1]]
    assert build(url, store, processes=1).new == 1
    assert home not in {r[2] for r in tables(store)["visit"]}
    for file in [*(store.folder / "visit").iterdir(), *store.private.glob("names*")]:  # nor in what stood there before
        assert home not in pl.read_parquet(file)["home"].to_list()
    desk.close()


def test_a_stopped_build_goes_on_where_it_was(books: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = Store(tmp_path / "estate")

    def stop(done: int, of: int) -> None:
        if done == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build(str(books), store, processes=1, tell=stop)
    assert not store.there
    (books / "02-flattered.toml").write_text((books / "00-control.toml").read_text(encoding="utf-8"), encoding="utf-8")
    made = build(str(books), Store(tmp_path / "estate"), processes=1)
    assert made.new + made.taken_up == len(SOME)
    assert 2 <= made.taken_up <= 3
    assert len(tables(store)["visit"]) == len(SOME)


def test_bad_books_and_days_without_rules_are_rows_with_their_reason(books: Path, tmp_path: Path) -> None:
    (books / "broken.toml").write_text("= no visit book", encoding="utf-8")
    (books / "undated.toml").write_text('[visit]\nplace = "x"\ndate = "never"\n', encoding="utf-8")
    old = (books / "00-control.toml").read_text(encoding="utf-8").replace("date = 2026-11-20", "date = 2001-11-20")
    (books / "old.toml").write_text(old, encoding="utf-8")
    done = CliRunner().invoke(
        main, ["portfolio", "build", str(books), "-o", str(tmp_path / "estate"), "--processes", "1"]
    )
    assert done.exit_code == 3, done.output
    assert "broken.toml: it is no visit book." in done.output
    store = Store(tmp_path / "estate")
    found = {(r[2], r[3]) for r in tables(store)["not_judged"]}
    assert found == {
        (code(sources.NOT_OURS), False), (code(sources.UNREAD), False), (code(sources.NO_EDITION), True),
    }  # fmt: skip
    asked = CliRunner().invoke(main, ["portfolio", "ask", str(tmp_path / "estate"), "gas-bond"])
    assert asked.exit_code == 0
    assert "gas bond" in asked.output


def test_nothing_in_the_tables_rests_on_what_a_further_reading_could_show() -> None:
    """That half of the work is left out where thousands are judged."""
    for path in [*sorted(VISITS.glob("*.toml"))[::3], *sorted((VISITS / "practice").glob("*.toml"))[::6]]:
        book = read_book(path)
        assert book.visit is not None
        found = [
            flatten(
                assess(book.visit, found=book.findings, broken=book.broken, ahead=ahead), Keys(b"k" * 32), 1, 2026
            ).rows
            for ahead in (True, False)
        ]
        assert found[0] == found[1], path.name


def test_two_builds_at_once_do_not_spoil_the_store(books: Path, tmp_path: Path) -> None:
    """The second is refused in words; a process that holds the store and is killed leaves it free."""
    store, other = Store(tmp_path / "estate"), Store(tmp_path / "estate")
    build(str(books), store, processes=1)
    before = tables(store)
    (books / "02-flattered.toml").unlink()
    holds = f"from pathlib import Path; from earthwright.portfolio.store import Store\nwith Store(Path({str(store.folder)!r})).alone():\n print(1, flush=True); input()"
    with subprocess.Popen([sys.executable, "-c", holds], stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"1\n"
        with pytest.raises(EarthwrightError, match=r"Somebody else is writing to .*estate\."):
            build(str(books), other, processes=1)
        register = tmp_path / "homes.csv"
        register.write_text("place\n1 Row\n", encoding="utf-8")
        with pytest.raises(EarthwrightError, match="Somebody else is writing"):
            read_register(register, other)
        assert tables(store) == before
        process.kill()
    assert build(str(books), other, processes=1).gone == 1
