"""A kept visit opened for one request: its entries, what was judged of it, and what was written since a page was made."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping

from attrs import frozen

from ..desk import Desk
from ..outcomes.assessment import Assessment
from ..records.event import PHOTO, Kept
from ..records.json_values import from_json
from ..records.replay import EntryNow, Replayed, effect


@frozen
class Photo:
    """A photograph or sketch as a page shows it. ``entry``: its entry, empty: not to be printed;  kept  whether its file is here."""

    hash: str
    caption: str
    about: str
    by: str
    at: str
    entry: str
    kept: bool


@frozen
class Opened:
    """A visit as it stands now. ``weighing``: all bonds together are still being weighed; each was judged by its own readings."""

    kept: Replayed
    a: Assessment | None
    weighing: bool = False

    @property
    def id(self) -> str:
        """Its id."""
        return self.kept.visit_id

    @property
    def head(self) -> str:
        """Head of the chain that a page is made from."""
        return self.kept.head

    def entry(self, entry_id: str) -> EntryNow | None:
        """The entry of that id."""
        return next((e for e in self.kept.entries if e.id == entry_id), None)

    def of(self, kind: str, name: str) -> str:
        """Id of the standing entry of a part, a bond, a circuit …; empty if there is none."""
        return self.kept.event_of(kind, name)

    def single(self, kind: str) -> EntryNow | None:
        """The entry of a table that a visit has one of."""
        return next((e for e in self.kept.entries if e.kind == kind and e.struck is None), None)

    def steps(self) -> list[EntryNow]:
        """Every step in the order it was written, struck ones among them."""
        return [e for e in self.kept.entries if e.kind == "step"]

    def since(self, head: str) -> tuple[Kept, ...]:
        """What was written after a head of the chain; nothing when the head is not one of this visit."""
        events = self.kept.events
        place = next((i for i, e in enumerate(events) if e.hash == head), len(events) - 1)
        return events[place + 1 :]

    def photos(self) -> list[Photo]:
        """The photographs and sketches that stand, in order; those kept before they were made ready for print among them."""
        struck, _ = effect(self.kept.events)
        kept = [e for e in self.kept.events if e.kind == PHOTO]
        every, there = [e for e in self.kept.entries if e.kind == "picture"], {str(e.body.get("hash")) for e in kept}
        named = {str(e.body.get("hash")) for e in every}
        shown = [(e.event.seq, _photo(e.event, e.body, e.id, there)) for e in every if e.struck is None]
        old = (e for e in kept if e.id not in struck and str(e.body.get("hash")) not in named)
        shown += [(e.seq, _photo(e, e.body, "", there)) for e in old]
        return [photo for _, photo in sorted(shown, key=lambda x: x[0])]

    def photos_of(self, about: str) -> list[Photo]:
        """The photos of one thing or observation: ``bond gas``, ``circuit c1``, ``observation 1``."""
        return [p for p in self.photos() if p.about == about]


def _photo(event: Kept, body: Mapping[str, object], entry: str, there: Collection[str]) -> Photo:
    said = {k: str(body.get(k) or "") for k in ("hash", "caption", "of", "about", "taken")}
    about, at = said["of"] or said["about"], said["taken"] or event.at
    return Photo(said["hash"], said["caption"], about, event.by, at, entry, said["hash"] in there)


def open_visit(desk: Desk, visit_id: str, today: dt.date, *, whole_site: bool | None = None) -> Opened:
    """A visit read and judged as it stands, beside the last one to the same place and the day of asking. Raises NoSuch."""
    read = desk.read(visit_id)
    return Opened(read, desk.assess(read, today=today, whole_site=whole_site))


def open_for(desk: Desk, visit_id: str, of: str) -> Opened:
    """A visit with one thing of it judged: origin, board, circuit, electrode, part or bond. Raises NoSuch."""
    read = desk.read(visit_id)
    return Opened(read, desk.judge(read, of))


def open_record(desk: Desk, visit_id: str) -> Opened:
    """A visit judged by itself, as papers print it. Raises NoSuch."""
    read = desk.read(visit_id)
    return Opened(read, desk.record(read))


def plain_body(entry: EntryNow) -> dict[str, object]:
    """The keys of an entry as the visit book would hold them."""
    return {k: from_json(v, k) for k, v in entry.body.items()}
