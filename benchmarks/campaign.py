"""Attack what takes text and files in, with seeds: nothing may end in a traceback, hang, take much memory or be taken in silently.

./run bench campaign KIND FROM TO      KIND: books, tables, pdfs, exports, posts; seeds FROM to TO, counted as it goes

A case that takes more than 5 s of the processor hangs. *Silent* is a verdict, a table, an export or a form that rests on
what was damaged, and nobody was told: each kind below says how it knows. Seeds that found something stand in the tests.
"""

from __future__ import annotations

import collections
import contextlib
import csv
import io
import json
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import warnings
import zipfile
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from types import FrameType
from typing import Any

from click.testing import CliRunner
from forged_pdfs import asked, genuine_documents, helper, mutated

from earthwright.assess import assess
from earthwright.base.errors import Severity, VisitBookError
from earthwright.cli import main as commands
from earthwright.desk import Desk
from earthwright.paper.verify import AGREES
from earthwright.records import JournalError
from earthwright.schedule import as_csv, fill, read_sheet
from earthwright.visitbook import read_text

HANGS, STUCK, MEMORY = 5.0, 60, 500  # seconds of the processor, seconds at all, MB
TESTS = Path(__file__).parents[1] / "tests"
Case = Callable[[int], tuple[str, str]]  # seed → what came out, and what was taken in silently


# ---- visit books ----
COMMANDS = ("judge", "judge", "judge", "next", "observe", "between", "deadlines")


def books(folder: Path) -> Case:
    """A key that cannot be read settles nothing that another value of it would settle otherwise; odd books break nothing."""
    odd = helper("test_unread_anywhere", TESTS / "visitbook")
    runner, path = CliRunner(), folder / "visit.toml"
    unread = ("{ odd = 1 }", '"?"', "[[[1]]]", '"0.4 MHz"', "2026-99", '"\\u202e0.4"')

    def one(seed: int) -> tuple[str, str]:
        dice = random.Random(seed)
        if seed % 3 == 0:
            return rests_on_it(odd, dice, dice.choice(unread))
        text = odd.odd_book(seed).encode()
        if seed % 3 == 2:
            text = bytes_changed(text, dice)
        path.write_bytes(text)
        done = runner.invoke(commands, [dice.choice(COMMANDS), str(path)])
        if done.exception and not isinstance(done.exception, SystemExit):
            raise done.exception
        return f"exit {done.exit_code}", still_judged(text)

    return one


def still_judged(text: bytes) -> str:
    """The broken circuits and boards that are judged nevertheless."""
    try:
        book = read_text(text.decode("utf-8-sig"))
    except (VisitBookError, UnicodeDecodeError):
        return ""
    if book.visit is None:
        return ""
    a = assess(book.visit, found=book.findings, broken=book.broken)
    judged = {c.circuit.id for b in a.boards for c in b.circuits} | {b.board.id for b in a.boards}
    return " ".join(sorted(judged & set(book.broken)))


def rests_on_it(odd: Any, dice: random.Random, value: str) -> tuple[str, str]:
    """One key unreadable: what is settled without it must be so for the values that it might have had."""
    lines = dice.choice(odd.BOOKS).read_text("utf-8").splitlines()
    places = [i for i, line in enumerate(lines) if line.partition("=")[0].strip() in odd.MIGHT_BE]
    if not places:
        return "nothing to change", ""
    place = dice.choice(places)
    key = lines[place].partition("=")[0].strip()

    def judged(what: str) -> tuple[Any, bool]:
        found: tuple[Any, bool] = odd.judged("\n".join([*lines[:place], f"{key} = {what}", *lines[place + 1 :]]) + "\n")
        return found

    try:
        a, told = judged(value)
    except VisitBookError:
        return "refused", ""
    if a is None or not told:
        return "not read" if told else "taken", ("" if told or '"' in value else f"{key} = {value}")
    held, moved = odd.settled(a), []
    for might in dice.sample(odd.MIGHT_BE[key], min(2, len(odd.MIGHT_BE[key]))):
        known, wrong = judged(might)
        if known is not None and not wrong:
            said = odd.settled(known)
            moved += [f"{k}: {v}, with {key} = {might} {said[k]}" for k, v in held.items() if said.get(k, v) != v]
    return "one key unread", "; ".join(moved)


