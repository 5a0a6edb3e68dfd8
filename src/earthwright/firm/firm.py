"""The firm as the pages and the commands use it: whose each visit is, and what may be entered in whose name."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence

from attrs import evolve, frozen
from sqlalchemy import ColumnElement, insert, select

from ..desk import Desk
from ..desk.intake import book_drafts
from ..desk.visit_list import VisitLine
from ..records.event import CORRECT, FILE, ISSUE, STRIKE, Kept
from ..records.handover import TakenIn
from ..records.replay import Replayed
from ..records.trouble import Damaged, NotKept
from ..records.writer import now
from ..site.particulars import AUTHORISED
from . import tables
from .handing import Handing
from .index import Index, stage_of
from .names import in_name_of_another, not_theirs
from .passkeys import Passkeys
from .people import AGAIN, TOOK_AGAIN, Hasher, People, did, too_long
from .rights import BEGIN, ENTER, PEOPLE, PLAN, SEE, SUPERVISOR, Person, may
from .tables import reading, writing

Entry = tuple[str, dict[str, object]]


@frozen
class Deed:
    """Something that was done: when [UTC], by whose id, what, about which visit or tool, in which words."""

    at: str
    who: str
    did: str
    about: str
    words: str


# Whoever made such an entry, if only to take it out again, has inspected; a heading may come from whoever planned the visit.
INSPECTING = ("step", "inspected", "observation", CORRECT, STRIKE)
ALONG, NOT_ALONG = "sent along", "called back"
NOT_BOTH = (
    "Whoever inspected does not countersign. It takes a qualified supervisor who measured nothing at this visit "
    "and gave nobody who worked on it a new pass phrase since it began."
)
NOT_YOURS = "This visit is somebody else's. You may countersign and issue its papers, and enter nothing into it."


class Firm:
    """Accounts, and whose each visit is. ``desk``: the firm's journal, in which its tables are (:func:`tables.make`)."""

    def __init__(self, desk: Desk, hasher: Hasher | None = None) -> None:
        self.desk, self.store = desk, desk.store
        self.people = People(desk.store, hasher)
        self.passkeys = Passkeys(self.people)
        self.index = Index(desk.store)
        self.handing = Handing(desk.store, self.people)
        desk.beside = self.beside

    # ---- whose a visit is ----

    def owner(self, visit: str) -> str:
        """Id of the person whose visit it is; one that was never given is of whoever its heading names; else empty."""
        if any(unicodedata.category(c) == "Cs" for c in visit):  # half a character, from a device's message
            raise Damaged("The id of a visit that was asked for is of no form that is kept.")
        c = tables.given.c
        with reading(self.store) as connection:
            found = connection.execute(select(c.person).where(c.visit == visit)).scalar()
        if found:
            return str(found)
        line = next((v for v in self.desk.visits() if v.id == visit), None)
        named = line.inspector.casefold().strip() if line else ""
        return next((p.id for p in self.people.all() if named and p.name.casefold() == named), "")

    def owns(self, person: Person, visit: str) -> bool:
        """Whether a visit is this person's. One that is not there yet is nobody's."""
        return self.owner(visit) == person.id

    def along(self, visit: str) -> list[str]:
        """Ids of those whom the office sent along to a visit: they enter and sign what they did, beside its inspector."""
        return [person for v, person in self._sent_along(tables.deed.c.about == visit) if v == visit]

    def _sent_along(self, where: ColumnElement[bool]) -> list[tuple[str, str]]:
        """Visit and person, of those who are along; what was done is only ever added to, so the last word counts."""
        c, found = tables.deed.c, dict[tuple[str, str], str]()
        with reading(self.store) as connection:
            query = select(c.about, c.words, c.did).where(where, c.did.in_((ALONG, NOT_ALONG))).order_by(c.no)
            for r in connection.execute(query):
                found[r.about, r.words] = r.did
        return [one for one, what in found.items() if what == ALONG]

    def send_along(self, visit: str, person: Person, by: Person, *, back: bool = False) -> None:
        """Send somebody along to a visit that is another's, or call them back; what they entered stays."""
        if (person.id in self.along(visit)) is back:
            self.note(by, NOT_ALONG if back else ALONG, visit, person.id)

    def works_on(self, person: Person, visit: str) -> bool:
        """Whether a visit is this person's, or they were sent along."""
        return self.owns(person, visit) or person.id in self.along(visit)

    def lets_in(self, person: Person) -> bool:
        """Whether a person lets others in and ends what they no longer have."""
        return may(person, PEOPLE)

    def owners(self) -> dict[str, str]:
        """Id of the person by visit, of all visits that are somebody's."""
        c = tables.given.c
        with reading(self.store) as connection:
            given = {r.visit: r.person for r in connection.execute(select(c.visit, c.person))}
        by_name = {p.name.casefold(): p.id for p in self.people.all()}
        named = {v.id: by_name.get(v.inspector.casefold().strip(), "") for v in self.desk.visits() if v.id not in given}
        return {**given, **{visit: person for visit, person in named.items() if person}}

    def sees(self, person: Person | None, visit: str) -> bool:
        """Whether a person may see a visit."""
        return person is not None and (may(person, SEE) or may(person, SEE, own=self.works_on(person, visit)))

    def enters(self, person: Person, visit: str) -> bool:
        """Whether a person may enter something into a visit."""
        return may(person, ENTER, own=self.works_on(person, visit))

    def beside(self, visit: str, earlier: str) -> bool:
        """Whether a visit may be shown beside an earlier one to the same place: its inspector sees that one, or was sent there.

        Else an address typed by anybody would open what somebody else found there.
        """
        person = self.people.of_id(self.owner(visit))
        sent = any(d.did == "gave" and d.who != d.words for d in self.deeds(visit))
        return person is None or sent or self.sees(person, earlier)

    def seen_by(self, person: Person) -> list[VisitLine]:
        """The visits a person may see, the one changed last first."""
        visits = self.desk.visits()
        if may(person, SEE):
            return visits
        if not may(person, SEE, own=True):
            return []
        owners, along = self.owners(), {visit for visit, _ in self._sent_along(tables.deed.c.words == person.id)}
        return [v for v in visits if owners.get(v.id) == person.id or v.id in along]

    def give(self, visit: str, person: Person, by: Person) -> None:
        """Give a visit to an inspector, or to another one than before."""
        with writing(self.store) as connection:
            connection.execute(tables.given.delete().where(tables.given.c.visit == visit))
            connection.execute(insert(tables.given).values(visit=visit, person=person.id, by=by.id, at=now()))
            did(connection, by.id, "gave", visit, person.id)

    # ---- the way of a visit through the firm ----

    def stages(self) -> dict[str, str]:
        """The stage of every visit, the one changed last first."""
        begun, back, handed = self.index.begun(), self.last("sent back"), self.handing.visits()
        return {
            f.id: stage_of(f, f.id in begun, back[f.id].at if f.id in back else "", f.id in handed)
            for f in self.index.lines()
        }

    def plans(self, person: Person) -> bool:
        """Whether the office's pages are for a person."""
        return may(person, PLAN)

    def last(self, what: str) -> dict[str, Deed]:
        """The last deed of a kind, by what it is about."""
        c = tables.deed.c
        with reading(self.store) as connection:
            rows = connection.execute(select(tables.deed).where(c.did == what).order_by(c.no))
            return {r.about: Deed(r.at, r.who, r.did, r.about, r.words) for r in rows}

    def deeds(self, about: str) -> list[Deed]:
        """What was done about a visit or a tool, in its order."""
        c = tables.deed.c
        with reading(self.store) as connection:
            rows = connection.execute(select(tables.deed).where(c.about == about).order_by(c.no))
            return [Deed(r.at, r.who, r.did, r.about, r.words) for r in rows]

    def note(self, by: Person, what: str, about: str, words: str = "") -> None:
        """Write down what somebody did."""
        with writing(self.store) as connection:
            did(connection, by.id, what, about, words)

    def send_back(self, person: Person, kept: Replayed, remark: str) -> str:
        """Send a visit back to its inspector with a remark; why not, or empty."""
        if not self.may_countersign(person, kept):
            return NOT_BOTH
        if not remark.strip():
            return "Say what is to be looked at again: it is all the inspector gets."
        if why := too_long(remark):
            return why
        self.note(person, "sent back", kept.visit_id, remark.strip())
        return ""

    def remark(self, visit: str) -> str:
        """Why a visit was sent back, until its inspector signs again; empty otherwise."""
        back = next((d for d in reversed(self.deeds(visit)) if d.did == "sent back"), None)
        line = self.index.line(visit) if back else None
        if back is None or line is None or line.signed > back.at:
            return ""
        by = self.people.of_id(back.who)
        return f"{by.name if by else '–'}: {back.words}"

    def erase(self, by: Person, visit: str, reason: str) -> Kept:
        """Take the client's personal data of a visit out, and to whom it was handed. Raises NotKept, NoSuch, JournalError."""
        done = self.desk.erase(visit, reason, by.name)
        self.handing.forget(visit)
        self.note(by, "erased", visit)
        return done

    def plan(
        self, by: Person, inspector: Person, visit: str, place: str, day: str, kind: str, after: str, **more: str
    ) -> None:
        """Plan a visit and give it to an inspector: its heading, or what stood at the visit that it follows."""
        if self.desk.holds(visit):  # the form sent again: whoever it was given to meanwhile keeps it
            return
        self.give(visit, inspector, by)
        heading = {k: v for k, v in {"place": place, "kind": kind, "inspector": inspector.name, **more}.items() if v}
        if after:
            self.desk.next_visit(after, day, by=by.name, visit_id=visit, **heading)
        else:
            self.desk.start(date=day, by=by.name, visit_id=visit, **heading)
        self.note(by, "planned", visit)

    # ---- in whose name ----

    def in_name_of(self, person: Person, kept: Replayed, entries: Sequence[Entry]) -> list[Entry]:
        """Entries with the names that a login settles: who signs, who overrides a gate, whose inspection it is."""
        of = {e.id: e.kind for e in kept.entries}
        owner = self.people.of_id(self.owner(kept.visit_id))
        made = []
        for kind, body in entries:
            if kind == CORRECT and isinstance(body.get("body"), dict):
                inner = dict(body["body"])  # type: ignore[call-overload]
                made.append((kind, {**body, "body": _named(of.get(str(body.get("event")), ""), inner, person, owner)}))
            else:
                made.append((kind, _named(kind, dict(body), person, owner)))
        return made

    def refuses(self, person: Person, kept: Replayed | None, entries: Sequence[Entry]) -> str:
        """Why a person may not write these entries to a visit; empty when they may."""
        own = kept is not None and self.enters(person, kept.visit_id)
        if not own and any(kind not in ("sign", ISSUE, FILE) for kind, _ in entries):
            return NOT_YOURS
        roles = [str(body.get("role", "")) for kind, body in entries if kind == "sign"]
        if not own and any(role != AUTHORISED for role in roles):
            return NOT_YOURS
        if AUTHORISED in roles and not (kept and self.may_countersign(person, kept)):
            return NOT_BOTH
        return ""

    def may_countersign(self, person: Person, kept: Replayed) -> bool:
        """Whether a person may countersign a visit: a qualified supervisor, whose it is not and who found or changed nothing of it."""
        named = kept.book.visit.inspector.casefold().strip() if kept.book.visit else ""
        theirs = any(d.did in ("gave", ALONG) and d.words == person.id for d in self.deeds(kept.visit_id))
        names = {person.name, ""} if theirs else {person.name}  # an entry of a device may stand under no name
        return (
            person.role == SUPERVISOR
            and not self.works_on(person, kept.visit_id)
            and person.name.casefold() != named
            and not any(e.kind in INSPECTING and e.by in names for e in kept.events)
            and not self._let_in_meanwhile(person, kept)
        )

    def _let_in_meanwhile(self, person: Person, kept: Replayed) -> bool:
        """Whether a person gave anybody who worked on a visit another pass phrase since it began, and may have signed in with it."""
        visit = self.deeds(kept.visit_id)
        begun = min([*(e.kept_at for e in kept.events), *(d.at for d in visit)], default="")
        workers = self._workers(kept, visit)
        c = tables.deed.c
        with reading(self.store) as connection:
            query = select(c.at, c.about).where(c.who == person.id, c.did.in_((AGAIN, TOOK_AGAIN)))
            return any(r.at >= begun and r.about in workers for r in connection.execute(query))

    def _workers(self, kept: Replayed, deeds: Sequence[Deed]) -> set[str]:
        """Ids of everybody whose a visit is or was, who was sent along, who stood in its heading or entered into it."""
        names = {name.casefold().strip() for e in kept.events for name in (e.by, _inspector(e.body))}
        given = {d.words for d in deeds if d.did in ("gave", ALONG)}
        return {self.owner(kept.visit_id), *given, *(p.id for p in self.people.all() if p.name.casefold() in names)}

    def looks_into(self, person: Person, visit: str, content: bytes) -> None:
        """Look through a visit book that a person brings. Raises VisitBookError, NotKept for what is said in another's name."""
        everybody = self.people.all()
        for draft in book_drafts(content, visit, person.name, ""):
            _refuse(in_name_of_another(person, everybody, draft.kind, draft.body))

    def take_over(self, person: Person, content: bytes) -> TakenIn:
        """Take in a visit that a person brings: a new one, or more of their own. What is new is theirs, and in their name."""

        def allow(visit: str, new: Sequence[Kept]) -> None:
            there = self.desk.holds(visit)
            own = self.works_on(person, visit) if there else self.owner(visit) in ("", person.id)
            if not (may(person, ENTER, own=own) and (there or may(person, BEGIN))):
                raise NotKept("This visit is somebody else's here. Nothing was taken in.")
            _refuse(self.not_theirs(person, visit, new)[0])
            if not there:
                self.give(visit, person, person)

        taken = self.desk.take_over(content, by=person.name, allow=allow)
        for doubt in taken.doubts:
            self.note(person, "paper not compared", taken.visit, doubt)
        return taken

    def not_theirs(self, person: Person, visit: str, new: Sequence[Kept]) -> tuple[str, str]:
        """What a visit would say in another's name with more events that a person brings, and which entry; else empty."""
        before = self.store.events(visit)
        more = [evolve(e, seq=len(before) + n) for n, e in enumerate(new, 1)]
        return not_theirs(person, self.people.all(), before, [*before, *more])


def _refuse(said: str) -> None:
    if said:
        raise NotKept(f"It holds {said}. Nothing was taken in.")


def _inspector(body: Mapping[str, object]) -> str:
    """Who stands as inspector in a heading, or in what corrects one; else empty."""
    inner = body.get("body")
    return str((inner if isinstance(inner, dict) else body).get("inspector", ""))


def _named(kind: str, body: dict[str, object], person: Person, owner: Person | None) -> dict[str, object]:
    names: Mapping[str, tuple[str, str]] = {"sign": ("name", person.name), "step": ("by", person.name)}
    if kind == "visit" and owner is not None:
        return {**body, "inspector": owner.name}
    if kind == "sign" or (kind == "step" and "override" in body):
        key, name = names[kind]
        return {**body, key: name}
    return body
