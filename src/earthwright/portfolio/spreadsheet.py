"""A table as CSV with words in place of codes and decimals in place of thousandths, for a spreadsheet."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from ..records.cells import cell
from .store import Store
from .tables import CODE, MILLI, TABLES, TEXT


def in_words(store: Store, table: str) -> pl.LazyFrame:
    """A table, codes as words and thousandths as decimals; what a spreadsheet would take for a formula stays text."""
    words = {k: cell(w) for k, w in store.words().items()}
    frame = pl.scan_parquet(store.files(table))
    columns = []
    for c in TABLES[table].columns:
        column = pl.col(c.name)
        if c.kind == CODE and table != "code":
            column = column.replace_strict(words, default=None, return_dtype=pl.String)
        elif c.kind == MILLI:
            column = column / 1000
        elif c.kind == TEXT:
            column = column.map_elements(cell, return_dtype=pl.String)
        columns.append(column.alias(c.name))
    return frame.select(columns)


def table_as_csv(store: Store, table: str, most: int) -> str | None:
    """The table as CSV text; None for one of more rows than that."""
    count = pl.scan_parquet(store.files(table)).select(pl.len()).collect().item()
    return None if count > most else in_words(store, table).collect().write_csv()


def write_tables(store: Store, folder: Path) -> list[tuple[str, int]]:
    """Every table as a CSV file in a folder that is made; name and bytes of each. They are written as they are read."""
    made = []
    for table in (t for t in TABLES if store.files(t)):
        path = folder / f"{table}.csv"
        in_words(store, table).sink_csv(path, include_bom=True)
        made.append((path.name, path.stat().st_size))
    return made
