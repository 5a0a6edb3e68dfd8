"""Read rule data strictly. Everything wrong in a file is told at once, with file and key.

A folder per standard, in it a folder per edition, in it ``edition.toml`` and one TOML file per table::

    id = "bond.main.pme"                 title, clause                          # our paraphrase and the clause number
    [units]                              value = "mm²", neutral_mm2 = "mm²"     # of every key and column; "text" for words
    [source]                             document, place, read_by, confidence   # confidence: "read" or "memory"
    [[row]]                              neutral_mm2 = { above = 0, to = 35 }   # exact keys, or ranges with their edges
                                         value = 10                             # row may carry confidence and note

Keys are the units that no row treats as a column: they are listed in ``keys``. Ranges of a key must join without gap
or overlap for every combination of the other keys.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Iterable, Mapping
from decimal import Decimal
from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable
from itertools import pairwise
from typing import Any

from attrs import frozen

from ..errors import NoRule, RuleDataError
from .model import Edition, Key, Range, Row, Source, Table

_SOURCE = {"document", "place", "read_by", "confidence"}
_TABLE = {"id", "title", "clause", "keys", "units", "source", "row", "gaps", "note"}
_EDITION = {
    "standard",
    "edition",
    "title",
    "may_be_used_from",
    "in_force",
    "withdrawn",
    "reviewed_until",
    "source",
    "share",
    "note",
}


@frozen
class RuleBook:
    """All rule data: every edition known, tables read when they are asked for."""

    editions: tuple[Edition, ...]

    @staticmethod
    def load(root: Traversable | None = None) -> RuleBook:
        """The rule data of the package, or of another folder. Raises RuleDataError."""
        folder: Any = resources.files(__package__) / "data" if root is None else root
        return _load(folder)

    def of(self, standard: str) -> tuple[Edition, ...]:
        """The editions of a standard, oldest first. Raises NoRule when the standard is not known."""
        found = tuple(e for e in self.editions if e.standard == standard)
        if not found:
            raise NoRule(f"no rule data for the standard '{standard}'")
        return found

    def editions_open(self, standard: str, on: dt.date) -> tuple[Edition, ...]:
        """The editions that may be used on a day, oldest first."""
        return tuple(e for e in self.of(standard) if e.open_on(on))

    def edition_for(self, standard: str, on: dt.date, chosen: str = "") -> Edition:
        """The edition for an inspection on a day: the chosen one if it is open then, else the one in force.

        Raises NoRule before the first edition, after the last day the data know, and for a choice that is not open.
        """
        all_of = self.of(standard)
        open_then = self.editions_open(standard, on)
        last = max(e.reviewed_until for e in all_of)
        if on > last:
            raise NoRule(f"{standard}: the rule data know what is in force up to {last}, not on {on}")
        if not open_then:
            first = min(e.may_be_used_from for e in all_of)
            raise NoRule(f"{standard}: no edition in the data may be used on {on}; the first is from {first}")
        if chosen:
            for edition in open_then:
                if edition.edition == chosen:
                    return edition
            names = ", ".join(e.edition for e in open_then)
            raise NoRule(f"{standard}: edition '{chosen}' may not be used on {on}; open then: {names}")
        in_force = [e for e in open_then if e.in_force <= on]
        return max(in_force or open_then, key=lambda e: e.in_force)


# Folders and files are hashable paths here, although the protocol does not promise it.
@lru_cache(maxsize=8)
def _load(root: Any) -> RuleBook:
    editions: list[Edition] = []
    faults: list[str] = []
    for standard in sorted(_folders(root), key=lambda f: f.name):
        raw = {folder.name: (folder, _toml(folder / "edition.toml", faults)) for folder in _folders(standard)}
        for name in sorted(raw):
            edition = _edition(raw, name, f"{standard.name}/{name}/edition.toml", faults)
            if edition is not None:
                editions.append(edition)
    if not editions and not faults:
        faults.append("no edition.toml found: a folder per standard holds a folder per edition")
    if faults:
        raise RuleDataError("\n".join(faults))
    return RuleBook(tuple(sorted(editions, key=lambda e: (e.standard, e.in_force))))


def _folders(root: Traversable) -> Iterable[Traversable]:
    return (f for f in root.iterdir() if f.is_dir() and not f.name.startswith("__"))


def _toml(file: Traversable, faults: list[str]) -> dict[str, Any]:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"), parse_float=Decimal)
    except FileNotFoundError:
        faults.append(f"{file.name}: missing in a folder that should hold an edition")
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        faults.append(f"{file.name}: not TOML: {error}")
    return {}


def _edition(
    raw: Mapping[str, tuple[Traversable, dict[str, Any]]], name: str, where: str, faults: list[str]
) -> Edition | None:
    folder, data = raw[name]
    before = len(faults)
    if not data:
        return None
    _unknown(data, _EDITION, where, faults)
    for key in ("standard", "edition", "title"):
        if not isinstance(data.get(key), str) or not data[key]:
            faults.append(f"{where}: {key}: needed, a text")
    for key in ("may_be_used_from", "in_force", "reviewed_until"):
        if not isinstance(data.get(key), dt.date):
            faults.append(f"{where}: {key}: needed, a date")
    if data.get("withdrawn") != "open" and not isinstance(data.get("withdrawn"), dt.date):
        faults.append(f'{where}: withdrawn: needed, a date or "open"')
    source = _source(data.get("source"), where, faults)
    places: dict[str, tuple[Traversable, str]] = {}
    for share in data.get("share", []):
        origin = raw.get(str(share.get("from")))
        if origin is None:
            faults.append(f"{where}: share: there is no edition folder '{share.get('from')}'")
            continue
        for table_id in share.get("tables", []):
            places[table_id] = (origin[0] / f"{table_id}.toml", str(share["from"]))
    for file in folder.iterdir():
        if file.name.endswith(".toml") and file.name != "edition.toml":
            places[file.name.removesuffix(".toml")] = (file, name)
    for table_id, (file, origin_name) in places.items():
        if not file.is_file():
            faults.append(f"{where}: share: {origin_name} has no table '{table_id}'")
    if len(faults) > before or source is None:
        return None

    def fetch(table_id: str) -> Table:
        file: Any = places[table_id][0]
        origin_name = places[table_id][1]
        return _table(file, str(data["standard"]), str(data["edition"]), f"{file.name} ({origin_name})")

    return Edition(
        standard=data["standard"],
        edition=data["edition"],
        title=data["title"],
        may_be_used_from=data["may_be_used_from"],
        in_force=data["in_force"],
        withdrawn=None if data["withdrawn"] == "open" else data["withdrawn"],
        reviewed_until=data["reviewed_until"],
        source=source,
        note=str(data.get("note", "")),
        tables=tuple(sorted(places)),
        fetch=fetch,
    )


def _unknown(data: Mapping[str, Any], known: set[str], where: str, faults: list[str]) -> None:
    faults.extend(f"{where}: {key}: unknown key" for key in data if key not in known)


def _source(data: object, where: str, faults: list[str]) -> Source | None:
    if not isinstance(data, dict):
        faults.append(f"{where}: source: needed, with document, place, read_by, confidence")
        return None
    _unknown(data, _SOURCE, f"{where}: source", faults)
    missing = [k for k in sorted(_SOURCE) if not isinstance(data.get(k), str) or not data[k]]
    faults.extend(f"{where}: source: {key}: needed, a text" for key in missing)
    if not missing and data["confidence"] not in ("read", "memory"):
        faults.append(f"{where}: source: confidence: 'read' or 'memory', not '{data['confidence']}'")
    return None if missing else Source(**{k: str(data[k]) for k in _SOURCE})


@lru_cache(maxsize=256)
def _table(file: Any, standard: str, edition: str, where: str) -> Table:
    faults: list[str] = []
    data = _toml(file, faults)
    _unknown(data, _TABLE, where, faults)
    for key in ("id", "title", "clause"):
        if not isinstance(data.get(key), str) or not data[key]:
            faults.append(f"{where}: {key}: needed, a text")
    if data.get("id") != file.name.removesuffix(".toml"):
        faults.append(f"{where}: id: must be the file's name, not '{data.get('id')}'")
    source = _source(data.get("source"), where, faults)
    units, names = data.get("units", {}), data.get("keys", [])
    rows = [_row(number, raw, names, units, source, where, faults) for number, raw in enumerate(data.get("row", []), 1)]
    if not rows:
        faults.append(f"{where}: row: at least one is needed")
    kept = [r for r in rows if r is not None]
    if len(kept) == len(rows):
        _contiguous(kept, names, bool(data.get("gaps", False)), where, faults)
    if faults or source is None:
        raise RuleDataError("\n".join(faults))
    return Table(data["id"], data["title"], data["clause"], units, source, tuple(kept), standard, edition)


def _row(
    number: int,
    raw: dict[str, Any],
    names: list[str],
    units: dict[str, str],
    source: Source | None,
    where: str,
    faults: list[str],
) -> Row | None:
    place = f"{where}: row {number}"
    before = len(faults)
    keys: dict[str, Key] = {}
    columns: dict[str, Decimal | str] = {}
    for name, value in raw.items():
        if name in ("confidence", "note"):
            continue
        if name not in units:
            faults.append(f"{place}: {name}: has no unit, or is an unknown key")
        elif name in names:
            key = _key(value, f"{place}: {name}", faults)
            if key is not None:
                keys[name] = key
        elif isinstance(value, str) and units[name] == "text":
            columns[name] = value
        elif isinstance(value, (int, Decimal)) and not isinstance(value, bool) and units[name] != "text":
            columns[name] = Decimal(value)
        else:
            faults.append(
                f"{place}: {name}: expected a {'text' if units[name] == 'text' else 'number'}, found {value!r}"
            )
    faults.extend(f"{place}: {name}: missing" for name in units if name not in raw)
    confidence = raw.get("confidence", source.confidence if source else "")
    if confidence not in ("read", "memory"):
        faults.append(f"{place}: confidence: 'read' or 'memory', not {confidence!r}")
    if len(faults) > before:
        return None
    return Row(keys, columns, confidence, str(raw.get("note", "")))


def _key(value: object, where: str, faults: list[str]) -> Key | None:
    if isinstance(value, (str, bool)):
        return value
    if isinstance(value, (int, Decimal)):
        return Decimal(value)
    if (
        isinstance(value, dict)
        and value
        and set(value) <= {"above", "from", "to"}
        and not {"above", "from"} <= set(value)
    ):
        edges = {k: v for k, v in value.items() if isinstance(v, (int, Decimal)) and not isinstance(v, bool)}
        if len(edges) == len(value):
            return Range(*(Decimal(edges[k]) if k in edges else None for k in ("above", "from", "to")))
    faults.append(f"{where}: expected a text, a number, or a range such as {{ above = 35, to = 50 }}, found {value!r}")
    return None


def _contiguous(rows: list[Row], names: list[str], gaps: bool, where: str, faults: list[str]) -> None:
    """Duplicate rows, and gaps or overlaps of a range key for each combination of the other keys."""
    seen: set[tuple[Key, ...]] = set()
    for number, row in enumerate(rows, 1):
        exact = tuple(row.keys[n] for n in names)
        if exact in seen:
            faults.append(f"{where}: row {number}: stands twice")
        seen.add(exact)
    for name in names:
        groups: dict[tuple[Key, ...], list[Range]] = {}
        for row in rows:
            key = row.keys[name]
            if isinstance(key, Range):
                groups.setdefault(tuple(row.keys[n] for n in names if n != name), []).append(key)
        for ranges in groups.values():
            ordered = sorted(ranges, key=lambda r: r.low)
            for lower, upper in pairwise(ordered):
                if lower.to is None or upper.low < lower.to or (upper.start is not None and upper.start == lower.to):
                    faults.append(f"{where}: {name}: ranges overlap at {upper.low}")
                elif upper.low > lower.to and not gaps:
                    faults.append(f"{where}: {name}: a gap between {lower.to} and {upper.low}")
