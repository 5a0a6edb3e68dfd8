"""Take an export in again. Names inside it are only looked up, never used as paths to write to."""

from __future__ import annotations

import hashlib
import json
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ..base import limits
from .canon import FORM, LARGEST_BYTES, canonical, digest
from .copy import take_over
from .event import StoredEvent
from .personal import Apart
from .store import LARGEST_CONTENT, Store
from .trouble import Damaged, JournalError

LONGEST_LINE = 2 * LARGEST_BYTES
_FILE = re.compile(r"files/([0-9a-f]{64})(\.[a-z0-9]{1,8})?")
# What reading a packed export may raise when bytes of it were changed.
UNREADABLE = (
    zipfile.BadZipFile, zlib.error, struct.error, NotImplementedError, EOFError, RuntimeError, ValueError, OverflowError,
)  # fmt: skip
_PACKED = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_EVENT: dict[str, type | tuple[type, ...]] = {"no": int, "id": str, "visit": str, "seq": int, "kind": str, "body": dict, "at": str, "kept_at": str,
          "by": (str, dict), "form": int, "prev": str, "hash": str}  # fmt: skip
_LINK = {"device": str, "no": int, "event": str, "seq": int, "kept_at": str, "prev": str, "hash": str, "own": int,
         "seen": int, "ahead_ms": int, "body": str, "who": str}  # fmt: skip
_APART = ("key", "visit", "field", "value", "salt")


def import_(path: Path, store: Store) -> int:
    """Take an exported folder or ``.zip`` into a journal: a new one, or one that it continues. How many new events.

    Every hash is worked out again. Raises Damaged for an export that is not whole, Conflict for one that went another
    way, JournalError when there is no export at that place.
    """
    try:
        if path.is_dir():
            return take_over(Export(_InFolder(path)), store)
        with zipfile.ZipFile(path) as archive:
            return take_over(Export(InZip(archive)), store)
    except UNREADABLE as error:
        raise Damaged(f"{path} is no export: {error}.") from error
    except OSError as error:
        raise JournalError(f"{path} cannot be read: {error.strerror or error}.") from error


class _InFolder:
    def __init__(self, path: Path) -> None:
        self.path = path

    def names(self) -> list[str]:
        """Files of photos and files; links are left out, they could lead anywhere."""
        files = self.path / "files"
        return [f"files/{p.name}" for p in sorted(files.iterdir()) if not p.is_symlink()] if files.is_dir() else []

    def lines(self, name: str) -> Iterator[bytes]:
        """Lines of one of the three lists."""
        path = self.path / name
        if not path.is_file() or path.is_symlink():
            raise Damaged(f"{name} is missing in {self.path.name}, so this is no export.")
        with path.open("rb") as file:
            yield from _lines(file, name)

    def content(self, name: str) -> bytes:
        """Bytes of a photo or file, at most one more than is allowed."""
        with (self.path / name).open("rb") as file:
            return file.read(LARGEST_CONTENT + 1)


