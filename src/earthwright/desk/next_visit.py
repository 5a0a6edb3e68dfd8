"""The next visit to a site: what stands in the building is offered again, what was measured or looked at never."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from attrs import frozen

from ..records.event import FOLLOWS, Draft
from ..records.replay import Replayed
from ..records.trouble import NotKept
from ..site import tables
from ..site.tables import BY_NAME, TABLES


def _drops(table: str) -> tuple[str, ...]:
    """What of an entry was measured, looked at or declared for one day only."""
    return tuple(f.key for f in BY_NAME[table].fields if not f.keep)


def _keeps(table: str) -> tuple[str, ...]:
    return tuple(f.key for f in BY_NAME[table].fields if f.keep)


# Tables that describe the building, and what is brought along, which is mostly the same again.
BUILDING = {t.name: _drops(t.name) for t in TABLES if t.again == tables.BUILDING}
TOOLS = {t.name: _drops(t.name) for t in TABLES if t.again == tables.TOOLS}
STRUCTURE = BUILDING | TOOLS
HEADING, PARTICULARS = _keeps("visit"), _keeps("report")
OF_CLIENT = tuple(f.key for f in BY_NAME["report"].fields if f.client)


@frozen
class Offered:
    """One entry of the last visit that may be taken over.

    event  id of the entry there;  kind, body  as it would be entered;  left_out  keys that must be looked at anew
    """

    event: str
    kind: str
    body: dict[str, Any]
    left_out: tuple[str, ...]


def offered(read: Replayed) -> tuple[Offered, ...]:
    """What a visit offers to the next one: the building with its lengths, particulars of the origin, instruments and leads."""
    found = []
    for entry in read.entries:
        if entry.struck is not None or entry.kind not in STRUCTURE:
            continue
        drop = STRUCTURE[entry.kind]
        body = {k: v for k, v in entry.body.items() if k not in drop}
        found.append(Offered(entry.id, entry.kind, body, tuple(k for k in entry.body if k in drop)))
    return tuple(found)


def following_drafts(
    read: Replayed, visit_id: str, date: str, by: str, keep: Iterable[str] | None, heading: dict[str, Any], at: str
) -> list[Draft]:
    """The entries that begin a visit after another. ``keep``: ids of what is taken over, None for everything."""
    wanted = None if keep is None else set(keep)
    taken = [o for o in offered(read) if wanted is None or o.event in wanted]
    if wanted is not None and (unknown := wanted - {o.event for o in taken}):
        raise NotKept(f"These entries are not offered: {', '.join(sorted(unknown))}.")
    before = next((e.body for e in read.entries if e.kind == "visit" and e.struck is None), {})
    body = {**{k: before[k] for k in HEADING if k in before}, "date": date, "kind": before.get("kind", "periodic")}
    drafts = [Draft(visit_id, "visit", {**body, **heading}, by, "", at)]
    if report := _particulars(read, before, str(heading.get("client") or before.get("client", ""))):
        drafts.append(Draft(visit_id, "report", report, by, "", at))
    drafts += [Draft(visit_id, o.kind, o.body, by, "", at) for o in taken]
    link = {"visit": read.visit_id, "head": read.head, "entries": [o.event for o in taken]}
    return [*drafts, Draft(visit_id, FOLLOWS, link, by, "", at)]


def _particulars(read: Replayed, visit: dict[str, Any], client: str) -> dict[str, Any]:
    """Who the contractor is, and the last report by date and number; nothing where the last visit had no report.

    client  of the new visit: what belongs to another one stays behind
    """
    report = next((e.body for e in read.entries if e.kind == "report" and e.struck is None), {})
    stays = PARTICULARS if client == visit.get("client", "") else tuple(k for k in PARTICULARS if k not in OF_CLIENT)
    kept = {k: report[k] for k in stays if k in report}
    if report.get("number"):
        kept |= {"previous": visit.get("date"), "previous_number": report["number"]}
    return kept


def last_visit(read: Replayed) -> str:
    """Id of the visit that this one was begun from; empty if from none."""
    return next((str(e.body.get("visit", "")) for e in read.events if e.kind == FOLLOWS), "")
