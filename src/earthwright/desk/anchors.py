"""What left the house and can be held against a journal: papers, exports, backups, witness files, hashes written down.

A journal tells of itself that nothing inside it was changed. Whether its end is missing, or all of it was chained anew, can
only be told by something that was kept elsewhere.
"""

from __future__ import annotations

import datetime as dt
import json
import re
import sqlite3
import time
import zipfile
import zlib
from collections.abc import Collection, Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

from attrs import evolve, field, frozen

from ..assess import assess
from ..base.errors import Finding, Severity
from ..paper.page import record_hash
from ..records.booktext import as_toml
from ..records.event import ERASE, FILE, Kept
from ..records.replay import replay
from ..records.rows import arrivals_of, hash_at, sent_there, stored_of, visits_with_content
from ..records.trouble import JournalError
from ..records.verify import NOT_IN_CHAIN, Head, Verified, hash_of
from ..visitbook import read_text

if TYPE_CHECKING:
    from .desk import Desk

LARGEST = 2_000_000  # of a witness file or a manifest
SECONDS = 60.0  # spent at most on judging visits again to find the record of a paper
_HASH = re.compile(r"[0-9a-f]{64}")
WITNESS = "earthwright-witness-1"


@frozen
class Anchor:
    """What one file says of a journal.

    heads    ends of the chain;  records  hashes of records that were printed;  contents  hashes of visits that were
    stamps   time stamps by a server, with the head each is for [hash, token]
    """

    source: str
    heads: tuple[Head, ...] = ()
    records: tuple[str, ...] = ()
    contents: tuple[str, ...] = ()
    stamps: tuple[tuple[str, bytes], ...] = field(factory=tuple, repr=False)


def read_anchor(path: Path) -> Anchor:
    """What a paper (PDF), export (folder, .zip, manifest.json), backup (SQLite) or witness file says. Raises JournalError."""
    source = path.name
    try:
        if path.is_dir():
            return _manifest(source, _limited(path / "manifest.json"))
        if zipfile.is_zipfile(path) and not _begins(path, b"%PDF"):
            with zipfile.ZipFile(path) as packed, packed.open("manifest.json") as file:
                return _manifest(source, file.read(LARGEST))
        if _begins(path, b"%PDF"):
            return _paper(source, path)
        if _begins(path, b"SQLite format 3\0"):
            return _backup(source, path)
        content = _limited(path)
        return _manifest(source, content) if path.suffix == ".json" else _witness(source, content)
    except (OSError, KeyError, zipfile.BadZipFile, zlib.error, EOFError, RuntimeError) as error:
        raise JournalError(
            f"{source}: cannot be read as a witness: {getattr(error, 'strerror', None) or error}."
        ) from error


def _limited(path: Path) -> bytes:
    with path.open("rb") as file:
        content = file.read(LARGEST + 1)
    if len(content) > LARGEST:
        raise JournalError(f"{path.name}: too large for a witness (at most {LARGEST} bytes).")
    return content


def _begins(path: Path, magic: bytes) -> bool:
    with path.open("rb") as file:
        return file.read(len(magic)) == magic


def _head(source: str, no: Any, hash_: Any) -> Head:
    if (
        not isinstance(no, int)
        or isinstance(no, bool)
        or no < 1
        or not isinstance(hash_, str)
        or not _HASH.fullmatch(hash_)
    ):
        raise JournalError(
            f"{source}: this names no event of a journal (expected its number and 64 digits of its hash)."
        )
    return Head(source, no, hash_)


def _manifest(source: str, content: bytes) -> Anchor:
    said = _parsed(source, content)
    return Anchor(source, (_head(source, said.get("events"), said.get("head")),))


def _parsed(source: str, content: bytes) -> dict[str, Any]:
    try:
        said = json.loads(content)
    except (ValueError, RecursionError) as error:
        raise JournalError(f"{source}: this is not a witness file of a journal.") from error
    if not isinstance(said, dict):
        raise JournalError(f"{source}: this is not a witness file of a journal.")
    return said


def _witness(source: str, content: bytes) -> Anchor:
    heads, stamps = [], []
    for line in content.splitlines():
        if line.strip():
            said = _parsed(source, line)
            if said.get("schema") != WITNESS:
                raise JournalError(f"{source}: this is not a witness file of a journal.")
            heads.append(_head(source, said.get("no"), said.get("head")))
            if said.get("stamp"):
                stamps.append((heads[-1].hash, _token(source, said["stamp"])))
    if not heads:
        raise JournalError(f"{source}: this is not a witness file of a journal.")
    return Anchor(source, tuple(heads), stamps=tuple(stamps))


def _token(source: str, said: Any) -> bytes:
    try:
        return bytes.fromhex(said)
    except (ValueError, TypeError) as error:
        raise JournalError(f"{source}: the time stamp in it is damaged.") from error


def witness_line(no: int, head: str, at: str, stamp: bytes = b"", by: str = "") -> str:
    """One line of a witness file."""
    said = {"schema": WITNESS, "no": no, "head": head, "at": at}
    return json.dumps(said | ({"stamp": stamp.hex(), "server": by} if stamp else {}), ensure_ascii=False) + "\n"


def _backup(source: str, path: Path) -> Anchor:
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as db:
            row = db.execute("SELECT no, hash FROM event ORDER BY no DESC LIMIT 1").fetchone()
    except sqlite3.Error as error:
        raise JournalError(f"{source}: this is not a journal that can be read: {error}.") from error
    return Anchor(source, (_head(source, *(row or (0, ""))),))


