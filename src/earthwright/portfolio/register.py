"""The owner's own list of homes: it says which homes there are at all, where, from when, and of what kind."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import polars as pl

from ..base.errors import EarthwrightError
from ..base.oneline import one_line
from ..desk.last_visit import same_place
from .store import Store
from .tables import code

COLUMNS = ("place", "area", "built", "kind")
LARGEST = 200_000_000  # bytes
MOST_WORDS = 500  # of areas, and of kinds: more than that are no areas


def _text_of(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST:
            raise EarthwrightError(f"{path.name}: larger than {LARGEST} bytes.")
        return path.read_bytes().decode("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise EarthwrightError(
            f"{path.name} cannot be read: {getattr(error, 'strerror', None) or 'it is no UTF-8'}."
        ) from error


def read_register(path: Path, store: Store) -> int:
    """Bring a register (CSV with a line of heads) into the table ``home``; how many homes. Raises EarthwrightError.

    Every fault is named with its line, all at once, and then nothing is written.
    """
    lines = csv.DictReader(io.StringIO(_text_of(path)), strict=True)
    if "place" not in (lines.fieldnames or ()):
        raise EarthwrightError(f"{path.name}, line 1: expected the heads {', '.join(COLUMNS)}; 'place' must be there.")
    keys, faults, homes, words = store.keys(), list[str](), dict[int, tuple[str, str, int | None, str]](), set[str]()
    try:
        for number, line in enumerate(lines, 2):
            place, area, built, kind = ((line.get(c) or "").strip() for c in COLUMNS)
            home = keys.of("home", same_place(place))
            if not same_place(place):
                faults.append(f"line {number}: no place.")
            elif home in homes:
                faults.append(f"line {number}: '{one_line(place)}' stands there twice.")
            decade = int(built) // 10 * 10 if built.isdigit() and 1600 <= int(built) <= 2100 else None
            if built and decade is None:
                faults.append(f"line {number}: built: expected a year, found '{one_line(built)}'.")
            homes[home] = (one_line(place), one_line(area)[:60], decade, one_line(kind)[:60])
            words |= {w for w in homes[home][1::2] if w}
    except csv.Error as error:
        faults.append(f"after line {lines.line_num}: {error}.")
    for name, at in (("areas", 1), ("kinds", 3)):
        if len({h[at] for h in homes.values()}) > MOST_WORDS:
            faults.append(f"more than {MOST_WORDS} {name}: these are not {name}, and would name single homes.")
    if faults:
        raise EarthwrightError(f"{path.name}: nothing was taken in.\n" + "\n".join(faults[:20]))
    rows = [(k, code(a) if a else None, b, code(t) if t else None) for k, (_, a, b, t) in sorted(homes.items())]
    with store.alone():
        places = pl.DataFrame(
            {"home": list(homes), "place": [h[0] for h in homes.values()]},
            schema={"home": pl.Int64, "place": pl.String},
        )
        places.write_parquet(store.private / "homes.parquet")
        store.put("home", pl.DataFrame(rows, schema=["home", "area", "built", "kind"], orient="row"), words)
    return len(homes)
