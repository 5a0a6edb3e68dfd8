"""Readings that an instrument saved: a file, what its columns hold, what comes of it, and only then the readings."""

from __future__ import annotations

import base64
import binascii
import json
import re
from collections.abc import Mapping

from attrs import evolve, frozen
from starlette.requests import Request
from starlette.responses import Response

from ...base.errors import Severity
from ...outcomes.assessment import Assessment
from ...records.canon import digest
from ...records.event import FILE
from ...schedule.saved import (
    DAY_FIRST,
    LEAVE_OUT,
    MEANINGS,
    MONTH_FIRST,
    OF,
    TEST,
    VALUE,
    Columns,
    Saved,
    Taken,
    columns_from,
    read_saved,
    take,
)
from ...site.ledger import still_off
from ...visitbook.readings import test_of
from ..forms import Typed
from ..render import see_other
from ..rownames import leads_in_hand
from ..schedule_rows import Key, Thing, key_words, things
from ..words import say
from ..work import Opened
from .circuits import Wanted, write_readings
from .common import base, desk, form_of, judged, opened, show

MAPPING, MOST_LOOKED = "application/json", 40
UNITS = ("Ω", "kΩ", "MΩ", "GΩ", "mΩ", "ms", "s", "A", "mA", "kA", "V")
_TIME = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?")


@frozen
class Looked:
    """A file, how it is read, and what comes of it."""

    content: bytes
    saved: Saved
    mapping: Columns
    taken: Taken


async def saved_page(request: Request) -> Response:
    """GET the form for a file of readings."""
    return _page(request, opened(request), Typed(), None)


async def saved_post(request: Request) -> Response:
    """POST a file, or how its columns are read; the readings are written only when nothing of it is in doubt."""
    found = opened(request)
    a = judged(found)
    form, files = await form_of(request)
    content = files.get("file", b"") or _carried(form)
    if not content:
        return _page(request, found, Typed(form, {"file": (say("wrong.file_none"),)}), None)
    saved = read_saved(content, form.get("name", "") or request.state.file_names.get("file", ""))
    mapping, errors = _mapping(request, form, a, saved)
    looked = Looked(content, saved, mapping, take(saved, mapping, a.visit))
    if form.get("do") != "keep" or errors or not looked.taken.good:
        return _page(request, found, Typed(form, errors), looked)
    wanted: list[Wanted] = []
    for row in looked.taken.rows:
        body = dict(row.body)
        key: Key = (str(body["read"]), str(body.get("between", "")), str(body.get("method", "")))
        wanted.append((row.cell, body, key, str(body["of"])))
    refused = write_readings(request, found, form, [], wanted, _files(looked))
    if refused:
        return _page(request, found, refused, looked)
    return see_other(f"{base(found)}/readings?said={len(wanted)}")


def _carried(form: Mapping[str, str]) -> bytes:
    try:
        return base64.b64decode(form.get("content", ""), validate=True)
    except (binascii.Error, ValueError):
        return b""


def _files(looked: Looked) -> list[tuple[dict[str, object], bytes]]:
    """The file, and how its columns are read, as they are kept in the journal."""
    how = json.dumps({**looked.mapping.plain(), "of": list(looked.saved.columns)}, ensure_ascii=False).encode()
    kept = (
        (looked.content, say("saved.caption"), looked.saved.name, "text/csv", ""),
        (how, say("saved.mapping"), "columns.json", MAPPING, looked.saved.digest),
    )
    return [
        (
            {"hash": digest(c), "size": len(c), "caption": caption, "name": name, "media": media, "about": about},
            c,
        )
        for c, caption, name, media, about in kept
    ]


def _mapping(
    request: Request, form: Mapping[str, str], a: Assessment, saved: Saved
) -> tuple[Columns, dict[str, tuple[str, ...]]]:
    """What the form says of the columns; for a new file what was said of the last one with the same columns."""
    if "col.0" not in form:
        return evolve(_before(request, saved), leads=leads_in_hand(a)), {}
    ahead = _ahead(form.get("shows", ""), form.get("true", ""))
    data = {
        "columns": {c: form[f"col.{i}"] for i, c in enumerate(saved.columns) if form.get(f"col.{i}")},
        "units": {c: form[f"unit.{i}"] for i, c in enumerate(saved.columns) if form.get(f"unit.{i}")},
        "days": form.get("days") or DAY_FIRST,
        "instrument": form.get("instrument", ""),
        "leads": form.get("leads", ""),
        "ahead_s": ahead or 0,
    }
    errors: dict[str, tuple[str, ...]] = {} if ahead is not None else {"shows": (say("saved.clock_wrong"),)}
    try:
        begun = columns_from(data)
    except ValueError as error:
        return Columns(), {**errors, "": (str(error),)}
    known = _before(request, saved).tests
    return evolve(
        begun, tests=_words(form, "t", saved, begun, TEST) or known, things=_words(form, "o", saved, begun, OF)
    ), errors


