"""The whole journal as open files: JSON Lines with their JSON Schema, CSV, visit books, photos and files.

No name of a file comes from what people typed: visits are numbered, files are named by their hash.
"""

from __future__ import annotations

import contextlib
import io
import json
import secrets
import shutil
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from .booktext import as_toml
from .canon import FORM, canonical, digest, envelope, parsed
from .cells import ENTRIES, READINGS, entry_rows, reading_rows, table
from .copy import Snapshot
from .event import FILE, PHOTO, Kept, StoredEvent
from .replay import Replayed, replay
from .rows import events_of, in_order
from .schemas import SCHEMAS
from .store import Store
from .trouble import JournalError

MEDIA = {
    "image/jpeg": ".jpg",
    "image/png": ".png",
    "image/webp": ".webp",
    "application/pdf": ".pdf",
    "text/toml": ".toml",
    "text/plain": ".txt",
}
READ_ME = """Everything in one journal, as open files.

events.jsonl     one event a line, in order. Its hash is the SHA-256 of the line's canonical JSON (RFC 8785; there are
                 no fractions, digits are text) without the key "hash"; "prev" is the hash of the line before.
personal.jsonl   names and addresses, apart from the events, so that they can be erased. "seal" in an event is the
                 SHA-256 of salt, a colon, and the value as JSON text.
erased.jsonl     what a signed erasure took out
links.jsonl      where events stand in the journals of devices that sent them, with the hash there; only where any did
files/           photos and files, each named by the SHA-256 of its bytes
visits/          every visit as a visit book, as it stands (corrected, without what was struck)
papers/          every visit that can be judged as a printed record, if it was asked for
csv/             readings.csv: one row a reading; entries.csv: one row a key of every entry. A cell that a spreadsheet
                 might take for a formula begins with an apostrophe
schema/          JSON Schema of the three .jsonl files
manifest.json    the SHA-256 of every file here and the last event of the chain

Take it in again: earthwright keep in FOLDER --journal NEW.sqlite   (gives the same hashes)
"""


def event_line(row: StoredEvent) -> str:
    """An event as a line of events.jsonl: canonical JSON with its hash."""
    parts: dict[str, Any] = {
        n: getattr(row, n) for n in ("no", "id", "visit", "seq", "kind", "body", "at", "kept_at", "prev")
    }
    return canonical({**parsed(envelope(**parts, by=row.who)), "hash": row.hash})


def export(
    store: Store, target: Path, papers: Callable[[Replayed], bytes | None] | None = None, visit: str = ""
) -> dict[str, Any]:
    """Write the journal, or one visit of it, into a new folder, or a new ``.zip`` file; gives the manifest.

    papers  makes the printed record of a visit, None where it cannot be judged. Raises JournalError when the target is
    there already or cannot be written; then nothing is left behind.
    """
    if target.exists() and not (target.is_dir() and not any(target.iterdir())):
        raise JournalError(f"{target} already exists and is not overwritten. Name a new folder or file.")
    part = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")  # a name that nobody else has
    try:
        sink: _Folder | _Zip = _Zip(part) if target.suffix.lower() == ".zip" else _Folder(part)
        with store.reading() as connection:
            manifest = _write(Snapshot(connection, visit), sink, papers)
        sink.close()
        if target.exists():
            target.rmdir()  # an empty folder; anything put there meanwhile stays
        part.rename(target)
    except OSError as error:
        raise JournalError(f"{target} cannot be written: {error.strerror}. Nothing was left behind.") from error
    finally:
        if part.is_dir():
            shutil.rmtree(part, ignore_errors=True)
        else:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)
    return manifest


class _Folder:
    """Files in a folder."""

    def __init__(self, path: Path) -> None:
        self.path, self.hashes = path, dict[str, str]()
        path.mkdir(parents=True)

    def put(self, name: str, content: bytes) -> None:
        """Write one file and note its hash."""
        path = self.path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)
        self.hashes[name] = digest(content)

    def close(self) -> None:
        """Nothing is left to do."""


class _Zip:
    """The same files in one archive."""

    def __init__(self, path: Path) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        self.file, self.hashes = zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED), dict[str, str]()

    def put(self, name: str, content: bytes) -> None:
        """Write one file and note its hash."""
        # A fixed time, so that the same journal gives the same archive.
        self.file.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), content, zipfile.ZIP_DEFLATED)
        self.hashes[name] = digest(content)

    def close(self) -> None:
        """Write the archive's own list."""
        self.file.close()


def _write(
    snapshot: Snapshot, sink: _Folder | _Zip, papers: Callable[[Replayed], bytes | None] | None
) -> dict[str, Any]:
    last, count = None, 0
    lines = io.StringIO()
    for row in snapshot.rows():
        lines.write(event_line(row) + "\n")
        last, count = row, count + 1
    sink.put("events.jsonl", lines.getvalue().encode())
    apart = ("key", "visit", "field", "value", "salt")
    sink.put("personal.jsonl", _jsonl({n: getattr(a, n) for n in apart} for a in snapshot.apart()))
    sink.put("erased.jsonl", _jsonl({"what": what, "event": event} for what, event in snapshot.erased()))
    if links := _jsonl(snapshot.links()):
        sink.put("links.jsonl", links)
    readings: list[list[object]] = []
    entries: list[list[object]] = []
    endings: dict[str, str] = {}
    for number, read in enumerate(_visits(snapshot), 1):
        readings += reading_rows(read)
        entries += entry_rows(read)
        endings |= {str(e.body["hash"]): _ending(e) for e in read.events if e.kind in (PHOTO, FILE)}
        heading = f"Written from the journal. Visit {read.visit_id}, state {read.head}."
        sink.put(f"visits/{number:04}.toml", as_toml(read.tables, heading).encode())
        if papers is not None and (paper := papers(read)) is not None:
            sink.put(f"papers/{number:04}.pdf", paper)
    sink.put("csv/readings.csv", table(READINGS, readings).encode("utf-8-sig"))
    sink.put("csv/entries.csv", table(ENTRIES, entries).encode("utf-8-sig"))
    for content in snapshot.contents():
        hash_ = digest(content)
        sink.put(f"files/{hash_}{endings.get(hash_, '')}", content)
    for name, make in SCHEMAS.items():
        sink.put(f"schema/{name}.schema.json", json.dumps(make(), ensure_ascii=False, indent=1).encode())
    sink.put("README.txt", READ_ME.encode())
    manifest = {
        **({"visit": snapshot.visit} if snapshot.visit else {}),
        "form": FORM,
        "events": count,
        "head": last.hash if last else "",
        "files": dict(sorted(sink.hashes.items())),
    }
    sink.put("manifest.json", json.dumps(manifest, indent=1).encode())
    return manifest


def _visits(snapshot: Snapshot) -> Iterator[Replayed]:
    by_visit: dict[str, list[Kept]] = {}
    for event in events_of(snapshot.connection, snapshot.visit):
        by_visit.setdefault(event.visit, []).append(event)
    for visit_id, events in by_visit.items():
        yield replay(visit_id, in_order(snapshot.connection, visit_id, events))


def _ending(event: Kept) -> str:
    return MEDIA.get(str(event.body.get("media", "")), "")


def _jsonl(values: Iterator[dict[str, Any]] | Any) -> bytes:
    return "".join(canonical(v) + "\n" for v in values).encode()
