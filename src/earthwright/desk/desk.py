"""The desk: kept visits, their entries, and what is judged of them. The web pages and the commands both use it."""

from __future__ import annotations

import datetime as dt
import uuid
from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from ..assess import assess
from ..outcomes.assessment import Assessment
from ..records.booktext import as_toml
from ..records.canon import digest
from ..records.copy import backup, restore
from ..records.event import CORRECT, FILE, PHOTO, STRIKE, Draft, Kept
from ..records.export import export
from ..records.handover import TakenIn, hand_over, take_in
from ..records.import_ import import_
from ..records.json_values import to_json
from ..records.replay import EntryNow, Replayed, effect, replay, replay_on
from ..records.store import Store
from ..records.trouble import Conflict, JournalError, NoSuch, NotKept
from ..records.verify import Head, Verified, verify
from ..visitbook import ReadBook, read_text
from .camera import kept_photos
from .compare import Comparison, compare
from .erasure import CLIENT, Elsewhere, KeptUntil, erase, kept_until, same_person
from .intake import as_json, book_drafts
from .last_visit import Headings
from .next_visit import Offered, following_drafts, last_visit, offered
from .undo import SAID, to_undo
from .visit_list import VisitLine, VisitList

KEPT_JUDGED = 32  # assessments held, by the head of their visit