def _words(form: Mapping[str, str], short: str, saved: Saved, begun: Columns, meaning: str) -> dict[str, str]:
    """What the words of a column mean."""
    return {w: form[f"{short}.{w}"] for w in saved.words(meaning, begun) if form.get(f"{short}.{w}")}


def _ahead(shows: str, true: str) -> int | None:
    """How far the instrument's clock is ahead [s]; None when the two times cannot be read."""
    if not shows and not true:
        return 0
    both = [_TIME.fullmatch(x) for x in (shows, true)]
    if both[0] is None or both[1] is None:
        return None
    a, b = (int(m[1]) * 3600 + int(m[2]) * 60 + int(m[3] or 0) for m in both if m)
    return (a - b + 43200) % 86400 - 43200  # over midnight the shorter way


def _before(request: Request, saved: Saved) -> Columns:
    """How the last file with the same columns was read, in any visit; never what was measured there, nor its clock."""
    events = desk(request).store.events(kinds=(FILE,))
    for event in [e for e in reversed(events) if e.body.get("media") == MAPPING][:MOST_LOOKED]:
        try:
            data = json.loads(desk(request).content(str(event.body["hash"])))
            if data.pop("of", None) == list(saved.columns):
                return evolve(columns_from(data), things={}, ahead_s=0, instrument="", leads="")
        except (ValueError, AttributeError, KeyError):
            continue
    return Columns()


def _page(request: Request, found: Opened, typed: Typed, looked: Looked | None) -> Response:
    a = judged(found)
    every = things(a)
    off = ", ".join(e.what for e in still_off(a.visit.events))
    return show(
        request,
        found,
        "saved.html",
        "circuits",
        typed,
        looked=looked,
        content=base64.b64encode(looked.content).decode() if looked else "",
        rows=_preview(looked, every) if looked else (),
        faults=[f for f in looked.taken.findings if f.severity is Severity.ERROR] if looked else (),
        notes=[f for f in looked.taken.findings if f.severity is not Severity.ERROR] if looked else (),
        meanings=[("", say("saved.nothing")), *((m, say(f"saved.{m}")) for m in MEANINGS), *_tests(every)],
        tests=[*_tests(every), (LEAVE_OUT, say("saved.leave_out"))],
        things=[(t.id, t.title) for t in every],
        test_words=_asked(looked, TEST) if looked else (),
        thing_words=_asked(looked, OF, every) if looked else (),
        units=UNITS,
        no_unit=[m for m in MEANINGS if m != VALUE],
        days=[(d, say("saved." + d.replace(" ", "_"))) for d in (DAY_FIRST, MONTH_FIRST)],
        instruments=[(i.id, i.name or i.id) for i in a.visit.instruments],
        leads=[x.id for x in a.visit.leads],
        off=say("saved.off", off=off) if off else say("saved.none_off"),
        names={r.cell: r.cell for r in looked.taken.rows} if looked else {},
    )


def _tests(every: list[Thing]) -> list[tuple[str, str]]:
    """Every test that something of this visit has, by the name of a step."""
    keys = dict.fromkeys(k for t in every for k in t.keys)
    named = {" ".join(x for x in k if x): k for k in keys}
    return [(name, key_words(k)) for name, k in named.items() if test_of(name) == k]


def _asked(looked: Looked, meaning: str, every: list[Thing] | None = None) -> list[tuple[str, str]]:
    """The words of a column, each with what it is taken for. A thing's own name is proposed, to be looked at."""
    said = looked.mapping.tests if meaning == TEST else looked.mapping.things
    own = {x.casefold(): t.id for t in every or () for x in (t.title, t.id)}
    return [(w, said.get(w) or own.get(w.casefold(), "")) for w in looked.saved.words(meaning, looked.mapping)]


def _preview(looked: Looked, every: list[Thing]) -> list[tuple[str, str, str, str, str]]:
    titles = {t.id: t.title for t in every}
    found = []
    for row in looked.taken.rows:
        b = row.body
        what = key_words((str(b["read"]), str(b.get("between", "")), str(b.get("method", ""))))
        value = str(b.get("shown") or b.get("outcome") or b.get("absent", ""))
        beside = ", ".join(str(b[k]) for k in ("point", "at", "note") if b.get(k))
        found.append((row.cell, titles.get(str(b["of"]), str(b["of"])), what, value, beside))
    return found
