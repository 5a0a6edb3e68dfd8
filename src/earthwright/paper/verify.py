"""Does the paper agree with its record, and the record with its readings? What would today's rules say?"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Iterator
from typing import Any

from attrs import evolve, frozen

from .. import __version__
from ..assess import assess
from ..base.build import build_mark
from ..base.errors import EarthwrightError, VisitBookError
from ..outcomes.assessment import Assessment
from ..report.coding import edition_if_any
from ..report.observations import overall
from ..report.record import SCHEMA_ID, to_json
from ..visitbook import read_text
from .additions import only_signatures_added
from .answers import AGREES, CANNOT, DIFFERS, NOT_ASKED, Check, answer
from .attachments import CannotRead, Inside, printable_line, read_inside
from .differences import Difference, differences, numbered
from .documents import BOOK_FILE, FACTS_FILE, FACTS_SCHEMA, NO_HEAD, RECORD_FILE, make_document
from .drawing import where_they_differ
from .kinds import BY_NAME
from .page import hash_of
from .photographs import REASONS, Held, hashes
from .text import MOST_NAMED, VERDICT, runs, unexplained

__all__ = ["AGREES", "CANNOT", "DIFFERS", "NOT_ASKED", "Check", "Verified", "answer", "verify"]

MOST_VALUES = 1_500_000  # in one attached file; the record of 200 circuits has 400,000
MOST_DIFFERENCES = 40
Json = dict[str, object]


@frozen
class Verified:
    """Everything a document was asked. ``content`` is the hash of the visit inside, taken anew, for a look into a journal."""

    document: str
    record: str
    content: str
    draft: str
    checks: tuple[Check, ...]
    today: tuple[str, ...]
    assessment: Assessment | None = None
    journal: tuple[int, str] = (0, "")

    @property
    def answer(self) -> str:
        """The one answer to all questions."""
        return answer(self.checks)

    @property
    def agrees(self) -> bool:
        """Whether everything was compared and agrees."""
        return self.answer == AGREES


def verify(content: bytes, today: dt.date) -> Verified:
    """Put every question to a document. Raises CannotRead when it is no PDF or no record of ours is inside.

    Nothing is believed because the file says so: the record is judged again from the readings, and the paper is printed
    again from that. Signatures are checked apart (:mod:`signed`), a journal by who has one.
    """
    inside = read_inside(content)
    facts, record = _json(inside, FACTS_FILE, FACTS_SCHEMA), _json(inside, RECORD_FILE, SCHEMA_ID)
    document = printable_line(str(facts.get("document", "")), 60)
    try:
        found = hash_of(record)
    except RecursionError as error:
        raise CannotRead(f"The attached '{RECORD_FILE}' holds lists inside lists too deep to be read.") from error
    again, why = _judged_again(inside, record)
    judged = to_json(again) if again is not None else {}
    checks = [_record_is_the_stated_one(found, facts, record, inside)]
    checks.append(_readings_lead_to_record(again, judged, why, record, found, facts))
    checks.append(_paper_is_this_record(content, inside, again, facts, record))
    said = (
        tuple(_today(again, verdicts(judged), today))
        if again is not None
        else ("Nothing can be said for today: the visit book is not inside, or cannot be read.",)
    )
    return Verified(
        document,
        found,
        again.visit.paperwork.content if again is not None else "",
        printable_line(str(facts.get("draft", "")), 60),
        tuple(checks),
        said,
        again,
        head_of(facts),
    )


def original_wanted(keywords: str) -> str:
    """What whoever holds a printed, scanned or stripped copy is told: only the original can be checked."""
    found = re.search(r"\brecord ([0-9a-f]{64})\b", keywords)
    shown = f"this hash: {found[1]}" if found else "the hash that stands at the foot of this copy"
    return (
        "A printed or scanned copy, one to pass on, or one that was stripped cannot be checked. Ask for the original file; "
        f"its footer must show {shown}."
    )


def head_of(facts: Json) -> tuple[int, str]:
    """The end of the journal that a document says it was printed from; 0 and nothing if it names none."""
    said = facts.get("journal")
    no, head = (said.get("no"), said.get("head")) if isinstance(said, dict) else (0, "")
    if isinstance(no, int) and 0 < no < 10**12 and isinstance(head, str) and re.fullmatch("[0-9a-f]{64}", head):
        return int(no), head
    return NO_HEAD


def _json(inside: Inside, name: str, schema: str) -> Json:
    if name not in inside.files:
        raise CannotRead(
            f"There is no record of ours inside ('{name}' is not attached). {original_wanted(inside.keywords)}"
        )
    raw = inside.files[name]
    if raw.count(b",") + raw.count(b"[") + raw.count(b"{") > MOST_VALUES:
        raise CannotRead(f"The attached '{name}' holds more than {MOST_VALUES} values.")
    try:
        found = json.loads(raw)
    except (ValueError, RecursionError, AttributeError) as error:
        raise CannotRead(f"The attached '{name}' cannot be read: {printable_line(str(error), 120)}") from error
    if not isinstance(found, dict) or found.get("schema") != schema:
        raise CannotRead(f"The attached '{name}' is not of the kind '{schema}'.")
    return found


def _record_is_the_stated_one(found: str, facts: Json, record: Json, inside: Inside) -> Check:
    name = "record inside"
    if found != facts.get("record") or f"record {found}" not in inside.keywords:
        words = f"The record inside has the hash {found[:16]}…, the document states another. One of them was changed."
        return Check(name, DIFFERS, words)
    if facts.get("program") != record.get("program"):
        words = f"The record says it was made by version {_text(record, 'program')}, the document by {_text(facts, 'program')}."
        return Check(name, DIFFERS, words)
    others = sorted(set(inside.files) - {RECORD_FILE, FACTS_FILE, BOOK_FILE})
    if others:
        return Check(name, DIFFERS, f"Files are attached that we never attach: {printable_line(', '.join(others))}.")
    return Check(name, AGREES, f"The record inside is the one the document names ({found[:16]}…).")


def _text(values: Json, name: str) -> str:
    return printable_line(str(values.get(name, "not stated")), 40)


def _ours(facts: Json) -> bool:
    """Whether a document says that this very build made it: another one may judge and print otherwise."""
    return (facts.get("program"), facts.get("build")) == (__version__, build_mark())


def _made_by(facts: Json) -> str:
    return f"version {_text(facts, 'program')}, build {_text(facts, 'build')}"


def _judged_again(inside: Inside, record: Json) -> tuple[Assessment | None, str]:
    if BOOK_FILE not in inside.files:
        return None, "no visit book is inside"
    try:
        book = read_text(inside.files[BOOK_FILE].decode("utf-8"), _file_named(record))
    except (VisitBookError, UnicodeDecodeError) as error:
        return None, printable_line(str(error))
    if book.visit is None:
        return None, "the visit book inside cannot be read"
    # A record may hold the whole network because somebody asked for it; then it is asked for again.
    asked = True if record.get("site_evidence") is not None else None
    return assess(book.visit, found=book.findings, broken=book.broken, whole_site=asked), ""


def _file_named(record: Json) -> str:
    """The name findings were told under, so that they are the same ones."""
    findings = record.get("findings")
    for f in findings if isinstance(findings, list) else ():
        if isinstance(f, dict) and isinstance(f.get("file"), str) and f["file"]:
            return str(f["file"])
    return "visit book"


def _readings_lead_to_record(
    again: Assessment | None, judged: Json, why: str, record: Json, stated: str, facts: Json
) -> Check:
    name = "record and readings"
    if again is None:
        return Check(name, CANNOT, f"The record cannot be judged again: {why}.")
    under = ", ".join(e.title for e in again.editions[:1]) or "no known edition"
    if hash_of(judged) == stated:
        return Check(name, AGREES, f"Judged again under {under}: every verdict, band and sum is the same.")
    if _ours(facts) and record.get("program") == __version__:
        found = differences(record, judged)
        return Check(
            name, DIFFERS, f"Judged again under {under}, the readings lead to another record. {_listed(found)}"
        )
    moved = list(_moved(verdicts(record), verdicts(judged)))
    made = f"Made by {_made_by(facts)}, judged again by {__version__}, build {build_mark()}, under {under}"
    if moved:
        return Check(name, DIFFERS, f"{made}: " + "; ".join(moved))
    return Check(
        name, CANNOT, f"{made}: every verdict is the same; sums and sentences of another build are not compared."
    )


def _listed(found: list[Difference]) -> str:
    """Every difference once, up to a number that a person can read; what was entered comes first."""
    said = "; ".join(d.words for d in found[:MOST_DIFFERENCES])
    more = len(found) - MOST_DIFFERENCES
    return f"{len(found)} values differ: {said}" + (f"; and {more} more." if more > 0 else ".")


def _paper_is_this_record(content: bytes, inside: Inside, again: Assessment | None, facts: Json, record: Json) -> Check:
    name = "paper and record"
    if facts.get("book") and BOOK_FILE not in inside.files:
        return Check(name, DIFFERS, "The document was made with its visit book inside, and that is gone.")
    document, ours_by_version = str(facts.get("document", "")), _ours(facts)
    if again is None:
        return _only_text(content, facts, record, "The paper cannot be printed again without the visit book.")
    if document not in BY_NAME:
        words = f"This version prints no document of the name '{printable_line(document, 60)}'."
        return Check(name, DIFFERS, words) if ours_by_version else _only_text(content, facts, record, words)
    try:
        book = inside.files[BOOK_FILE].decode("utf-8")
        made = make_document(
            again, document, book=book, draft=True, journal=head_of(facts), photos=_photos_held(again, facts, inside)
        )
    except ModuleNotFoundError:
        why = "Printing the paper again needs the extra 'pdf' (typst is not installed)."
        return _only_text(content, facts, record, why)
    except (EarthwrightError, ValueError, KeyError, RuntimeError) as error:
        return Check(name, DIFFERS, f"The paper cannot be printed from what is inside: {printable_line(str(error))}")
    if gone := _photos_gone(again, facts, inside):
        return Check(name, DIFFERS, f"{gone} The pages show another picture, or none.")
    if content == made:
        return Check(name, AGREES, "Printed again from the record, the paper is the same to the last byte.")
    if content.startswith(made):
        return _added(made, content, inside)
    made_with = read_inside(made).made_with
    if not ours_by_version or made_with != inside.made_with:
        why = (
            f"Made by {_made_by(facts)} with {printable_line(inside.made_with, 40)}; this is {__version__}, build "
            f"{build_mark()}, with {made_with}, which may print other bytes. Check it with the build that made it."
        )
        return _only_text(content, facts, record, why)
    try:
        where = "; ".join(where_they_differ(made, content))
    except CannotRead as error:
        where = str(error)
    words = (
        where or "the pages draw the same, but the file is not the one that we print: it was saved again by a program"
    )
    return Check(name, DIFFERS, f"The paper is not what the record prints: {words}.")


def _photos_said(facts: Json) -> list[Json]:
    """What the document says of its photographs."""
    says = facts.get("says")
    photos = says.get("photos") if isinstance(says, dict) else None
    return [p for p in photos if isinstance(p, dict)] if isinstance(photos, list) else []


def _photos_gone(a: Assessment, facts: Json, inside: Inside) -> str:
    """Photographs that the document says it shows, and that are not in the file as they were taken in."""
    named = hashes(a)
    gone = [
        f"{_text(p, 'number')} ({_text(p, 'caption')})"
        for p in _photos_said(facts)
        if not p.get("missing") and named.get(str(p.get("file"))) not in inside.photos
    ]
    said = "is not in this file as it was" if len(gone) == 1 else "are not in this file as they were"
    return f"{'; '.join(gone[:MOST_NAMED])} {said} taken in: changed, or taken out." if gone else ""


def _photos_held(a: Assessment, facts: Json, inside: Inside) -> Held:
    """The photographs in the file, and where one is said not to be printed, the reason that was given."""
    named = hashes(a)
    why = {named.get(str(p.get("file")), ""): str(p.get("missing")) for p in _photos_said(facts)}
    return {**inside.photos, **{hash_: words for hash_, words in why.items() if words in REASONS}}


def _added(made: bytes, content: bytes, inside: Inside) -> Check:
    more, changed = len(content) - len(made), only_signatures_added(made, content)
    if not changed and inside.signed:
        words = f"The paper is the same to the last byte; {more} bytes follow it, which add signatures and change nothing else."
        return Check("paper and record", AGREES, words)
    what = changed or "no signature among them"
    return Check("paper and record", DIFFERS, f"{more} bytes were added after the document was made: {what}.")


def _only_text(content: bytes, facts: Json, record: Json, why: str) -> Check:
    """Where nothing can be printed again, the words of the pages are held against what is attached. They only contradict."""
    name = "paper and record"
    try:
        odd = unexplained(runs(content), [facts, record])
    except CannotRead as error:
        return Check(name, CANNOT, f"{why} The words on the pages cannot be read either: {error}")
    false = [f"page {n} says '{said}'" for n, said in odd if VERDICT.search(said)][:MOST_NAMED]
    if false:
        return Check(name, DIFFERS, f"{why} And the record inside does not say what the pages say: {'; '.join(false)}.")
    rest = "; ".join(f"page {n}, '{said}'" for n, said in odd[:MOST_NAMED])
    compared = "The words on the pages are those of the record inside" + (f", but for {rest}" if rest else "")
    return Check(
        name, CANNOT, f"{why} {compared}. Lines, marks, pictures, fonts and what lies over the words were not compared."
    )


def verdicts(record: Json) -> dict[str, str]:
    """Every verdict of a record by what it is about; what has not the shape we know is left out."""
    return dict(numbered(_verdicts(record)))


def _verdicts(record: Json) -> Iterator[tuple[str, str]]:
    for is_, node in _nodes(record):
        try:
            if is_ == "BondJudged":
                name = f"bond {node['bond']['id']}"
                yield name, f"{node['verdict']}: {node['named']}" if node["named"] else str(node["verdict"])
                yield f"{name}, size", str(node["size"]["judged"]["outcome"])
                yield f"{name}, joint", str(node["joint"]["outcome"])
            elif is_ == "TestJudged":
                point = f" at {node['point']}" if node["point"] else ""
                yield f"{node['of']}, {node['test']}{point}", str(node["outcome"])
            elif is_ == "CircuitJudged" and node["ring"] is not None:
                yield f"ring of {node['circuit']['id']}", f"{node['ring']['verdict']}: {node['ring']['named']}"
        except (KeyError, TypeError):
            continue


def _nodes(value: object) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every object of a record with its kind, in the order in which they stand."""
    waiting: list[Any] = [value]
    while waiting:
        node = waiting.pop()
        if isinstance(node, dict):
            if isinstance(node.get("is"), str):
                yield node["is"], node
            waiting.extend(reversed(node.values()))
        elif isinstance(node, list):
            waiting.extend(reversed(node))


