"""One visit handed over as one file, from a phone to the office or back, without any network between.

The file is an export of one visit: every event with the hash that it was kept under, names, photos and files. What comes in
is worked out again, event by event. It only ever goes on where the other left off: when both went on, what was off while a
reading was taken would be mixed up, so it is refused and both stay as they are.
"""

from __future__ import annotations

import json
import tempfile
import zipfile
from collections.abc import Callable, Mapping, Sequence
from io import BytesIO
from pathlib import Path

from attrs import frozen

from .canon import digest, parsed
from .event import ERASE, FILE, PHOTO, Draft, Kept, StoredEvent
from .export import export
from .import_ import UNREADABLE, Export, InZip
from .personal import Apart, is_reference
from .rows import kept
from .store import Store
from .trouble import Conflict, Damaged, JournalError
from .verify import hash_of


@frozen
class TakenIn:
    """What came of it: the visit, how many of its events were new here, how many it has now, and what of its papers was not compared."""

    visit: str
    new: int
    count: int
    doubts: tuple[str, ...] = ()


# Given all events of the file, how many are here already, and the files by their hash: what could not be compared, in words.
Look = Callable[[Sequence[Kept], int, Mapping[str, bytes]], tuple[str, ...]]


def hand_over(store: Store, visit: str) -> bytes:
    """A visit as one file. Raises JournalError when something of it was erased: then its names are no longer here."""
    if any(e.kind == ERASE for e in store.events(visit)):
        raise JournalError("Personal data of this visit were erased, so it is not handed over. Nothing was written.")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "visit.zip"
        export(store, path, visit=visit)
        return path.read_bytes()


def of_one_visit(content: bytes) -> bool:
    """Whether a packed export says that it is one visit and no whole journal."""
    try:
        with zipfile.ZipFile(BytesIO(content)) as archive:
            return "visit" in json.loads(b"".join(InZip(archive).lines("manifest.json")))
    except (*UNREADABLE, OSError, JournalError, TypeError):
        return False


def take_in(
    content: bytes,
    store: Store,
    by: str = "",
    allow: Callable[[str, Sequence[Kept]], None] | None = None,
    look: Look | None = None,
) -> TakenIn:
    """Take a visit in that was handed over, all of it or nothing; what is here already is not kept twice.

    by  who brings it, where that is known better than the file says;  allow  refuses a visit and events that are not theirs
    look  refuses papers that say what the file does not hold
    Raises Damaged for a file that is not whole, Conflict when this journal went on with the visit by itself as well.
    """
    try:
        with zipfile.ZipFile(BytesIO(content)) as archive:
            source = Export(InZip(archive))
            rows, apart, contents = list(source.rows()), source.apart(), list(source.contents())
    except (*UNREADABLE, OSError) as error:
        raise Damaged(f"This is no visit that was handed over: {error}. Nothing was taken in.") from error
    events = _checked(rows, apart)
    visit = events[0].visit
    here = [e.id for e in store.events(visit)]
    there = [e.id for e in events]
    shared = min(len(here), len(there))
    if here[:shared] != there[:shared]:
        apart_at = next(n for n in range(shared) if here[n] != there[n])
        raise Conflict(
            f"Both went on with this visit after they had {apart_at} entries in common: {len(here) - apart_at} more here, "
            f"{len(there) - apart_at} more in the file. Nothing was taken in, because what was off while a reading was taken "
            "would be mixed up. Go on with one of the two and enter what the other has more."
        )
    files = {digest(c): c for c in contents}
    doubts = look(events, len(here), files) if look is not None else ()
    if allow is not None:
        allow(visit, events[len(here) :])
    if new := events[len(here) :]:
        wanted = {str(e.body.get("hash")) for e in new if e.kind in (PHOTO, FILE)}
        drafts = [Draft(e.visit, e.kind, e.body, by or e.by, e.id, e.at) for e in new]
        _, head = store.visit_head(visit)
        store.append(drafts, [c for h, c in files.items() if h in wanted], head=head)
    return TakenIn(visit, len(new), max(len(here), len(there)), doubts)


def _checked(rows: list[StoredEvent], apart: list[Apart]) -> list[Kept]:
    """The events with their names put back, each as it was kept: of one visit, none missing, none changed."""
    values = {one.key: one for one in apart}
    if not rows or len({row.visit for row in rows}) != 1:
        raise Damaged("This file holds no visit, or more than one; an export of a whole journal goes into a new one.")
    for number, row in enumerate(rows, 1):
        if row.seq != number:
            raise Damaged(f"Entry {number} of the visit is missing in the file. Nothing was taken in.")
        if hash_of(row) != row.hash:
            raise Damaged(f"Entry {number} is not what was kept: its hash does not fit. Nothing was taken in.")
    found = [kept(row, {key: one.value for key, one in values.items()}, ()) for row in rows]
    for row in rows:
        for key, seal in _references([row.body, row.who]):
            if key not in values or values[key].seal != seal:
                raise Damaged(f"A name of entry {row.seq} is missing or was changed. Nothing was taken in.")
    return found


def _references(texts: list[str]) -> list[tuple[str, str]]:
    waiting: list[object] = [parsed(text) for text in texts]
    found = []
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            if is_reference(value):
                found.append((str(value["personal"]), str(value["seal"])))
            waiting.extend(value.values())
        elif isinstance(value, list):
            waiting.extend(value)
    return found
