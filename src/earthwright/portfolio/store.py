"""The store of a portfolio on disk: one folder a table, Parquet files by year, and what must stand apart from it.

``STORE`` can be given to anybody who may see the results. Beside it stands ``STORE.private``: the key of the numbers and
the list that says which number is which home, for those who act on it. A build is taken up where it was stopped. What it
writes are files beside those that are there; none is changed. ``datapackage.json`` names those that count and is replaced
last, in one step: until then everything is as if the build had not begun, and who reads sees the old or the new, whole.
"""

from __future__ import annotations

import json
import os
import secrets
import shutil
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from itertools import pairwise
from pathlib import Path
from typing import Any

import polars as pl
from attrs import define, field

from ..base.errors import EarthwrightError
from .alone import alone
from .describe import description
from .keys import Keys, keys_in
from .sources import Part
from .tables import BY_YEAR, CODE, COUNT, DAY, FLAG, KEY, MILLI, TABLES, TEXT, WORD, Table, code

TYPES: dict[str, Any] = {
    KEY: pl.Int64, CODE: pl.Int32, COUNT: pl.Int32, MILLI: pl.Int32, DAY: pl.Date, FLAG: pl.Boolean, TEXT: pl.String,
}  # fmt: skip
NAMES: dict[str, Any] = {
    "name": pl.String, "stamp": pl.String, "visit": pl.Int64, "year": pl.Int32, "home": pl.Int64, "place": pl.String, "said": pl.String,
}  # fmt: skip
PART: dict[str, Any] = {"part": pl.String}  # which of the files of its year hold a visit: the beginning of their names
PEOPLE = {"key": pl.Int64, "name": pl.String}
BATCH = 250  # visits whose rows are written down together, so that a stop loses no more
MOST_PARTS = 8  # files of a year in a table, before the small ones become one
AT_ONCE = 2_000  # visits whose rows are parted by year in memory; more are read year by year
FORM = "earthwright-portfolio-2"
OLDER = "earthwright-portfolio-1"  # one file a year, written over; read on as it stands


def schema_of(table: Table) -> dict[str, Any]:
    """Name and type of each column as polars has them."""
    return {c.name: TYPES[c.kind] for c in table.columns}