def _paper(source: str, path: Path) -> Anchor:
    from ..paper.attachments import LARGEST_FILE, CannotRead
    from ..paper.verify import verify

    try:
        with path.open("rb") as file:
            found = verify(file.read(LARGEST_FILE + 1), dt.date.today())
    except CannotRead as error:
        raise JournalError(f"{source}: {error}") from error
    heads = (Head(source, *found.journal),) if found.journal[0] else ()
    return Anchor(source, heads, (found.record,), (found.content,) if found.content else ())


def check(desk: Desk, known: Sequence[str], anchors: Sequence[Anchor]) -> Verified:
    """The whole journal, held against hashes and anchors. What is in no entry is looked for by judging visits again."""
    asked = [h.lower() for h in known]
    records = [r for a in anchors for r in a.records]
    found = desk.verify([*asked, *records], [h for a in anchors for h in a.heads])
    if not found.missing:
        return found
    there = dict(_judged_again(desk, found.missing))
    for a in anchors:  # a paper that was printed from the very visit, by another version or from a file of another name
        for content in a.contents:
            if any(r in found.missing and r not in there for r in a.records):
                where = _visit_of(desk, content)
                there |= dict.fromkeys(a.records, where) if where else {}
    faults = [f for f in found.faults if f.what != NOT_IN_CHAIN or f.expected not in there]
    missing = tuple(m for m in found.missing if m not in there)
    return evolve(found, faults=tuple(faults), found=(*found.found, *there.items()), missing=missing)


def _judged_again(desk: Desk, hashes: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Record hashes that follow from a visit of the journal, as it stands or stood. Stops when it has taken too long."""
    left, until = {h for h in hashes if len(h) >= 12}, time.monotonic() + SECONDS
    for line in desk.visits():
        for said, text, name in _texts(desk, line.id):
            if not left or time.monotonic() > until:
                return
            book = read_text(text, name)
            if book.visit is None:
                continue
            printed = record_hash(assess(book.visit, found=book.findings, broken=book.broken))
            for hash_ in [h for h in left if printed.startswith(h)]:
                left.discard(hash_)
                yield hash_, f"visit {line.id[:8]}: record that follows from it {said}"


def _texts(desk: Desk, visit_id: str) -> Iterator[tuple[str, str, str]]:
    """Every text that a paper of a visit may have been printed from: when, the text, the name it was read under."""
    events = desk.read(visit_id).events
    for event in events:
        if event.kind == FILE and event.body.get("media") == "text/toml":
            try:
                yield "as taken in", desk.content(str(event.body["hash"])).decode("utf-8-sig"), "visit book"
            except (JournalError, UnicodeDecodeError):
                continue  # erased: then only the entries are left
    for count in range(len(events), 0, -1):
        read = replay(visit_id, events[:count])
        head = f"Written from the journal. Visit {visit_id}, state {read.head}."
        yield f"at its event {count}", as_toml(read.tables, head), "visit book"


def _visit_of(desk: Desk, content: str) -> str:
    """The visit that has or had this content; empty if none."""
    for line in desk.visits():
        later = events_since(line.id, desk.store.arrivals(line.id), content)
        if later is not None:
            return f"visit {line.id[:8]}: what was entered {_ago(later)} is what the paper was printed from"
    return ""


def printed_from(
    desk: Desk, content: str, signed: Collection[tuple[str, str, str, str]], head: tuple[int, str]
) -> tuple[str, int, str] | None:
    """The visit that a document was issued, signed or erased from, looked up by its content: its id, how many entries came
    since, and what is not as it was kept, in words. None when the index of the journal names no such visit.

    head  end of the journal that the document prints. The visit's own events are worked out again, each with the one it hangs
    on; the rest of the journal is not.
    """
    with desk.store.reading() as connection:
        for visit in visits_with_content(connection, content):
            later = events_since(visit, list(arrivals_of(connection, visit).values()), content, signed)
            if later is not None:
                rows = stored_of(connection, visit)
                odd = [
                    r.no for r in rows if hash_of(r) != r.hash or (r.no > 1 and hash_at(connection, r.no - 1) != r.prev)
                ]
                gone = head[0] and hash_at(connection, head[0]) != head[1] and not sent_there(connection, *head)
                fault = f"Event {odd[0]} of this visit is not what was kept." if odd else ""
                return (
                    visit,
                    later,
                    fault or ("The end of the journal that is printed on it does not stand there." if gone else ""),
                )
    return None


def _ago(events: int) -> str:
    return f"up to {events} entries ago" if events else "in it"


def events_since(
    visit_id: str,
    arrivals: Sequence[Sequence[Kept]],
    content: str,
    signed: Collection[tuple[str, str, str, str]] = (),
) -> int | None:
    """How many events ago a visit had this content and at least these signatures; None if it never had.

    arrivals  its events as they came, here and to each device: what a device held at a moment, nobody else may have held
    signed    what tells each signature and receipt of the document from any other. An erasure changed the content and kept
              the hash of what it was.
    """
    all_of = max(map(len, arrivals), default=0)
    for events in arrivals if content else ():
        for count in range(len(events), 0, -1):
            event = events[count - 1]
            if event.kind == ERASE and event.body.get("content") == content:
                return all_of - count + 1
            visit = replay(visit_id, sorted(events[:count], key=lambda e: e.seq)).book.visit
            if visit is None or visit.paperwork.content != content:
                continue
            if set(signed) <= visit.paperwork.given():
                return all_of - count
    return None


def stamp_findings(anchors: Sequence[Anchor], trusted: Sequence[bytes]) -> Iterator[Finding]:
    """What each time stamp of a witness says: when a server saw that end of the chain, or that it does not hold."""
    from ..paper.stamp import checked_stamp

    for a in anchors:
        for head, token in a.stamps:
            good, words = checked_stamp(token, head, trusted)
            yield Finding(a.source, words, Severity.NOTE if good else Severity.ERROR, "journal.stamp", "", "", "", "")