def _moved(before: dict[str, str], now: dict[str, str]) -> Iterator[str]:
    for name in dict.fromkeys((*before, *now)):
        old, new = before.get(name, "nothing"), now.get(name, "nothing")
        if old != new:
            yield printable_line(f"{name}: {old}, now {new}")


def _today(a: Assessment, before: dict[str, str], today: dt.date) -> Iterator[str]:
    """What the edition in force today makes of the same readings. The report stays what it was on its day."""
    # The network knows no rules, so another edition changes nothing in it; it need not be drawn once more.
    again = assess(
        evolve(a.visit, date=today, designed=None, choices=evolve(a.visit.choices, edition="")), whole_site=False
    )
    edition = edition_if_any(again)
    if edition is None:
        yield f"No edition of the wiring rules is known for {today}, so nothing can be said for today."
        return
    yield f"Today, {today}, the rules are {edition.titled(today)}."
    moved = list(_moved(before, verdicts(to_json(again))))
    yield (
        f"Under them {len(moved)} verdicts would differ: " + "; ".join(moved) + "."
        if moved
        else "Under them every verdict is the same."
    )
    was, now = overall(a), overall(again)
    if was.proposed != now.proposed and now.proposed:
        yield f"The codes led to {was.proposed or 'no assessment'}; under them they lead to {now.proposed} ({now.because})."