class InZip:
    """A packed export. What an entry may unpack to goes by what it is packed in, not by what the archive says of it."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self.archive, self.left = archive, limits.EXPORT_TOTAL.most
        if limits.EXPORT_NAMES.refuses(found := len(archive.infolist())):
            raise Damaged(f"This is no export of a journal: {limits.EXPORT_NAMES.said(found)}. Nothing was taken in.")
        if other := next((i.filename for i in archive.infolist() if i.compress_type not in _PACKED), ""):
            raise Damaged(f"{other[:60]} is packed in another way than an export is. Nothing was taken in.")

    def _room(self, name: str) -> int:
        """How many bytes an entry may still bring."""
        packed = self.archive.getinfo(name).compress_size
        return min(self.left, max(limits.EXPORT_SLACK, packed * limits.EXPORT_RATIO.most))

    def _took(self, name: str, count: int, room: int) -> None:
        if count > room:
            bound = limits.EXPORT_TOTAL if room == self.left else limits.EXPORT_RATIO
            raise Damaged(f"{name} is too large unpacked: {bound.said()}. Nothing was taken in.")

    def names(self) -> list[str]:
        """Names in the archive; only those of our own form are ever asked for."""
        return sorted(self.archive.namelist())

    def lines(self, name: str) -> Iterator[bytes]:
        """Lines of one of the three lists."""
        try:
            file = self.archive.open(name)
        except KeyError as error:
            raise Damaged(f"{name} is missing in the archive, so this is no export.") from error
        room, count = self._room(name), 0
        with file:
            for line in _lines(file, name):
                count += len(line)
                self._took(name, count, room)
                yield line
        self.left -= count

    def content(self, name: str) -> bytes:
        """Bytes of a photo or file, at most one more than is allowed, whatever the archive says of its size."""
        room = self._room(name)
        with self.archive.open(name) as file:
            found = file.read(min(LARGEST_CONTENT, room) + 1)
        self._took(name, len(found), room)
        self.left -= len(found)
        return found


def _lines(file: Any, name: str) -> Iterator[bytes]:
    number = 0
    while line := file.readline(LONGEST_LINE + 1):
        number += 1
        if len(line) > LONGEST_LINE:
            raise Damaged(f"{name}, line {number}: expected at most {LONGEST_LINE} bytes, found more.")
        yield line


class Export:
    """An export, read line by line and held to its own manifest: a copy that was cut short fits itself, but not that."""

    def __init__(self, inside: _InFolder | InZip) -> None:
        self.inside = inside
        self.manifest = manifest_of(inside)
        self.grown: dict[str, tuple[int, int]] = {}  # entries and bytes of each visit so far

    def _lines(self, name: str) -> Iterator[bytes]:
        """Lines of one of the lists; behind the last, whether they are those that were exported."""
        seen = hashlib.sha256()
        for line in self.inside.lines(name):
            seen.update(line)
            yield line
        if self.manifest.get(name) != seen.hexdigest():
            raise Damaged(
                f"{name} is not the one that was exported: manifest.json has another hash. Nothing was taken in."
            )

    def _room(self, visit: str, size: int, number: int) -> None:
        """Refuse a visit that is longer than it can be read; entry by entry it would have been refused as well."""
        entries, text = self.grown.get(visit, (0, 0))
        self.grown[visit] = entries, text = entries + 1, text + size
        for bound, found in ((limits.VISIT_ENTRIES, entries), (limits.VISIT_TEXT, text // 2)):
            if bound.refuses(found):
                raise Damaged(f"events.jsonl, line {number}: {bound.said(found)}. Nothing was taken in.")

    def rows(self) -> Iterator[StoredEvent]:
        """Events in their order."""
        for number, line in enumerate(self._lines("events.jsonl"), 1):
            found = _object(line, "events.jsonl", number)
            values = {k: found.get(k) for k in _EVENT}
            wrong = [k for k, v in values.items() if not isinstance(v, _EVENT[k]) or isinstance(v, bool)]
            if wrong or set(found) != set(_EVENT) or found["form"] != FORM:
                raise Damaged(
                    f"events.jsonl, line {number}: {', '.join(wrong) or 'a key'} is missing or of the wrong kind."
                )
            self._room(found["visit"], len(line), number)
            yield StoredEvent(
                **{k: found[k] for k in ("no", "id", "visit", "seq", "kind", "at", "kept_at", "prev", "hash")},
                body=canonical(found["body"]),
                who=canonical(found["by"]),
            )

    def erased(self) -> list[tuple[str, str]]:
        """(key or hash, id of the erase event)."""
        found = self._texts("erased.jsonl", ("what", "event"))
        return [(f["what"], f["event"]) for f in found]

    def apart(self) -> list[Apart]:
        """Personal values."""
        return [Apart(**f) for f in self._texts("personal.jsonl", _APART)]

    def links(self) -> Iterator[dict[str, Any]]:
        """What devices proved of their own journals; an export of a journal that no device sends to has none."""
        for number, line in enumerate(self._lines("links.jsonl") if "links.jsonl" in self.manifest else (), 1):
            found = _object(line, "links.jsonl", number)
            wrong = [k for k, kind in _LINK.items() if not isinstance(found.get(k), kind) or isinstance(found[k], bool)]
            if wrong or set(found) != set(_LINK):
                raise Damaged(
                    f"links.jsonl, line {number}: {', '.join(wrong) or 'a key'} is missing or of the wrong kind."
                )
            yield found

    def contents(self) -> Iterator[bytes]:
        """Photos and files, one at a time; a changed one is refused."""
        names = self.inside.names()
        if gone := sorted(n for n in self.manifest if _FILE.fullmatch(n) and n not in set(names)):
            raise Damaged(f"{gone[0]} is missing, and manifest.json names it. Nothing was taken in.")
        for name in names:
            if match := _FILE.fullmatch(name):
                content = self.inside.content(name)
                if len(content) <= LARGEST_CONTENT and digest(content) != match.group(1):
                    raise Damaged(f"{name} was changed after it was exported. Nothing was taken in.")
                yield content

    def _texts(self, name: str, keys: tuple[str, ...]) -> list[dict[str, str]]:
        made = []
        for number, line in enumerate(self._lines(name), 1):
            found = _object(line, name, number)
            if set(found) != set(keys) or not all(isinstance(found[k], str) for k in keys):
                raise Damaged(f"{name}, line {number}: expected the texts {', '.join(keys)}.")
            made.append(found)
        return made


def manifest_of(inside: _InFolder | InZip) -> dict[str, object]:
    """The hash of each file of an export by its name."""
    whole, files = b"", None
    for line in inside.lines("manifest.json"):
        whole += line
    try:
        files = json.loads(whole.decode()).get("files")
    except (ValueError, RecursionError, AttributeError) as error:
        raise Damaged(f"manifest.json cannot be read, so this is no export ({error}).") from error
    if not isinstance(files, dict):
        raise Damaged("manifest.json names no files, so this is no export.")
    return files


def _object(line: bytes, name: str, number: int) -> dict[str, Any]:
    try:
        found = json.loads(line.decode())
    except (ValueError, RecursionError) as error:
        raise Damaged(f"{name}, line {number}: this is no JSON ({error}).") from error
    if not isinstance(found, dict):
        raise Damaged(f"{name}, line {number}: expected an object, found {type(found).__name__}.")
    return found
