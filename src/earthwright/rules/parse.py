"""Read one table strictly. Everything wrong in it is told at once, with file, row and key.

::

    id = "bond.main.pme"                 the file's name without .toml
    title, clause                        our paraphrase and the clause number
    keys = ["neutral_mm2"]               the columns by which a row is found
    note                                 optional
    gaps = true                          optional: a gap between ranges is meant
    [units]                              of every key and column: "mm²", "1", "text", "date", "true or false"
    [source]                             document, place, read_by, confidence ("read" or "memory")
    [[row]]                              every key and column; ranges as { above = 35, to = 50 } or { from = 0, to = 1 }
    [[block]]                            many rows at once, as printed: same = { material = "copper" },
                                         columns = ["csa_mm2", "value"], rows = [[1, 18.1], [1.5, 12.1]]

A row or block may carry ``confidence``, ``note`` and ``clause`` of its own. Ranges of a key must join without gap or
overlap for every combination of the other keys.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise
from typing import Any

from ..base.errors import RuleDataError
from .model import Column, Key, PrintedRow, Range, Source, Table

_SOURCE = {"document", "place", "read_by", "confidence"}
_TABLE = {"id", "title", "clause", "keys", "units", "source", "row", "block", "gaps", "note"}
_BLOCK = {"same", "columns", "rows", "confidence", "note", "clause"}
_OWN = ("confidence", "note", "clause")
TEXT, DATE, FLAG = "text", "date", "true or false"


def toml_of(file: Any, where: str, faults: list[str]) -> dict[str, Any]:
    """The file's TOML with figures as Decimal; empty, with a fault, when it is missing or not TOML."""
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"), parse_float=Decimal)
    except FileNotFoundError:
        faults.append(f"{where}: missing")
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        faults.append(f"{where}: not TOML: {error}")
    return {}


def unknown(data: Mapping[str, Any], known: set[str], where: str, faults: list[str]) -> None:
    """Names every key that has no business there."""
    faults.extend(f"{where}: {key}: unknown key" for key in data if key not in known)


def needed_text(data: Mapping[str, Any], names: tuple[str, ...], where: str, faults: list[str]) -> None:
    """Names every text that is missing, empty or no text."""
    faults.extend(f"{where}: {k}: needed, a text" for k in names if not isinstance(data.get(k), str) or not data[k])


def source_of(data: object, where: str, faults: list[str]) -> Source | None:
    """The source of an edition or a table; None, with faults, when it is not complete."""
    if not isinstance(data, dict):
        faults.append(f"{where}: source: needed, with document, place, read_by, confidence")
        return None
    before = len(faults)
    unknown(data, _SOURCE, f"{where}: source", faults)
    needed_text(data, tuple(sorted(_SOURCE)), f"{where}: source", faults)
    if len(faults) == before:
        checked_confidence(data["confidence"], f"{where}: source", faults)
    return None if len(faults) > before else Source(**data)


def checked_confidence(value: object, where: str, faults: list[str]) -> None:
    """Only two words are known for how sure a figure is."""
    if value not in ("read", "memory"):
        faults.append(f"{where}: confidence: 'read' or 'memory', not {value!r}")


# One file may serve several editions; it is read once.
@lru_cache(maxsize=1024)
def table_of(file: Any, table_id: str, standard: str, origin: str) -> Table:
    """The table in a file, for the edition in whose folder it stands. Raises RuleDataError with all its faults."""
    where = f"{standard}/{origin}/{table_id}.toml"
    faults: list[str] = []
    data = toml_of(file, where, faults)
    if data:
        unknown(data, _TABLE, where, faults)
        needed_text(data, ("id", "title", "clause"), where, faults)
        if data.get("id") != table_id:
            faults.append(f"{where}: id: must be the file's name, not '{data.get('id')}'")
    source = source_of(data.get("source"), where, faults) if data else None
    units = _units(data.get("units"), where, faults) if data else {}
    names = _names(data.get("keys"), units, where, faults) if data else ()
    raw = _raw_rows(data, where, faults)
    if data and not raw:
        faults.append(f"{where}: row: at least one is needed")
    rows = [_row(place, r, names, units, source, faults) for place, r in raw]
    kept = [r for r in rows if r is not None]
    if len(kept) == len(rows):
        _contiguous(kept, names, data.get("gaps") is True, where, faults)
    if faults or source is None:
        raise RuleDataError("\n".join(faults))
    return Table(
        table_id,
        data["title"],
        data["clause"],
        str(data.get("note", "")),
        units,
        names,
        source,
        tuple(kept),
        standard,
        origin,
        origin,
    )


def _units(data: object, where: str, faults: list[str]) -> dict[str, str]:
    if not isinstance(data, dict) or not data:
        faults.append(f"{where}: units: needed, a unit for every key and column")
        return {}
    needed_text(data, tuple(data), f"{where}: units", faults)
    faults.extend(f"{where}: units: {name}: is a word of its own" for name in data if name in _OWN)
    return {name: str(unit) for name, unit in data.items()}


def _names(data: object, units: Mapping[str, str], where: str, faults: list[str]) -> tuple[str, ...]:
    if not isinstance(data, list):
        faults.append(f"{where}: keys: needed, a list (empty when the table has one row)")
        return ()
    faults.extend(f"{where}: keys: {name}: has no unit" for name in data if name not in units)
    return tuple(str(name) for name in data if name in units)