@define
class Store:
    """A portfolio in a folder. Raises EarthwrightError for a folder that holds something else."""

    folder: Path
    private: Path = field()

    @private.default
    def _beside(self) -> Path:
        return self.folder.with_name(self.folder.name + ".private")

    def __attrs_post_init__(self) -> None:
        if self.folder.exists() and not self.folder.is_dir():
            raise EarthwrightError(f"{self.folder} is a file; a portfolio is a folder.")
        if self.folder.is_dir() and any(self.folder.iterdir()) and not self.there:
            raise EarthwrightError(f"{self.folder} holds something other than a portfolio. Name another folder.")

    @property
    def there(self) -> bool:
        """Whether a portfolio was built here, in whole or in part."""
        return (self.folder / "datapackage.json").is_file()

    def alone(self, wait_s: float = 0.0) -> AbstractContextManager[None]:
        """Write to it alone. Raises EarthwrightError when somebody else does and has not ended after waiting [s]."""
        return alone(self.folder, self.private, wait_s)

    def said(self) -> dict[str, Any]:
        """What the store says of itself. Raises EarthwrightError when there is none."""
        try:
            found = json.loads((self.folder / "datapackage.json").read_text(encoding="utf-8"))
        except (OSError, ValueError) as error:
            raise EarthwrightError(
                f"{self.folder} is not a portfolio. Make one: earthwright portfolio build"
            ) from error
        if not isinstance(found, dict) or found.get("form") not in (FORM, OLDER):
            raise EarthwrightError(f"{self.folder} is a portfolio of another form; build it again in another folder.")
        return found

    def keys(self, *, create: bool = False) -> Keys:
        """The key of its numbers. Raises EarthwrightError when it is not there."""
        return keys_in(self.private, create=create and not self.there)

    def again(self, name: str) -> Store:
        """The store of the same visits judged again under other rules; what must stand apart stands apart there too."""
        return Store(self.folder / "again" / name, self.private / "again" / name)

    @property
    def judged_again(self) -> list[str]:
        """The names under which the visits were judged again."""
        return sorted(p.parent.name for p in (self.folder / "again").glob("*/datapackage.json"))

    @property
    def build(self) -> str:
        """Which build counts; empty before the first, and where an older version made it."""
        return str(self.said().get("build", "")) if self.there else ""

    # ---- what stands apart ----

    def _apart(self, what: str, build: str) -> Path:
        return self.private / f"{what}{'-' if build else ''}{build}.parquet"

    def names(self) -> pl.DataFrame:
        """Which number is which visit and home; empty before the first build."""
        path = self._apart("names", self.build)
        if not self.there or not path.is_file():
            return pl.DataFrame(schema=NAMES | PART)
        found = pl.read_parquet(path)
        of_year = pl.col("year").cast(pl.String).str.zfill(4)  # how an older version called them
        return found if "part" in found.columns else found.with_columns(part=of_year)

    def known(self) -> dict[str, str]:
        """Name and stamp of every visit that stands in the tables."""
        return dict(self.names().select("name", "stamp").iter_rows())

    def names_of(self, visits: set[int]) -> dict[int, str]:
        """The name of each visit where it came from, by its number."""
        found = self.names().filter(pl.col("visit").is_in(list(visits))).select("visit", "name")
        return dict(found.iter_rows())

    def places(self) -> dict[int, str]:
        """The place of each home, as far as it is known here."""
        register = self.private / "homes.parquet"
        more = (
            pl.read_parquet(register)
            if register.is_file()
            else pl.DataFrame(schema={"home": pl.Int64, "place": pl.String})
        )
        return dict(more.iter_rows()) | dict(self.names().select("home", "place").iter_rows())

    def people(self) -> dict[int, str]:
        """The name of each person, firm and instrument, as far as it is known here."""
        path = self._apart("people", self.build)
        return dict(pl.read_parquet(path).iter_rows()) if path.is_file() else {}

    def begun(self) -> dict[str, str]:
        """The same of those that were judged by a build that was stopped."""
        return {
            n: s
            for f in self._parts()
            for n, s in pl.read_parquet(f / "names.parquet", columns=["name", "stamp"]).iter_rows()
        }

    def _parts(self) -> list[Path]:
        return sorted(p.parent for p in (self.private / "part").glob("*/names.parquet"))

    def keep_part(self, parts: Sequence[Part]) -> None:
        """Write the rows of some visits down, for :meth:`finish`."""
        folder = self.private / "part" / f"{len(list((self.private / 'part').glob('*'))):06d}-{secrets.token_hex(3)}"
        folder.mkdir(parents=True)
        for table in BY_YEAR:
            rows = [row for part in parts for row in part.rows.get(table.name, ())]
            pl.DataFrame(rows, schema=schema_of(table), orient="row").write_parquet(folder / f"{table.name}.parquet")
        words = sorted({w for part in parts for w in part.words})
        (folder / "words.json").write_text(json.dumps(words, ensure_ascii=False), encoding="utf-8")
        people = sorted({item for part in parts for item in part.people.items()})
        pl.DataFrame(people, schema=PEOPLE, orient="row").write_parquet(folder / "people.parquet")
        said = [(p.name, p.stamp, p.visit, p.year, p.home, p.place, p.said) for p in parts]
        _put(folder / "names.parquet", pl.DataFrame(said, schema=NAMES, orient="row"))

    # ---- the tables ----

    def finish(self, new: Mapping[str, str], gone: Iterable[str], about: Mapping[str, Any]) -> None:
        """Bring what was written down into the tables and take out what is gone.

        new  name and stamp of what is to come in: what was judged before it changed once more is left out
        about  what the store says of itself
        """
        old, build = self.names(), secrets.token_hex(4)
        wanted = pl.DataFrame(list(new.items()), schema={"name": pl.String, "stamp": pl.String}, orient="row")
        parts = {
            f: pl.read_parquet(f / "names.parquet").join(wanted, on=["name", "stamp"], how="semi")
            for f in self._parts()
        }
        came = pl.concat([pl.DataFrame(schema=NAMES), *parts.values()])
        if (twice := came.filter(pl.col("visit").is_duplicated())).height:
            raise EarthwrightError(
                f"Two visits have the same number ({twice['name'][0]}, {twice['name'][1]}). Build with another key."
            )
        out = pl.col("name").is_in([*gone, *came["name"]])
        outdated, kept = old.filter(out), old.filter(~out)
        anew = _written_anew(kept, set(outdated["part"]))
        there = self.counted()
        files = {t: [f for f in fs if t not in _BY_YEAR or f.stem not in anew] for t, fs in there.items()}
        for table in BY_YEAR:
            rewritten = [f for f in there.get(table.name, ()) if f.stem in anew]
            files[table.name] = files.get(table.name, []) + [
                self._write(table.name, f"{year:04d}-{build}", frame)
                for year, frame in _by_year(table, rewritten, outdated["visit"].to_list(), parts)
            ] or [self._write(table.name, f"0000-{build}", pl.DataFrame(schema=schema_of(table)))]
        words = {w for f in parts for w in json.loads((f / "words.json").read_text(encoding="utf-8"))}
        files["code"] = self._with_words(words, build)
        people = self.people() | {k: n for f in parts for k, n in pl.read_parquet(f / "people.parquet").iter_rows()}
        _put(self._apart("people", build), pl.DataFrame(sorted(people.items()), schema=PEOPLE, orient="row"))
        now = pl.concat([kept, came.with_columns(part=pl.lit(""))])
        of_year = pl.format("{}-{}", pl.col("year").cast(pl.String).str.zfill(4), pl.lit(build))
        now = now.with_columns(part=pl.when(pl.col("part").is_in([*anew, ""])).then(of_year).otherwise("part"))
        _put(self._apart("names", build), now.sort("name"))
        homes = came.select("name", "home").join(outdated.select("name", was="home"), on="name")
        erased = bool(list(gone)) or bool((homes["home"] != homes["was"]).any())
        self._switch(files, {**about, "build": build}, at_once=erased)
        shutil.rmtree(self.private / "part", ignore_errors=True)

    def _with_words(self, words: set[str], build: str) -> list[Path]:
        """The files of the table of codes with more words. Raises EarthwrightError when two have one number."""
        had = set(self.words().values()) if self.files("code") else set()
        if had and words <= had:
            return self.files("code")
        rows = sorted((code(w), w) for w in had | words)
        for (one, a), (other, b) in pairwise(rows):
            if one == other:
                raise EarthwrightError(f"'{a}' and '{b}' have the same code; this is a fault of the program.")
        return [self._write("code", f"all-{build}", pl.DataFrame(rows, schema=schema_of(WORD), orient="row"))]

    def put(self, table: str, frame: pl.DataFrame, words: set[str]) -> None:
        """Write a table that does not stand by year, and the words in it."""
        said, token = self.said(), secrets.token_hex(4)
        frame = frame.select([pl.col(n).cast(k) for n, k in schema_of(TABLES[table]).items()])
        files = {table: [self._write(table, f"all-{token}", frame)], "code": self._with_words(words, token)}
        self._switch(self.counted() | files, {k: said[k] for k in ("judged", "build") if k in said})

    def _write(self, table: str, name: str, frame: pl.DataFrame) -> Path:
        path = self.folder / table / f"{name}.parquet"
        path.parent.mkdir(parents=True, exist_ok=True)
        _put(path, frame)
        return path

    def _switch(self, files: Mapping[str, Sequence[Path]], about: Mapping[str, Any], *, at_once: bool = False) -> None:
        """Let these files count, in one step. Those that counted until now stay for whoever is reading, until the next
        switch; ``at_once``: they go, for something in them was taken back."""
        before = [] if at_once else [f for fs in self.counted().values() for f in fs]
        builds = {about.get("build", "")} | (set() if at_once else {self.build})
        paths = {t: [f.relative_to(self.folder).as_posix() for f in sorted(files.get(t, ()))] for t in TABLES}
        part = self.folder / f".datapackage.{secrets.token_hex(4)}.part"
        part.write_text(description(paths, {"form": FORM, **about}), encoding="utf-8")
        os.replace(part, self.folder / "datapackage.json")
        keep = {*before, *(f for fs in files.values() for f in fs)}
        keep |= {self._apart(what, b) for what in ("names", "people") for b in builds}
        there = [f for t in TABLES for f in (self.folder / t).glob("*.parquet")]
        for f in {*there, *self.private.glob("names*.parquet"), *self.private.glob("people*.parquet")} - keep:
            f.unlink()

    def counted(self) -> dict[str, list[Path]]:
        """The files of each table that count, in order of the years; of one moment."""
        if not self.there:
            return {}
        found = self.said()["resources"]
        return {r["name"].replace("-", "_"): [self.folder / p for p in r["path"]] for r in found}

    def files(self, table: str) -> list[Path]:
        """The files of a table that count, in order of the years."""
        return self.counted().get(table, [])

    def words(self) -> dict[int, str]:
        """What each code means."""
        frame = pl.read_parquet(self.files("code"))
        return dict(frame.select("code", "word").iter_rows())


