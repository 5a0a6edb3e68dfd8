"""The rule book: a folder per standard, in it a folder per edition, in it ``edition.toml`` and one file per table.

``edition.toml``::

    standard = "BS 7671"                  names its folder: small letters, hyphens for blanks
    edition = "2018+A4"                   the folder's name
    title
    may_be_used_from, in_force            dates; reviewed_until: last day the data speak for
    withdrawn                             first day on which it may no longer be used, or "open"
    note                                  optional
    [source]                              document, place, read_by, confidence
    [[share]]                             from = "2018+A2", tables = ["bond.main.pme", …] or "all", except = […]: what that
                                          edition has, its own or shared. Of a text that was not read itself:
                                          memory = why its tables are taken to stand there too, read = [tables that were read
                                          to do so], renumbered = { "643.3" = "612.3" } in their clauses,
                                          without = ["722"]: rows with that key did not stand there yet
    [[differs]]                           what, before, now, clause, confidence: against the edition before

Nothing is read before it is asked for: a standard's editions when the standard is named, a table when it is looked at.
``RuleBook.check`` reads it all and tells every fault.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Mapping
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

from attrs import evolve, frozen

from ..base.errors import NoRule, RuleDataError
from ..base.packaged import beside
from .model import Difference, Edition, Table
from .parse import checked_confidence, needed_text, source_of, table_of, toml_of, unknown

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable  # slow to load, and only named here

WIRING = "BS 7671"  # the wiring rules of a visit that names no other standard
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
    "differs",
    "note",
}
_SHARE = {"from", "tables", "except", "memory", "read", "renumbered", "without"}
_DIFFERS = {"what", "before", "now", "clause", "confidence"}


@frozen
class RuleBook:
    """All rule data under one folder."""

    root: Any

    @staticmethod
    def load(root: Traversable | None = None) -> RuleBook:
        """The rule data of the package, or of another folder with the same layout."""
        return RuleBook(_package_data() if root is None else root)

    @property
    def standards(self) -> tuple[str, ...]:
        """Folder names of the standards, in order."""
        return _names(self.root)

    @property
    def editions(self) -> tuple[Edition, ...]:
        """Every edition of every standard. Raises RuleDataError."""
        found = tuple(e for name in self.standards for e in _standard(self.root, name))
        if not found:
            raise RuleDataError("no edition.toml found: a folder per standard holds a folder per edition")
        return found

    def check(self) -> None:
        """Reads everything. Raises one RuleDataError with every fault of every file."""
        faults: list[str] = []
        for name in self.standards:
            try:
                editions = _standard(self.root, name)
            except RuleDataError as error:
                faults.append(str(error))
                continue
            for edition in editions:
                for table in edition.tables:
                    try:
                        edition.table(table)
                    except RuleDataError as error:
                        faults.append(str(error))
        if not self.standards:
            faults.append("no edition.toml found: a folder per standard holds a folder per edition")
        if faults:
            raise RuleDataError("\n".join(dict.fromkeys(faults)))

    def knows(self, standard: str) -> bool:
        """Whether there are rule data for a standard; a country's are named after it: ``Wales rented``, ``Scotland social``."""
        return _slug(standard) in self.standards

    def of(self, standard: str) -> tuple[Edition, ...]:
        """The editions of a standard, oldest first. Raises NoRule when the standard is not known."""
        name = _slug(standard)
        if name not in self.standards:
            raise NoRule(f"no rule data for the standard '{standard}'")
        return _standard(self.root, name)

    def editions_open(self, standard: str, on: dt.date) -> tuple[Edition, ...]:
        """The editions that may be used on a day, oldest first; after the last day that was reviewed, those of that day."""
        all_of = self.of(standard)
        known = min(on, max(e.reviewed_until for e in all_of))
        return tuple(e for e in all_of if e.open_on(known))

    def wiring_for(self, on: dt.date, chosen: str | None = None) -> Edition:
        """The edition of the wiring rules for an inspection on a day. The choice may name its standard: ``BS 7671:2018+A2``.

        Raises NoRule, as for any edition.
        """
        standard, _, edition = (chosen or "").rpartition(":")
        return self.edition_for(standard or WIRING, on, edition or None)

    def edition_for(self, standard: str, on: dt.date, chosen: str | None = None) -> Edition:
        """The edition for an inspection on a day: the chosen one if it is open then, else the one in force.

        After the last day that was reviewed the newest edition goes on; ``Edition.reviewed`` tells. Raises NoRule before
        the first edition, and for a choice that is not open.
        """
        all_of = self.of(standard)
        said = all_of[0].standard
        open_then = self.editions_open(standard, on)
        if not open_then:
            first = min(e.may_be_used_from for e in all_of)
            raise NoRule(f"{said}: no edition in the data may be used on {on}; the first is from {first}")
        if chosen:
            for edition in open_then:
                if edition.edition == chosen:
                    return edition
            names = ", ".join(e.edition for e in open_then)
            raise NoRule(f"{said}: edition '{chosen}' may not be used on {on}; open then: {names}")
        in_force = [e for e in open_then if e.in_force <= on]
        return max(in_force or open_then, key=lambda e: e.in_force)


