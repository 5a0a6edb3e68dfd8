"""What a build writes stands beside what is there and counts in one step; a visit is written few times over."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

pl = pytest.importorskip("polars", reason="the extra 'portfolio' is not installed")

from earthwright.portfolio.engines import Frames, rows_of  # noqa: E402
from earthwright.portfolio.sources import Part  # noqa: E402
from earthwright.portfolio.store import MOST_PARTS, OLDER, Store  # noqa: E402
from earthwright.portfolio.tables import TABLES, code  # noqa: E402


def add(
    store: Store, *visits: int, gone: tuple[int, ...] = (), home: int = 0, why: str = "odd", year: int = 2024
) -> None:
    """Bring visits in, each with one row; the year of an even one is the next."""
    parts = []
    for v in visits:
        rows = {"not_judged": [(v, year + (v % 2 == 0), code(why), False)]}
        parts.append(Part(f"{v}", why, v, year + (v % 2 == 0), home or v, f"{v} Row", rows, frozenset((why,)), {v: f"n{v}"}))  # fmt: skip
    store.private.mkdir(exist_ok=True)
    store.keep_part(parts)
    store.finish({p.name: p.stamp for p in parts}, [f"{v}" for v in gone], {"judged": "so"})


def rows(frames: Frames) -> list[tuple[int, int]]:
    return [(r[0], r[2]) for r in rows_of(frames["not_judged"])]


def is_(*visits: int, **why: str) -> list[tuple[int, int]]:
    return [(v, code(why.get(f"v{v}", "odd"))) for v in visits]


@pytest.fixture
def store(tmp_path: Path) -> Store:
    made = Store(tmp_path / "estate")
    add(made, 1, 2, 3, 4, 5)
    return made


def test_new_visits_change_no_file_and_who_reads_sees_old_or_new(store: Store) -> None:
    files = {f: (f.stat().st_ino, f.stat().st_mtime_ns) for f in store.folder.rglob("*.parquet")}
    before = Frames(store)
    add(store, 7)
    assert {f: (f.stat().st_ino, f.stat().st_mtime_ns) for f in files} == files
    assert rows(before) == is_(1, 2, 3, 4, 5)
    assert rows(Frames(store)) == is_(1, 2, 3, 4, 5, 7)
    add(
        store, 3, why="other"
    )  # a visit that changed: the files it stood in are written anew, those of other years are not
    later = Frames(store)
    assert rows(later) == is_(1, 2, 3, 4, 5, 7, v3="other")
    assert {f.name for f in store.files("not_judged")} & {f.name for f in files if f.name.startswith("2025")}
    assert store.names().height == 6
    assert store.known()["3"] == "other"
    add(store, 9)
    assert rows(later) == is_(1, 2, 3, 4, 5, 7, v3="other")


@pytest.mark.parametrize("at", ["the rows", "the list", "the switch"])
def test_a_build_that_is_cut_off_is_as_if_never_begun(store: Store, monkeypatch: pytest.MonkeyPatch, at: str) -> None:
    said, people = (store.folder / "datapackage.json").read_bytes(), store.people()
    where = {"the rows": "not_judged", "the list": "estate.private", "the switch": "estate"}[at]

    def replace(old: Path, new: Path) -> None:
        if Path(new).parent.name == where:
            raise KeyboardInterrupt
        os.rename(old, new)

    with monkeypatch.context() as m:
        m.setattr(os, "replace", replace)
        with pytest.raises(KeyboardInterrupt):
            add(store, 3, 7, gone=(4,), why="other")
    assert (store.folder / "datapackage.json").read_bytes() == said
    assert rows(Frames(store)) == is_(1, 2, 3, 4, 5)
    assert (store.names()["name"].to_list(), store.people()) == (["1", "2", "3", "4", "5"], people)
    store.finish({"3": "other", "7": "other"}, ["4"], {"judged": "so"})  # what was judged is kept
    assert rows(Frames(store)) == is_(1, 2, 3, 5, 7, v3="other", v7="other")


def test_files_that_do_not_count_are_taken_away_and_what_was_taken_back_at_once(store: Store) -> None:
    first = store.files("not_judged")
    add(store, 1, why="other")
    assert all(f.is_file() for f in first)  # for whoever is reading
    add(store, 7)
    assert not first[0].is_file()
    assert first[1].is_file()  # still counts: nothing of its year changed
    with_four = store.files("not_judged")
    add(store, gone=(4,))
    assert [f.is_file() for f in with_four] == [not f.name.startswith("2025") for f in with_four]
    with_five = [f for f in store.files("not_judged") if 5 in pl.read_parquet(f)["visit"]]
    add(store, 5, home=99, why="erased")
    assert not any(f.is_file() for f in with_five)
    assert all(5 not in pl.read_parquet(f)["home"] for f in store.private.glob("names*.parquet"))
    counted = {f for t in TABLES for f in store.files(t)}
    assert set(store.folder.rglob("*.parquet")) == counted


def test_small_files_become_one_and_nothing_is_lost(store: Store) -> None:
    big = tuple(range(101, 301, 2))
    add(store, *big)
    large = max(store.files("not_judged"), key=lambda f: pl.read_parquet(f).height)
    for v in range(11, 91, 2):
        add(store, v)
        assert len([f for f in store.files("not_judged") if f.name.startswith("2024")]) <= MOST_PARTS
    assert large in store.files("not_judged")  # forty visits are no reason to write a hundred anew
    assert rows(Frames(store)) == is_(*sorted({1, 2, 3, 4, 5, *big, *range(11, 91, 2)}))


def test_a_store_of_the_older_form_is_read_on(store: Store) -> None:
    said = json.loads((store.folder / "datapackage.json").read_text(encoding="utf-8"))
    for resource in said["resources"]:
        for at, path in enumerate(resource["path"]):
            old = store.folder / path
            resource["path"][at] = f"{old.parent.name}/{old.stem.split('-')[0]}.parquet"
            old.rename(store.folder / resource["path"][at])
    build = said.pop("build")
    (store.folder / "datapackage.json").write_text(json.dumps({**said, "form": OLDER}), encoding="utf-8")
    pl.read_parquet(store.private / f"names-{build}.parquet").drop("part").write_parquet(
        store.private / "names.parquet"
    )
    (store.private / f"people-{build}.parquet").rename(store.private / "people.parquet")
    assert rows(Frames(store)) == is_(1, 2, 3, 4, 5)
    add(store, 4, 7, why="other")
    assert rows(Frames(store)) == is_(1, 2, 3, 4, 5, 7, v4="other", v7="other")
    assert store.people() == {v: f"n{v}" for v in (1, 2, 3, 4, 5, 7)}