def bytes_changed(content: bytes, dice: random.Random) -> bytes:
    """One to four places flipped, taken out, put in or repeated."""
    content = content or b"x"
    for _ in range(dice.randint(1, 4)):
        at, size = dice.randrange(max(1, len(content))), dice.choice((1, 1, 4, 50, 2000))
        flipped = bytes([(content or b"x")[at] ^ (1 << dice.randrange(8))])
        new = dice.choice((flipped, b"", content[at : at + size] * 2, dice.randbytes(3)))
        content = content[:at] + new + content[at + (1 if new is flipped else size) :]
    return content or b"x"


# ---- tables ----
ODD_CELLS = (
    "TRUE", "abc", "nan", "-inf", "-1", "1,5", "0.4 kΩ", "1E+05", "02-May", "#REF!", "=1+1", "9" * 400, "\u0661\u0662", "1;2",
    "?", "LIM", "\u22121", "0.93 0.94", "\u202e9.0", "a\nb", "\x1b[31m", "0.00", "B32", "10000", "999", "0", "+", "200+", "0.93", "0.93", "4", "4", "28.5",
)  # fmt: skip


def tables(folder: Path) -> Case:
    """Refused, or every cell stands in the book afterwards as it was typed, or is told at its place."""
    made = helper("test_mutated", TESTS / "schedule")
    heads = list(made.sheet_of_works()[0])

    def one(seed: int) -> tuple[str, str]:
        dice = random.Random(seed)
        rows = [list(r) for r in made.sheet_of_works()]
        for _ in range(dice.randint(1, 3)):
            i, j = dice.randrange(len(rows)), dice.randrange(len(heads))
            how = dice.randrange(6)
            if how < 3:
                rows[max(i, 1)][j] = dice.choice(ODD_CELLS)
            elif how == 3:
                rows[0][j] = dice.choice((*heads, rows[0][j] + "x", ""))
            elif how == 4:
                rows.insert(i, list(rows[dice.randrange(len(rows))]))
            else:
                rows[i] = rows[i][:j]
            rows = [r + [""] * (len(heads) - len(r)) for r in rows]
        content = made.as_bytes(rows)
        if seed % 4 == 0:
            content = bytes_changed(content, dice)
        before = dice.choice((made.empty_works(), made.works()))
        result = fill(before, read_sheet(content))
        if not result.good:
            return "refused", "" if result.text == before else "refused, and yet written"
        book = read_text(result.text)
        if book.visit is None or any(f.severity is Severity.ERROR for f in book.findings):
            return "taken", "the book is in error afterwards"
        return "taken", unlike(content, as_csv(book.visit), " ".join(f.sentence() for f in result.findings))

    return one


def unlike(content: bytes, now: str, said: str) -> str:
    """Cells of a table that was taken in that stand in the book otherwise, and of which nothing was said."""
    typed = list(csv.DictReader(io.StringIO(content.decode("utf-8-sig", "replace"))))
    kept = {(r["board"], r["circuit"]): r for r in csv.DictReader(io.StringIO(now)) if "board" in r}
    for row in typed:
        there = kept.get((row.get("board", ""), row.get("circuit", "")), {})
        for head, cell in row.items():
            if cell and isinstance(cell, str) and head in there and there[head] != cell and cell.strip() not in said:
                return f"{row.get('circuit')}, {head}: {cell!r} stands as {there[head]!r}"
    return ""


# ---- documents ----
def pdfs(folder: Path) -> Case:
    """A document that was changed in any way never agrees."""
    genuine = genuine_documents(folder)

    def one(seed: int) -> tuple[str, str]:
        said, changed = mutated(seed, genuine)
        if changed is None:
            return said, ""
        said = asked(changed)
        return said, "agrees" if said == AGREES else ""

    return one