@cache
def _package_data() -> Any:
    return beside(__file__, __package__, "data")


def _slug(standard: str) -> str:
    return standard.strip().lower().replace(" ", "-")


def _folders(root: Any) -> Iterable[Any]:
    return (f for f in root.iterdir() if f.is_dir() and not f.name.startswith("__"))


@lru_cache(maxsize=8)
def _names(root: Any) -> tuple[str, ...]:
    return tuple(sorted(f.name for f in _folders(root)))


@lru_cache(maxsize=64)
def _standard(root: Any, name: str) -> tuple[Edition, ...]:
    faults: list[str] = []
    folders = {f.name: f for f in _folders(root / name)}
    raw = {n: (f, toml_of(f / "edition.toml", f"{name}/{n}/edition.toml", faults)) for n, f in sorted(folders.items())}
    if not raw:
        faults.append(f"{name}: no edition.toml found: a folder per standard holds a folder per edition")
    made: dict[str, _Places | None] = {}
    found = [_edition(raw, n, name, faults, made) for n in raw]
    if faults:
        raise RuleDataError("\n".join(faults))
    return tuple(sorted((e for e in found if e is not None), key=lambda e: (e.in_force, e.edition)))


def _edition(raw: _Raw, name: str, folder: str, faults: list[str], made: dict[str, _Places | None]) -> Edition | None:
    data, where = raw[name][1], f"{folder}/{name}/edition.toml"
    if not data:
        return None
    before = len(faults)
    unknown(data, _EDITION, where, faults)
    needed_text(data, ("standard", "edition", "title"), where, faults)
    if isinstance(data.get("standard"), str) and _slug(data["standard"]) != folder:
        faults.append(f"{where}: standard: '{data['standard']}' does not belong in the folder '{folder}'")
    if isinstance(data.get("edition"), str) and data["edition"] != name:
        faults.append(f"{where}: edition: '{data['edition']}' does not belong in the folder '{name}'")
    _dates(data, where, faults)
    source = source_of(data.get("source"), where, faults)
    places = _places(raw, name, folder, faults, made)
    differs = _differs(data.get("differs", []), where, faults)
    if len(faults) > before or source is None:
        return None

    @cache
    def fetch(table_id: str) -> Table:
        return places[table_id].table(table_id, data["standard"], name)

    return Edition(
        standard=data["standard"],
        edition=name,
        title=data["title"],
        may_be_used_from=data["may_be_used_from"],
        in_force=data["in_force"],
        withdrawn=None if data["withdrawn"] == "open" else data["withdrawn"],
        reviewed_until=data["reviewed_until"],
        source=source,
        note=str(data.get("note", "")),
        tables=tuple(sorted(places)),
        fetch=fetch,
        shared={table: place.origin for table, place in places.items() if place.origin != name},
        differs=differs,
    )


def _dates(data: Mapping[str, Any], where: str, faults: list[str]) -> None:
    before = len(faults)
    for key in ("may_be_used_from", "in_force", "reviewed_until"):
        if not isinstance(data.get(key), dt.date):
            faults.append(f"{where}: {key}: needed, a date")
    if data.get("withdrawn") != "open" and not isinstance(data.get("withdrawn"), dt.date):
        faults.append(f'{where}: withdrawn: needed, a date or "open"')
    if len(faults) > before:
        return
    if data["in_force"] < data["may_be_used_from"]:
        faults.append(f"{where}: in_force: before may_be_used_from")
    if data["withdrawn"] != "open" and data["withdrawn"] <= data["in_force"]:
        faults.append(f"{where}: withdrawn: not after in_force")


