"""The store of a portfolio on disk: one folder a table, one Parquet file a year, and what must stand apart from it.

``STORE`` can be given to anybody who may see the results. Beside it stands ``STORE.private``: the key of the numbers and
the list that says which number is which home, for those who act on it. A build is taken up where it was stopped, and what
it writes is there whole or not at all, file by file; the list comes last, so a build that died is simply done again.
"""

from __future__ import annotations

import json
import os
import secrets
import shutil
from collections.abc import Iterable, Mapping, Sequence
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
NAMES = {
    "name": pl.String, "stamp": pl.String, "visit": pl.Int64, "year": pl.Int32, "home": pl.Int64, "place": pl.String, "said": pl.String,
}  # fmt: skip
PEOPLE = {"key": pl.Int64, "name": pl.String}
BATCH = 250  # visits whose rows are written down together, so that a stop loses no more
FORM = "earthwright-portfolio-1"


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
        if not isinstance(found, dict) or found.get("form") != FORM:
            raise EarthwrightError(f"{self.folder} is a portfolio of an older form; build it again in another folder.")
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

    # ---- what stands apart ----

    def names(self) -> pl.DataFrame:
        """Which number is which visit and home; empty before the first build."""
        path = self.private / "names.parquet"
        return pl.read_parquet(path) if path.is_file() else pl.DataFrame(schema=NAMES)

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
        path = self.private / "people.parquet"
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
        self.folder.mkdir(parents=True, exist_ok=True)
        old, wanted = (
            self.names(),
            pl.DataFrame({"name": list(new), "stamp": list(new.values())}, schema=["name", "stamp"]),
        )
        parts = {
            f: pl.read_parquet(f / "names.parquet").join(wanted, on=["name", "stamp"], how="semi")
            for f in self._parts()
        }
        came = pl.concat([pl.DataFrame(schema=NAMES), *parts.values()])
        if (twice := came.filter(pl.col("visit").is_duplicated())).height:
            raise EarthwrightError(
                f"Two visits have the same number ({twice['name'][0]}, {twice['name'][1]}). Build with another key."
            )
        out = set(gone) | set(came["name"])
        outdated = old.filter(pl.col("name").is_in(list(out)))
        years = sorted({*outdated["year"], *came["year"]})
        for table in BY_YEAR:
            for year in years:
                self._rewrite(table, year, [*outdated["visit"], *came["visit"]], parts)
        self._words(parts)
        self.describe(about)
        people = self.people() | {k: n for f in parts for k, n in pl.read_parquet(f / "people.parquet").iter_rows()}
        _put(self.private / "people.parquet", pl.DataFrame(sorted(people.items()), schema=PEOPLE, orient="row"))
        kept = old.filter(~pl.col("name").is_in(list(out)))
        _put(self.private / "names.parquet", pl.concat([kept, came]).sort("name"))
        shutil.rmtree(self.private / "part", ignore_errors=True)

    def _rewrite(self, table: Table, year: int, outdated: Sequence[int], parts: Mapping[Path, pl.DataFrame]) -> None:
        path = self.folder / table.name / f"{year:04d}.parquet"
        pieces = [
            pl.scan_parquet(f / f"{table.name}.parquet").filter(
                (pl.col("year") == year) & pl.col("visit").is_in(n["visit"].to_list())
            )
            for f, n in parts.items()
        ]
        if path.is_file():
            pieces.insert(0, pl.scan_parquet(path).filter(~pl.col("visit").is_in(list(outdated))))
        frame = pl.concat([pl.LazyFrame(schema=schema_of(table)), *pieces]).sort("visit", maintain_order=True).collect()
        path.parent.mkdir(exist_ok=True)
        _put(path, frame)

    def _words(self, parts: Iterable[Path]) -> None:
        words = (
            set(pl.read_parquet(path)["word"]) if (path := self.folder / "code" / "all.parquet").is_file() else set()
        )
        for f in parts:
            words |= set(json.loads((f / "words.json").read_text(encoding="utf-8")))
        self.keep_words(words)

    def keep_words(self, words: set[str]) -> None:
        """Write the table of codes. Raises EarthwrightError when two words have one number."""
        rows = sorted((code(w), w) for w in words)
        for (one, a), (other, b) in pairwise(rows):
            if one == other:
                raise EarthwrightError(f"'{a}' and '{b}' have the same code; this is a fault of the program.")
        (self.folder / "code").mkdir(exist_ok=True)
        _put(self.folder / "code" / "all.parquet", pl.DataFrame(rows, schema=schema_of(WORD), orient="row"))

    def describe(self, about: Mapping[str, Any]) -> None:
        """Write the data dictionary. ``about``: what the store says of itself."""
        files = {t: [f.relative_to(self.folder).as_posix() for f in self.files(t)] for t in TABLES}
        part = self.folder / f".datapackage.{secrets.token_hex(4)}.part"
        part.write_text(description(files, {"form": FORM, **about}), encoding="utf-8")
        os.replace(part, self.folder / "datapackage.json")

    def add_words(self, words: set[str]) -> None:
        """Bring more words into the table of codes."""
        self.keep_words(set(self.words().values()) | words)

    def files(self, table: str) -> list[Path]:
        """The files of a table, in order of the years."""
        return sorted((self.folder / table).glob("*.parquet"))

    def words(self) -> dict[int, str]:
        """What each code means."""
        frame = pl.read_parquet(self.folder / "code" / "all.parquet")
        return dict(frame.select("code", "word").iter_rows())

    def keep_table(self, table: str, frame: pl.DataFrame) -> None:
        """Write a table that does not stand by year."""
        path = self.folder / table / "all.parquet"
        path.parent.mkdir(parents=True, exist_ok=True)
        _put(path, frame.select([pl.col(n).cast(k) for n, k in schema_of(TABLES[table]).items()]))


def _put(path: Path, frame: pl.DataFrame) -> None:
    """A file whole or not at all."""
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        frame.write_parquet(part, compression="zstd")
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