_BY_YEAR = {t.name for t in BY_YEAR}


def _written_anew(kept: pl.DataFrame, touched: set[str]) -> set[str]:
    """Which parts are written anew: those that hold what is out of date, and the small ones of a year that has many.

    From the smallest on, each that is at most twice what was gathered before it: so a visit is written some few times over.
    """
    sizes: dict[str, list[tuple[int, str]]] = defaultdict(list)
    for part, size in kept.group_by("part").len().iter_rows():
        sizes[part[:4]].append((size, part))
    anew = set(touched)
    for of_year in sizes.values():
        gathered = 0
        for size, part in sorted(of_year) if len(of_year) >= MOST_PARTS else ():
            if gathered and size > 2 * gathered:
                break
            gathered += size
            anew.add(part)
    return anew


def _by_year(
    table: Table, rewritten: Sequence[Path], outdated: list[int], parts: Mapping[Path, pl.DataFrame]
) -> Iterator[tuple[int, pl.DataFrame]]:
    """The rows of each year that are to be written: what came in, and what stood in files that are written anew."""
    of_visit = pl.col("visit")
    pieces = [
        pl.scan_parquet(f / f"{table.name}.parquet").filter(of_visit.is_in(n["visit"].to_list()))
        for f, n in parts.items()
    ]
    came = pl.concat([pl.LazyFrame(schema=schema_of(table)), *pieces])
    here = {y for n in parts.values() for y in n["year"]}
    before: dict[int, list[pl.LazyFrame]] = defaultdict(list)
    for f in rewritten:
        before[int(f.stem[:4])].append(pl.scan_parquet(f).filter(~of_visit.is_in(outdated)))
    few: dict[int, pl.DataFrame] | None = None
    if sum(n.height for n in parts.values()) <= AT_ONCE:
        together = came.sort("visit", maintain_order=True).collect()
        few, came = {f["year"][0]: f for f in together.partition_by("year") if f.height}, together.lazy()
    for year in sorted(here | set(before)):
        if few is not None and year not in before:
            rows = few.get(year, together.clear())
        else:
            of_year = pl.concat([*before[year], came.filter(pl.col("year") == year)])
            rows = of_year.sort("visit", maintain_order=True).collect()
        if rows.height:
            yield year, rows


def _put(path: Path, frame: pl.DataFrame) -> None:
    """A file whole or not at all."""
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        frame.write_parquet(part, compression="zstd")
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