# The folder and the edition.toml of each edition of a standard.
_Raw = Mapping[str, tuple[Any, dict[str, Any]]]


@frozen
class _Place:
    """Where a table stands: the edition whose folder holds it, its file, and what an edition that shares it makes of it.

    memory      why the figures of another text stand in this one too, where that was not read
    renumbered  clauses that have another number there;  without  keys whose rows it does not have yet
    """

    origin: str
    file: Any
    memory: str = ""
    renumbered: tuple[tuple[str, str], ...] = ()
    without: tuple[str, ...] = ()

    def table(self, table_id: str, standard: str, edition: str) -> Table:
        """The table, for an edition. Raises RuleDataError. What is not of the standard itself stays as sure as it was."""
        table = table_of(self.file, table_id, standard, self.origin)
        if edition == self.origin:
            return table
        rows = [r for r in table.rows if not set(self.without) & set(r.keys.values())]
        rows = [evolve(r, clause=self._numbered(r.clause)) for r in rows]
        source = table.source
        if self.memory and source.document.startswith(standard):
            source = evolve(source, place=f"{source.place}; {self.memory}", confidence="memory")
            rows = [evolve(r, confidence="memory") for r in rows]
        return evolve(table, edition=edition, clause=self._numbered(table.clause), rows=tuple(rows), source=source)

    def _numbered(self, clause: str) -> str:
        """A clause by its number in this edition; a number stands for those below it, and the longest that fits counts."""
        for old, new in sorted(self.renumbered, key=lambda x: len(x[0]), reverse=True):
            clause = re.sub(rf"(?<![\d.]){re.escape(old)}(?!\d)", new, clause)
        return clause


_Places = dict[str, _Place]


def _places(raw: _Raw, name: str, folder: str, faults: list[str], made: dict[str, _Places | None]) -> _Places:
    """Where each table of the edition stands, its own and shared ones. ``made``: those of other editions; None while in work."""
    known = made.get(name)
    if known is not None:
        return known
    made[name], where = None, f"{folder}/{name}/edition.toml"
    places = {t: _Place(name, f) for t, f in _files(raw[name][0]).items()}
    for share in raw[name][1].get("share", []):
        unknown(share, _SHARE, f"{where}: share", faults)
        source = str(share.get("from"))
        if source not in raw or made.get(source, {}) is None:
            faults.append(f"{where}: share: there is no other edition folder '{source}'")
            continue
        there = _places(raw, source, folder, faults, made)
        left_out, read = share.get("except", []), share.get("read", [])
        wanted = [t for t in there if t not in left_out] if share.get("tables") == "all" else share.get("tables", [])
        for table_id in (*wanted, *left_out, *read):
            if table_id not in there:
                faults.append(f"{where}: share: {source} has no table '{table_id}'")
        for table_id in wanted:
            if table_id in places:
                faults.append(
                    f"{where}: share: {table_id}: stands twice, shared from {source} and held by {places[table_id].origin}"
                )
            elif table_id in there:
                place = there[table_id]
                why = "" if table_id in read else str(share.get("memory", "")) or place.memory
                gone = (*place.without, *share.get("without", ()))
                numbers = (*place.renumbered, *share.get("renumbered", {}).items())
                places[table_id] = evolve(place, memory=why, renumbered=numbers, without=gone)
    made[name] = places
    return places


def _files(folder: Any) -> dict[str, Any]:
    names = (f for f in folder.iterdir() if f.name.endswith(".toml") and f.name != "edition.toml")
    return {f.name.removesuffix(".toml"): f for f in sorted(names, key=lambda f: str(f.name))}


def _differs(data: list[dict[str, Any]], where: str, faults: list[str]) -> tuple[Difference, ...]:
    found = []
    for number, entry in enumerate(data, 1):
        place = f"{where}: differs {number}"
        before = len(faults)
        unknown(entry, _DIFFERS, place, faults)
        needed_text(entry, tuple(sorted(_DIFFERS)), place, faults)
        checked_confidence(entry.get("confidence"), place, faults)
        if len(faults) == before:
            found.append(Difference(**entry))
    return tuple(found)