# ---- exports ----
def exports(folder: Path) -> Case:
    """Refused with nothing kept, or what was kept is, event by event and name by name, the original."""
    first = Desk(folder / "first.sqlite")
    for name in ("03-paint", "17-neighbours", "28-live-and-lapsed"):
        visit = first.take_in((TESTS / "visits" / f"{name}.toml").read_bytes(), by="A. Other")
        first.attach(visit, b"\x89PNG\r\n\x1a\n" + name.encode(), "clamp", "A. Other", media="image/png")
    first.export(folder / "good")
    first.export(folder / "good.zip")
    events = [e.hash for e in first.store.events()]
    books = {v.id: first.as_visit_book(v.id) for v in first.visits()}
    packed = (folder / "good.zip").read_bytes()

    def one(seed: int) -> tuple[str, str]:
        dice, bad = random.Random(seed), folder / ("bad.zip" if seed % 2 else "bad")
        shutil.rmtree(folder / "bad", ignore_errors=True)
        if seed % 4 == 1:
            bad.write_bytes(bytes_changed(packed, dice))
        else:
            shutil.copytree(folder / "good", folder / "bad")
            spoil(folder / "bad", dice)
            if seed % 2:
                pack(folder / "bad", bad)
        target = Desk(":memory:")
        try:
            target.import_(bad)
        except JournalError:
            return "refused", "refused, and yet kept" if target.store.head()[0] else ""
        finally:
            kept, found = [e.hash for e in target.store.events()], target.verify()
            same = all(books.get(v.id) == target.as_visit_book(v.id) for v in target.visits()) or len(kept) < len(
                events
            )
            target.close()
        if kept != events[: len(kept)] or not found.whole or not same:
            return "taken", f"{len(kept)} events, whole {found.whole}, visits as they were {same}"
        return "taken", "" if len(kept) == len(events) else f"only {len(kept)} of {len(events)} events"

    return one


def spoil(folder: Path, dice: random.Random) -> None:
    """One file of an export changed: bytes, lines, values or its name."""
    chosen = dice.choice(("events.jsonl", "events.jsonl", "personal.jsonl", "erased.jsonl", "manifest.json", "files"))
    path = folder / chosen if chosen != "files" else dice.choice(sorted((folder / "files").iterdir()))
    lines, how = path.read_bytes().splitlines(keepends=True), dice.randrange(6)
    at = dice.randrange(len(lines)) if lines else 0
    if how == 0:
        path.write_bytes(bytes_changed(path.read_bytes() or b"x", dice))
    elif how == 1:
        path.unlink()
    elif how == 2 and lines:
        path.write_bytes(b"".join(lines[:at] + lines[at + 1 :]))
    elif how == 3 and lines:
        path.write_bytes(b"".join([*lines[:at], lines[at], *lines[at:]]))
    elif how == 4 and len(lines) > 1:
        dice.shuffle(lines)
        path.write_bytes(b"".join(lines))
    else:
        with contextlib.suppress(ValueError, IndexError):
            value = json.loads(lines[at])
            key = dice.choice(sorted(value))
            value[key] = dice.choice((None, 1, -1, "x", [], {}, "\ud800", 10**30, True, "0" * 64))
            lines[at] = json.dumps(value).encode() + b"\n"
            path.write_bytes(b"".join(lines))


