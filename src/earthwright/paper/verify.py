"""Does the paper agree with its record, and the record with its readings? What would today's rules say?"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterator
from typing import Any

from attrs import evolve, frozen

from .. import __version__
from ..assess import assess
from ..errors import EarthwrightError, VisitBookError
from ..judged import Assessment
from ..observations import overall
from ..record import SCHEMA_ID
from ..visitbook import read_text
from .documents import BOOK_FILE, FACTS_FILE, FACTS_SCHEMA, RECORD_FILE, make_document
from .inside import CannotRead, Inside, only_signatures_added, read_inside
from .page import hash_of, record_hash

AGREES, DIFFERS, NOT_CHECKED = "agrees", "differs", "not checked"


@frozen
class Check:
    """One question put to a document, with its answer in words."""

    name: str
    outcome: str
    words: str


@frozen
class Verified:
    """Everything a document was asked. ``content`` is the hash of the visit it belongs to, for a look into a journal."""

    document: str
    record: str
    content: str
    draft: str
    checks: tuple[Check, ...]
    today: tuple[str, ...]
    assessment: Assessment | None = None

    @property
    def agrees(self) -> bool:
        """Whether nothing differs. What could not be checked is listed and is no agreement."""
        return all(c.outcome != DIFFERS for c in self.checks)


def verify(content: bytes, today: dt.date) -> Verified:
    """Put every question to a document. Raises CannotRead when it is no PDF or no record of ours is inside.

    Nothing is believed because the file says so: the record is judged again from the readings, and the paper is printed
    again from that. Signatures are checked apart (:mod:`signing`), a journal by who has one.
    """
    inside = read_inside(content)
    facts, record = _json(inside, FACTS_FILE, FACTS_SCHEMA), _json(inside, RECORD_FILE, SCHEMA_ID)
    document, stated = str(facts.get("document", "")), str(facts.get("record", ""))
    found = hash_of(record)
    checks = [_record_is_the_stated_one(found, stated, inside)]
    again, why = _judged_again(inside, record)
    checks.append(_readings_lead_to_record(again, why, record, found))
    checks.append(_paper_is_this_record(content, inside, again, document, facts))
    said = (
        tuple(_today(again, today))
        if again is not None
        else ("Nothing can be said for today: the visit book is not inside.",)
    )
    return Verified(
        document, found, str(facts.get("content", "")), str(facts.get("draft", "")), tuple(checks), said, again
    )


def _json(inside: Inside, name: str, schema: str) -> dict[str, object]:
    if name not in inside.files:
        raise CannotRead(f"There is no record of ours inside ('{name}' is not attached).")
    try:
        found = json.loads(inside.files[name])
    except (ValueError, RecursionError) as error:
        raise CannotRead(f"The attached '{name}' cannot be read: {str(error)[:120]}") from error
    if not isinstance(found, dict) or found.get("schema") != schema:
        raise CannotRead(f"The attached '{name}' is not of the kind '{schema}'.")
    return found


def _record_is_the_stated_one(found: str, stated: str, inside: Inside) -> Check:
    name = "record inside"
    if found != stated or f"record {found}" not in inside.keywords:
        return Check(
            name,
            DIFFERS,
            f"The record inside has the hash {found[:16]}…, the document states another. One of them was changed.",
        )
    return Check(name, AGREES, f"The record inside is the one the document names ({found[:16]}…).")


def _judged_again(inside: Inside, record: dict[str, object]) -> tuple[Assessment | None, str]:
    if BOOK_FILE not in inside.files:
        return None, "no visit book is inside"
    try:
        book = read_text(inside.files[BOOK_FILE].decode("utf-8"), _file_named(inside))
    except (VisitBookError, UnicodeDecodeError) as error:
        return None, str(error)
    if book.visit is None:
        return None, "the visit book inside cannot be read"
    # A record may hold the whole network because somebody asked for it; then it is asked for again.
    asked = True if record.get("site_evidence") is not None else None
    return assess(book.visit, found=book.findings, broken=book.broken, whole_site=asked), ""


def _file_named(inside: Inside) -> str:
    """The name findings were told under, so that they are the same ones."""
    findings = json.loads(inside.files[RECORD_FILE]).get("findings", [])
    names = [f["file"] for f in findings if isinstance(f, dict) and isinstance(f.get("file"), str) and f["file"]]
    return names[0] if names else "visit book"


def _readings_lead_to_record(again: Assessment | None, why: str, record: dict[str, object], found: str) -> Check:
    name = "record and readings"
    if again is None:
        return Check(name, NOT_CHECKED, f"The record cannot be judged again: {why}.")
    under = ", ".join(e.title for e in again.editions[:1]) or "no known edition"
    if record_hash(again) == found:
        return Check(name, AGREES, f"Judged again under {under}: every verdict, band and sum is the same.")
    moved = list(_moved(_verdicts_of_record(record), verdicts(again)))
    program = str(record.get("program", ""))
    if program != __version__:
        if not moved:
            words = f"Made by version {program}, judged again by {__version__} under {under}: every verdict is the same, details differ."
            return Check(name, AGREES, words)
        return Check(
            name,
            DIFFERS,
            f"Made by version {program}, judged again by {__version__} under {under}: " + "; ".join(moved),
        )
    what = "; ".join(moved) or "no verdict differs, but other entries of the record do"
    return Check(name, DIFFERS, f"Judged again under {under}, the readings lead to another record: {what}.")


def _paper_is_this_record(
    content: bytes, inside: Inside, again: Assessment | None, document: str, facts: dict[str, object]
) -> Check:
    name = "paper and record"
    if facts.get("book") and BOOK_FILE not in inside.files:
        return Check(name, DIFFERS, "The document was made with its visit book inside, and that is gone.")
    if again is None:
        return Check(name, NOT_CHECKED, "The paper cannot be printed again without the visit book.")
    try:
        made = make_document(again, document, book=inside.files[BOOK_FILE].decode("utf-8"), draft=True)
    except (EarthwrightError, ValueError, KeyError) as error:
        return Check(name, NOT_CHECKED, f"The paper cannot be printed again: {error}")
    except ModuleNotFoundError:
        return Check(name, NOT_CHECKED, "Printing the paper again needs the extra 'pdf' (typst is not installed).")
    if content == made:
        return Check(name, AGREES, "Printed again from the record, the paper is the same to the last byte.")
    ours = read_inside(made)
    if content.startswith(made):
        more, changed = len(content) - len(made), only_signatures_added(made, content)
        if not changed and inside.signed:
            words = f"The paper is the same to the last byte; {more} bytes follow it, which add signatures and change nothing else."
            return Check(name, AGREES, words)
        what = changed or "no signature among them"
        return Check(name, DIFFERS, f"{more} bytes were added after the document was made: {what}.")
    same_tools = facts.get("program") == __version__ and ours.made_with == inside.made_with
    if not same_tools:
        words = f"Made by version {facts.get('program')} with {inside.made_with}; this is {__version__} with {ours.made_with}, which prints other bytes."
        return Check(name, NOT_CHECKED, words + " Check it with the version that made it, or by its signature.")
    pages = [
        str(i + 1)
        for i in range(max(len(ours.pages), len(inside.pages)))
        if ours.pages[i : i + 1] != inside.pages[i : i + 1]
    ]
    where = f"page {', '.join(pages)} differs" if pages else "the pages draw the same, other parts of the file differ"
    return Check(name, DIFFERS, f"The paper is not what the record prints: {where}.")


def verdicts(a: Assessment) -> dict[str, str]:
    """Every verdict of an assessment by what it is about."""
    found: dict[str, str] = {}
    for b in a.bonds:
        found[f"bond {b.bond.id}"] = f"{b.verdict}: {b.named}" if b.named else b.verdict
        for what, j in (("size", b.size.judged), ("joint", b.joint)):
            found[f"bond {b.bond.id}, {what}"] = j.outcome
    tests = [*a.origin, *(t for e in a.electrodes for t in e.tests), *(t for x in a.boards for t in x.tests)]
    tests += [t for x in a.boards for c in x.circuits for t in c.tests]
    for t in tests:
        found[_place(t.of, t.test, t.point)] = t.outcome
    for x in a.boards:
        for c in x.circuits:
            if c.ring is not None:
                found[f"ring of {c.circuit.id}"] = f"{c.ring.verdict}: {c.ring.named}"
    return found


def _place(of: str, test: str, point: str) -> str:
    return f"{of}, {test}" + (f" at {point}" if point else "")


def _verdicts_of_record(record: dict[str, object]) -> dict[str, str]:
    """The same out of a record's JSON, as far as it has the shape we know; what has not is left out."""
    found: dict[str, str] = {}
    for is_, node in _nodes(record):
        try:
            if is_ == "BondJudged":
                name = f"bond {node['bond']['id']}"
                found[name] = f"{node['verdict']}: {node['named']}" if node["named"] else node["verdict"]
                found[f"{name}, size"] = node["size"]["judged"]["outcome"]
                found[f"{name}, joint"] = node["joint"]["outcome"]
            elif is_ == "TestJudged":
                found[_place(node["of"], node["test"], node["point"])] = node["outcome"]
            elif is_ == "CircuitJudged" and node["ring"] is not None:
                found[f"ring of {node['circuit']['id']}"] = f"{node['ring']['verdict']}: {node['ring']['named']}"
        except (KeyError, TypeError):
            continue
    return found