class Desk:
    """A journal with everything done to it. ``url``: path of an SQLite file, or an address (sqlite, postgresql)."""

    def __init__(self, url: str | Path, *, create: bool = True) -> None:
        self.store = Store(url, create=create)
        self._judged: OrderedDict[object, Assessment | None] = OrderedDict()
        self._read: OrderedDict[object, Replayed] = OrderedDict()
        self._headings, self._list = Headings(self.store), VisitList(self.store)
        self._texts, self._texts_upto = set[str](), 0
        # A firm decides; else all are one person's.
        self.beside: Callable[[str, str], bool] = lambda visit, earlier: True

    def close(self) -> None:
        """Let go of the journal."""
        self.store.close()

    # ---- visits ----

    def visits(self) -> list[VisitLine]:
        """Every visit, the one changed last first."""
        return self._list.lines()

    def holds(self, visit_id: str) -> bool:
        """Whether there is a visit of that id."""
        return bool(self.store.visit_head(visit_id)[0])

    def start(
        self,
        place: str,
        *,
        date: dt.date | str = "",
        kind: str = "periodic",
        by: str = "",
        visit_id: str = "",
        at: str = "",
        **heading: Any,
    ) -> str:
        """A new visit with its heading; gives its id. ``heading``: more keys of the visit table."""
        visit_id = visit_id or str(uuid.uuid4())
        body = {"place": place, "date": str(date or dt.date.today()), "kind": kind, **heading}
        self.add(visit_id, "visit", body, by, id=f"{visit_id[:55]}-heading", at=at)
        return visit_id

    def take_in(self, text: str | bytes, *, by: str = "", visit_id: str = "", at: str = "", again: bool = False) -> str:
        """Keep a visit book, all of it or nothing; gives the id of the visit. The text itself is kept as a file.

        Raises VisitBookError for a text that is no visit book, Conflict for the very text of an earlier visit unless
        ``again``. Entries with faults are kept as typed; read them back to see the findings.
        """
        content = text if isinstance(text, bytes) else text.encode()
        drafts = book_drafts(content, visit_id or str(uuid.uuid4()), by, at)
        if not again:
            for event in self._texts_like(drafts[-1].body["hash"]):
                if event.body.get("hash") == drafts[-1].body["hash"]:
                    raise Conflict(f"This text was imported before, as visit {event.visit}. Nothing was added.")
        self.store.append(drafts, [content])
        return drafts[0].visit

    def _texts_like(self, text_hash: str) -> list[Kept]:
        """The files of the journal when one of them may be this text, else none. Of many books each is read once."""
        for event in self.store.events(after=self._texts_upto, kinds=(FILE,)):
            self._texts.add(str(event.body.get("hash")))
            self._texts_upto = event.no
        return self.store.events(kinds=(FILE,)) if text_hash in self._texts else []

    def read(self, visit_id: str) -> Replayed:
        """The visit as it stands, with the reader's findings and the event behind each. Raises NoSuch.

        Held until something is written to it; then read on when only steps came, which is what most entries are.
        """
        if not (head := self.store.visit_head(visit_id)[1]):
            raise NoSuch(f"There is no visit '{visit_id}'.")
        found = self._read.get(visit_id)
        if found is not None and found.head != head:
            found = replay_on(found, self.store.events(visit_id, after=found.events[-1].no))
        found = found or replay(visit_id, self.store.events(visit_id))
        _hold(self._read, visit_id, found)
        return found

    def forget(self) -> None:
        """Read every visit anew: the office's order, or the name of this journal there, may be another."""
        self._read.clear()
        self._judged.clear()

    def judge(self, visit: str | Replayed, only: str) -> Assessment | None:
        """One thing of a visit, by its id or as it was read, judged: see ``only`` of :func:`~earthwright.assess.assess`. Raises NoSuch."""
        read = visit if isinstance(visit, Replayed) else self.read(visit)
        key = (read.visit_id, read.head, only)
        if key not in self._judged:
            _hold(self._judged, key, _judge(read.book, only=only))
        return self._judged[key]

    def assess(
        self, visit: str | Replayed, *, today: dt.date | None = None, whole_site: bool | None = None
    ) -> Assessment | None:
        """The visit, by its id or as it was read, judged beside the last one to the same place; None when its heading cannot be read. Raises NoSuch.

        today  the day of asking, for dates that cannot be;  whole_site  weigh all bonds as one network even where little
        ties them together. Held until one of the two visits changes, or the day does. What is printed and kept is
        :meth:`record`, which rests on nothing but the visit itself.
        """
        read = visit if isinstance(visit, Replayed) else self.read(visit)
        before = self._before(read)
        key = (read.visit_id, read.head, before and (before.visit_id, before.head), today, whole_site)
        if key not in self._judged:
            previous = before.book.visit if before else None
            _hold(self._judged, key, _judge(read.book, previous=previous, today=today, whole_site=whole_site))
        return self._judged[key]

    def record(self, visit: str | Replayed) -> Assessment | None:
        """The visit, by its id or as it was read, judged by itself, as papers print and keep it; None when its heading cannot be read. Raises NoSuch.

        It is read from the text of its visit book, which goes into every paper: whoever reads that text on any later day
        gets this very record, line numbers and all.
        """
        read = visit if isinstance(visit, Replayed) else self.read(visit)
        key = (read.visit_id, read.head)
        if key not in self._judged:
            _hold(self._judged, key, _recorded(read))
        return self._judged[key]

    def before(self, visit_id: str) -> str:
        """Id of the last visit to the same place; empty when there is none that can be read. Raises NoSuch."""
        found = self._before(self.read(visit_id))
        return found.visit_id if found else ""

    def _before(self, read: Replayed) -> Replayed | None:
        """The latest earlier visit to the same place, or the one that this was begun from, if that is later.

        A visit dated before the one it was begun from has a wrong date on one of them, which has to be seen.
        """
        visit = read.book.visit
        if visit is None:
            return None
        found = self._headings.earlier(read.visit_id, visit.date)
        begun_from = last_visit(read)
        day = self._headings.of(begun_from).date if begun_from else None
        if day is not None:
            found = sorted(
                [(begun_from, day), *(x for x in found if x[0] != begun_from)], key=lambda x: x[1], reverse=True
            )
        others = (self.read(i) for i, _ in found if self.beside(read.visit_id, i))
        return next((other for other in others if other.book.visit is not None), None)

    def as_visit_book(self, visit_id: str) -> str:
        """The visit as the text of a visit book, which reads back as the same visit. Raises NoSuch."""
        return _book_text(self.read(visit_id))

    # ---- entries ----

    def add(
        self, visit_id: str, kind: str, body: Mapping[str, Any], by: str = "", *, id: str = "", at: str = ""
    ) -> Kept:
        """Keep one entry. ``body``: the keys of the visit book's table, values as typed (text), numbers, true, false.

        The same id again adds nothing and gives the first back (``new`` is False); with other content it is a Conflict.
        """
        return self.add_all([Draft(visit_id, kind, dict(body), by, id, at)])[0]

    def add_all(self, drafts: Sequence[Draft], *, contents: Sequence[bytes] = (), head: str = "") -> list[Kept]:
        """Keep several entries, all or none. ``head``: as for :meth:`Store.append`, with the bytes of files among them."""
        return self.store.append([as_json(d) for d in drafts], contents, head=head)

    def correct(
        self,
        event_id: str,
        body: Mapping[str, Any],
        reason: str,
        by: str = "",
        *,
        id: str = "",
        at: str = "",
        seen: str = "",
    ) -> Kept:
        """Replace what an entry says, with a reason; the value before stays in the history.

        seen  id of the event that the person was looking at (``EntryNow.latest.id``); if the entry has been changed
        since, a Conflict says by whom and nothing is kept.
        """
        entry = self._entry(event_id)
        _reason(reason)

        def check(changes: list[Kept]) -> None:
            struck, corrected = effect(changes)
            latest = corrected.get(entry.id, entry.event)
            for change, did in ((struck.get(entry.id), "took out"), (latest if seen != latest.id else None, "changed")):
                if change is not None and (seen or did == "took out"):
                    who = change.by or "Somebody"
                    raise Conflict(f"{who} {did} this entry at {change.kept_at}. Look again; nothing was changed.")

        changed = {"event": entry.id, "body": to_json(dict(body)), "reason": reason}
        return self.store.append([Draft(entry.event.visit, CORRECT, changed, by, id, at)], check=check)[0]

    def strike(
        self, event_id: str, reason: str, by: str = "", *, id: str = "", at: str = "", undo: bool = False
    ) -> Kept:
        """Take an entry, a correction, a photo or an earlier strike out, with a reason; it stays visible as struck."""
        event = self.store.event(event_id)
        _reason(reason)
        body: dict[str, Any] = {"event": event.id, "reason": reason, **({"undo": True} if undo else {})}
        return self.store.append([Draft(event.visit, STRIKE, body, by, id, at)])[0]

    def undo(self, visit_id: str, by: str = "", *, id: str = "", at: str = "") -> Kept:
        """Take back what was last done in a visit and still stands. Raises NoSuch for nothing,
        NotKept when it says that something is off or dangerous."""
        found = to_undo(self.read(visit_id), anybody=True)
        if found is None:
            raise NoSuch("There is nothing to undo.")
        if found.held:
            raise NotKept(SAID[found.held])
        return self.strike(found.event.id, "taken back", by, id=id, at=at, undo=True)

    def history(self, event_id: str) -> list[Kept]:
        """An event and everything that corrected or struck it, or struck its corrections, in order. Raises NoSuch."""
        first = self.store.event(event_id)
        wanted, found = {first.id}, [first]
        for event in self.store.events(first.visit, after=first.no, kinds=(CORRECT, STRIKE)):
            if event.about in wanted:
                wanted.add(event.id)
                found.append(event)
        return found

    # ---- photos and files ----

    def attach(
        self,
        visit_id: str,
        content: bytes,
        caption: str,
        by: str = "",
        *,
        name: str = "",
        media: str = "",
        about: str = "",
        id: str = "",
        at: str = "",
    ) -> Kept:
        """Keep a photo or a file, its bytes once by their hash. ``about``: id of the entry or thing it shows."""
        if not content:
            raise NotKept("The file is empty.")
        hash_ = digest(content)
        kind = PHOTO if media.startswith("image/") else FILE
        body = {"hash": hash_, "size": len(content), "caption": caption, "name": name, "media": media, "about": about}
        return self.store.append([Draft(visit_id, kind, body, by, id, at)], [content])[0]

    def content(self, hash_: str) -> bytes:
        """The bytes of a photo or file. Raises NoSuch, or JournalError when they were changed."""
        return self.store.content(hash_)

    # ---- the next visit ----

    def offered(self, visit_id: str) -> tuple[Offered, ...]:
        """What a visit offers to the next one: the building with its lengths; readings and looks never."""
        return offered(self.read(visit_id))

    def next_visit(
        self,
        from_visit_id: str,
        date: dt.date | str = "",
        *,
        by: str = "",
        keep: Iterable[str] | None = None,
        visit_id: str = "",
        at: str = "",
        **heading: Any,
    ) -> str:
        """Begin a visit from what stood at the last one; gives its id. ``keep``: ids of offers to take, None for all."""
        visit_id = visit_id or str(uuid.uuid4())
        day = str(date or dt.date.today())
        self.add_all(following_drafts(self.read(from_visit_id), visit_id, day, by, keep, heading, at))
        return visit_id

    def compare(self, old_visit_id: str, new_visit_id: str) -> Comparison:
        """What changed in the building, and measured values side by side."""
        return compare(self.read(old_visit_id), self.read(new_visit_id))

    # ---- the whole journal ----

    def verify(self, known: Sequence[str] = (), heads: Sequence[Head] = ()) -> Verified:
        """Work every event and file out again. ``known``: hashes from documents, ``heads``: ends kept elsewhere."""
        return verify(self.store, known, heads)

    def export(self, target: str | Path, *, papers: Callable[[Replayed], bytes | None] | None = None) -> dict[str, Any]:
        """Everything as open files in a new folder or ``.zip``; gives the manifest."""
        return export(self.store, Path(target), papers)

    def hand_over(self, visit_id: str) -> bytes:
        """A visit as one file for another journal. Raises NoSuch, or JournalError when something of it was erased."""
        return hand_over(self.store, self.read(visit_id).visit_id)

    def take_over(self, content: bytes, **how: Any) -> TakenIn:
        """Take in a visit that was handed over; ``how``: see :func:`take_in`. Raises Damaged, or Conflict when both went on."""
        from .arrived import papers_of_file

        return take_in(content, self.store, look=papers_of_file, **how)

    def paper_of(self, read: Replayed) -> bytes | None:
        """The printed record of a visit (PDF); None where the visit cannot be judged."""
        try:
            from ..paper.pdf import bonding_record
        except ModuleNotFoundError as error:
            raise JournalError("Printed records need the extra 'pdf' (typst is not installed).") from error
        if (judged := _recorded(read)) is None:
            return None
        return bonding_record(judged, _book_text(read), self.store.head(), kept_photos(self.store, read.book.visit))

    def import_(self, source: str | Path) -> int:
        """Take an export in; how many events were new. The hashes are those of the journal that was exported."""
        return import_(Path(source), self.store)

    def backup(self, path: str | Path, **how: Any) -> int:
        """Copy the journal while it is in use; how many events the copy holds."""
        return backup(self.store, Path(path), **how)

    def restore(self, path: str | Path, **how: Any) -> int:
        """Bring a backup into this journal, which must be empty; how many events."""
        return restore(Path(path), self.store, **how)

    def kept_until(self, visit_id: str) -> KeptUntil:
        """Until when a visit is kept at least, and by which rule."""
        return kept_until(self.read(visit_id))

    def erase(self, visit_id: str, reason: str, by: str, **how: Any) -> Kept:
        """Take the client's personal data of a visit out, signed and with a reason; the chain stays whole."""
        return erase(self.store, self.read(visit_id), reason, by, **how)

    def same_person(self, visit_id: str, fields: tuple[str, ...] = CLIENT) -> tuple[Elsewhere, ...]:
        """Other visits that hold the same person or home; to be asked before an erasure."""
        return same_person(self.store, visit_id, fields)

    # ---- inside ----

    def _entry(self, event_id: str) -> EntryNow:
        event = self.store.event(event_id)
        try:
            return self.read(event.visit).entry(event.id)
        except KeyError as error:
            raise NotKept(f"'{event.kind}' cannot be corrected; strike it out instead.") from error


def _book_text(read: Replayed) -> str:
    return as_toml(read.tables, f"Written from the journal. Visit {read.visit_id}, state {read.head}.")


def _recorded(read: Replayed) -> Assessment | None:
    return None if read.book.visit is None else _judge(read_text(_book_text(read)))


def _judge(book: ReadBook, **how: Any) -> Assessment | None:
    return None if book.visit is None else assess(book.visit, found=book.findings, broken=book.broken, **how)


def _reason(reason: str) -> None:
    if not reason.strip():
        raise NotKept("A change needs its reason.")


def _hold(held: OrderedDict[object, Any], key: object, value: Any) -> None:
    held[key] = value
    held.move_to_end(key)
    while len(held) > KEPT_JUDGED:
        held.popitem(last=False)