def _raw_rows(data: Mapping[str, Any], where: str, faults: list[str]) -> list[tuple[str, dict[str, Any]]]:
    """Rows as keys and values, those of blocks written out, each with its place."""
    raw = [(f"{where}: row {n}", row) for n, row in enumerate(data.get("row", []), 1)]
    for n, block in enumerate(data.get("block", []), 1):
        place = f"{where}: block {n}"
        unknown(block, _BLOCK, place, faults)
        same, columns, rows = block.get("same", {}), block.get("columns", []), block.get("rows", [])
        own = {k: block[k] for k in _OWN if k in block}
        twice = [c for c in columns if c in same or c in own or columns.count(c) > 1]
        faults.extend(f"{place}: {c}: stands twice" for c in dict.fromkeys(twice))
        if not rows:
            faults.append(f"{place}: rows: at least one is needed")
        for m, row in enumerate(rows, 1):
            if len(row) != len(columns):
                faults.append(f"{place}, row {m}: expected {len(columns)} entries, found {len(row)}")
            else:
                raw.append((f"{place}, row {m}", {**same, **own, **dict(zip(columns, row, strict=True))}))
    return raw


def _row(
    place: str,
    raw: Mapping[str, Any],
    names: tuple[str, ...],
    units: Mapping[str, str],
    source: Source | None,
    faults: list[str],
) -> PrintedRow | None:
    before = len(faults)
    keys: dict[str, Key] = {}
    columns: dict[str, Column] = {}
    for name, value in raw.items():
        if name in _OWN:
            continue
        if name not in units:
            faults.append(f"{place}: {name}: has no unit, or is an unknown key")
            continue
        if name in names and isinstance(value, dict):
            found: Key | Column | None = _range(value, units[name], f"{place}: {name}", faults)
        else:
            found = _entry(value, units[name], f"{place}: {name}", faults)
        if found is not None and name in names:
            keys[name] = found  # type: ignore[assignment]  # a date has no range and is refused below
            if isinstance(found, dt.date):
                faults.append(f"{place}: {name}: a date cannot be a key; the edition carries the dates")
        elif found is not None:
            columns[name] = found  # type: ignore[assignment]  # ranges are made for keys only
    faults.extend(f"{place}: {name}: missing" for name in units if name not in raw)
    confidence = raw.get("confidence", source.confidence if source else "read")
    checked_confidence(confidence, place, faults)
    faults.extend(f"{place}: {k}: expected a text" for k in ("note", "clause") if not isinstance(raw.get(k, ""), str))
    if len(faults) > before:
        return None
    return PrintedRow(keys, columns, confidence, raw.get("note", ""), raw.get("clause", ""))


def _entry(value: object, unit: str, where: str, faults: list[str]) -> Column | None:
    """A single entry of the kind its unit asks for."""
    if unit == TEXT:
        wanted, fits = "a text", isinstance(value, str)
    elif unit == FLAG:
        wanted, fits = "true or false", isinstance(value, bool)
    elif unit == DATE:
        wanted, fits = "a date", isinstance(value, dt.date) and not isinstance(value, dt.datetime)
    else:
        wanted, fits = "a number", _is_number(value)
    if not fits:
        faults.append(f"{where}: expected {wanted}, found {value!r}")
        return None
    return Decimal(value) if wanted == "a number" else value  # type: ignore[arg-type,return-value]


def _is_number(value: object) -> bool:
    # TOML knows "inf" and "nan"; neither stands in a printed table.
    if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
        return False
    return Decimal(value).is_finite()


def _range(value: Mapping[str, Any], unit: str, where: str, faults: list[str]) -> Range | None:
    known = bool(value) and set(value) <= {"above", "from", "to"} and not {"above", "from"} <= set(value)
    if unit in (TEXT, FLAG, DATE) or not known or not all(_is_number(v) for v in value.values()):
        faults.append(f"{where}: expected a {unit} or a range such as {{ above = 35, to = 50 }}, found {dict(value)!r}")
        return None
    above, start, to = (Decimal(value[k]) if k in value else None for k in ("above", "from", "to"))
    if to is not None and ((above is not None and above >= to) or (start is not None and start > to)):
        faults.append(f"{where}: the range holds nothing: {dict(value)!r}")
    return Range(above, start, to)


def _contiguous(rows: list[PrintedRow], names: tuple[str, ...], gaps: bool, where: str, faults: list[str]) -> None:
    """Duplicate rows, and gaps or overlaps of a range key for each combination of the other keys."""
    seen: set[tuple[Any, ...]] = set()
    for row in rows:
        # With its type, since true equals 1.
        exact = tuple((type(row.keys[n]).__name__, row.keys[n]) for n in names)
        if exact in seen:
            said = ", ".join(f"{n} {row.keys[n]}" for n in names)
            faults.append(f"{where}: row with {said or 'no key'}: stands twice")
        seen.add(exact)
    for name in names:
        groups: dict[tuple[Key, ...], list[Key]] = {}
        for row in rows:
            groups.setdefault(tuple(row.keys[n] for n in names if n != name), []).append(row.keys[name])
        for keys in groups.values():
            _joined(name, keys, gaps, where, faults)


def _joined(name: str, keys: list[Key], gaps: bool, where: str, faults: list[str]) -> None:
    ranges = sorted((k for k in keys if isinstance(k, Range)), key=lambda r: r.low)
    for key in keys:
        if isinstance(key, Decimal) and any(r.holds(key) for r in ranges):
            faults.append(f"{where}: {name}: {key} stands alone and lies in a range too")
    for lower, upper in pairwise(ranges):
        if lower.to is None or upper.low < lower.to or upper.start == lower.to:
            faults.append(f"{where}: {name}: ranges overlap at {upper.low}")
        elif upper.low > lower.to and not gaps:
            faults.append(f"{where}: {name}: a gap between {lower.to} and {upper.low}")