def pack(folder: Path, target: Path) -> None:
    """A folder as an archive."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                archive.write(path, path.relative_to(folder))


# ---- forms of the pages ----
ODD_FIELDS = (
    "", "x", "-1", "0", "0.00", "1e300", "nan", "inf", "999", "0,47", "+200", "LIM", "\u202e", "a\r\nb", "\x1b[2J", "\x00", "<b>", "'\"",
    "9" * 400, "2026-02-30", "true", "TN-S", "proved", "../..", "0.05 0.06", "é" * 3000, "c1", "water", "all", "0.05", "0.31", "10", "1.5", "5", "32",
)  # fmt: skip


def posts(folder: Path) -> Case:
    """A form with odd values is refused with its reason, or the visit afterwards reads without a new entry in error."""
    site_of = helper("conftest", TESTS / "web")
    held: dict[str, Any] = {}

    def fresh() -> None:
        if held:
            held["desk"].close()
        held["desk"] = desk = Desk(":memory:")
        held["site"] = site = site_of.Site(desk)
        site.post("/demo")
        for name in ("07-tt-electrode", "28-live-and-lapsed"):
            desk.take_in((TESTS / "visits" / f"{name}.toml").read_bytes(), by="A. Other")
        held["forms"] = [
            (path, form)
            for visit in desk.visits()
            for path, page in pages(site, f"/v/{visit.id}/")
            for form in site_of.forms_of(page)
            if form["method"] == "post"
        ]

    def one(seed: int) -> tuple[str, str]:
        if seed % 250 == 0 or not held:
            fresh()
        dice, site, desk = random.Random(seed), held["site"], held["desk"]
        path, form = dice.choice(held["forms"])
        fields = dict(form["fields"])
        for _ in range(dice.randint(1, 3)):
            name, how = dice.choice(sorted(fields) or ["key"]), dice.randrange(5)
            if how < 3:
                fields[name] = dice.choice(ODD_FIELDS)
            elif how == 3:
                fields.pop(name, None)
            else:
                fields[dice.choice(("do", "settle.x", "key", "id", "of", name + "x"))] = [dice.choice(ODD_FIELDS), "1"]
        before = desk.store.head()[0]
        visit = path.split("/")[2]
        wrong = in_error(desk, visit)
        answer = site.post(form["action"] or path, fields)
        if answer.status_code >= 500:
            raise RuntimeError(f"{answer.status_code} at {path}")
        after = desk.store.head()[0]
        if after < before or (answer.status_code >= 400 and after != before):
            return str(answer.status_code), f"{before} events before, {after} after"
        new = in_error(desk, visit) - wrong
        return str(answer.status_code), "; ".join(sorted(new))

    return one


def pages(site: Any, start: str) -> Iterator[tuple[str, str]]:
    """The pages of a visit, found by their links."""
    import re
    from urllib.parse import urljoin

    seen, waiting = set(), [start]
    while waiting and len(seen) < 120:
        path = waiting.pop(0)
        if path in seen or "." in path.rpartition("/")[2] or "/paper/" in path:
            continue
        seen.add(path)
        answer = site.get(path)
        if answer.status_code == 200 and "text/html" in answer.headers["content-type"]:
            yield path, answer.text
            found = (urljoin(path, h) for h in re.findall(r'href="([^"#?]*)', answer.text))
            waiting += [p for p in found if p.startswith(start)]


def in_error(desk: Desk, visit: str) -> set[str]:
    """What is in error in a visit as its visit book is read again."""
    try:
        book = read_text(desk.as_visit_book(visit))
    except (VisitBookError, JournalError) as error:
        return {str(error)}
    return {f.what for f in book.findings if f.severity is Severity.ERROR}


# ---- all of them ----
KINDS = {"books": books, "tables": tables, "pdfs": pdfs, "exports": exports, "posts": posts}


def stuck(signum: int, frame: FrameType | None) -> None:
    """A case that does not end is ended and told."""
    raise TimeoutError(f"more than {STUCK} s")


def campaign(kind: str, seeds: Iterable[int], folder: Path, tell: Callable[[str], object] = print) -> bool:
    """Run the seeds of one kind, tell the counts as they come; whether nothing was found."""
    one = KINDS[kind](folder)
    came: collections.Counter[str] = collections.Counter()
    found: collections.Counter[str] = collections.Counter()
    slowest, seed, count = 0.0, 0, 0

    def bad(what: str, why: str) -> None:
        found[what] += 1
        tell(f"  {kind} {seed}, {what}: {why[:400]}")

    signal.signal(signal.SIGALRM, stuck)
    for count, seed in enumerate(seeds, 1):
        start = time.process_time()
        signal.alarm(STUCK)
        try:
            said, lie = one(seed)
            came[said] += 1
            if lie:
                bad("silent", lie)
        except Exception as error:
            bad("tracebacks", f"{type(error).__name__}: {error}")
        finally:
            signal.alarm(0)
        took = time.process_time() - start
        slowest = max(slowest, took)
        if took > HANGS:
            bad("hangs", f"{took:.1f} s")
        if count % 100 == 0:
            tell(f"  {kind} to seed {seed}: {dict(came)}, found {found.total()}")
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    tell(
        f"{kind}: {count} to seed {seed}: {dict(came)}; tracebacks {found['tracebacks']}, over {HANGS:.0f} s {found['hangs']} "
        f"(slowest {slowest:.1f} s), silent {found['silent']}, memory {memory} MB"
    )
    return not (found.total() or memory > MEMORY)


def main() -> None:
    """Run what was asked for."""
    if len(sys.argv) != 4 or sys.argv[1] not in KINDS:
        sys.exit(__doc__)
    warnings.simplefilter("ignore")
    with tempfile.TemporaryDirectory() as folder:
        good = campaign(
            sys.argv[1], range(int(sys.argv[2]), int(sys.argv[3])), Path(folder), lambda t: print(t, flush=True)
        )
    sys.exit(0 if good else 1)


if __name__ == "__main__":
    main()