def _nodes(value: object) -> Iterator[tuple[str, dict[str, Any]]]:
    waiting: list[Any] = [value]
    while waiting:
        node = waiting.pop()
        if isinstance(node, dict):
            if isinstance(node.get("is"), str):
                yield node["is"], node
            waiting.extend(node.values())
        elif isinstance(node, list):
            waiting.extend(node)


def _moved(before: dict[str, str], now: dict[str, str]) -> Iterator[str]:
    for name in sorted({*before, *now}):
        old, new = before.get(name, "nothing"), now.get(name, "nothing")
        if old != new:
            yield f"{name}: {old}, now {new}"


def _today(a: Assessment, today: dt.date) -> Iterator[str]:
    """What the edition in force today makes of the same readings. The report stays what it was on its day."""
    # The network knows no rules, so another edition changes nothing in it; it need not be drawn once more.
    again = assess(evolve(a.visit, date=today, choices=evolve(a.visit.choices, edition="")), whole_site=False)
    if not again.editions or again.editions[0].standard != "BS 7671":
        yield f"No edition of the wiring rules is known for {today}, so nothing can be said for today."
        return
    title = again.editions[0].title
    yield f"Today, {today}, the rules are {title}."
    moved = list(_moved(verdicts(a), verdicts(again)))
    yield (
        f"Under them {len(moved)} verdicts would differ: " + "; ".join(moved) + "."
        if moved
        else "Under them every verdict is the same."
    )
    before, now = overall(a), overall(again)
    if before.proposed != now.proposed and now.proposed:
        yield f"The codes led to {before.proposed or 'no assessment'}; under them they lead to {now.proposed} ({now.because})."
