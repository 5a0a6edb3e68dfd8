"""Boards from a template of one's own: a board with its circuits as they are built, kept in the journal, begun anew elsewhere.

A template is a file of the visit that it was saved at, so it goes with that visit when its personal data are erased. It never
holds a result, nor what belongs to the one place: lengths, points, where a cable runs.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from attrs import frozen

from ..records import JournalError
from ..records.canon import digest
from ..records.event import FILE
from ..records.replay import EntryNow, Replayed, effect
from ..site.tables import BY_NAME
from .desk import Desk
from .next_visit import BUILDING

MEDIA = "application/vnd.earthwright.board+json"
# What belongs to the one place, beside what was measured or looked at (``next_visit.BUILDING``).
PLACE = {t: tuple(f.key for f in BY_NAME[t].fields if f.local) for t in ("board", "circuit")}

Entry = tuple[str, dict[str, Any]]


@frozen
class Template:
    """A board that was saved.

    id  of the event that keeps it;  name  as it is offered;  board, circuits  as entries, without what belongs to one place
    """

    id: str
    name: str
    board: dict[str, Any]
    circuits: tuple[dict[str, Any], ...]


def _standing(read: Replayed, kind: str) -> list[EntryNow]:
    return [e for e in read.entries if e.kind == kind and e.struck is None]


def _built(kind: str, body: Mapping[str, Any]) -> dict[str, Any]:
    return {k: v for k, v in body.items() if k not in (*BUILDING[kind], *PLACE[kind])}


def template_file(read: Replayed, board: str, words: Callable[..., str]) -> tuple[dict[str, Any], bytes] | None:
    """What is said of the file of a template, and its bytes; None where there is no such board, or it has no circuits.

    words  says its name from ``board``, ``count`` and ``circuits``
    """
    mine = next((e for e in _standing(read, "board") if e.body.get("id") == board), None)
    only = len(_standing(read, "board")) == 1
    circuits = [
        e for e in _standing(read, "circuit") if e.body.get("board") == board or (only and not e.body.get("board"))
    ]
    if mine is None or not circuits:
        return None
    data = {"board": _built("board", mine.body), "circuits": [_built("circuit", e.body) for e in circuits]}
    content = json.dumps(data, ensure_ascii=False, sort_keys=True).encode()
    names = ", ".join(dict.fromkeys(str(e.body.get("name") or e.body.get("id")) for e in circuits))
    name = words(board=mine.body.get("name") or board, count=len(circuits), circuits=names)
    said = {
        "hash": digest(content),
        "size": len(content),
        "caption": name,
        "name": "board.json",
        "media": MEDIA,
        "about": f"board {board}",
    }
    return said, content


def templates_of(desk: Desk, inspector: str) -> list[Template]:
    """The boards an inspector saved, the newest first, each name once. What was taken out or erased is not among them."""
    mine = {v.id for v in desk.visits() if v.inspector == inspector}
    found: dict[str, Template] = {}
    for event in reversed(desk.store.events(kinds=(FILE,))):
        name = str(event.body.get("caption", ""))
        if event.body.get("media") != MEDIA or event.visit not in mine or name in found:
            continue
        struck, _ = effect(desk.read(event.visit).events)
        try:
            data = json.loads(desk.content(str(event.body["hash"])))
        except JournalError:  # erased with its visit
            continue
        if event.id not in struck:
            found[name] = Template(event.id, name, data["board"], tuple(data["circuits"]))
    return list(found.values())


def begun_from(template: Template, taken: Iterable[str]) -> list[Entry]:
    """The entries of a board and its circuits as a template has them, under ids that nothing has yet."""
    used = set(taken)
    board = _free(str(template.board.get("id") or "db1"), used)
    entries: list[Entry] = [("board", {**template.board, "id": board})]
    for body in template.circuits:
        own = str(body.get("id", ""))
        entries.append(
            ("circuit", {**body, "id": _free(own if own not in used else f"{board}-{own}", used), "board": board})
        )
    return entries


def _free(wanted: str, used: set[str]) -> str:
    stem = wanted.rstrip("0123456789") or wanted
    found = (
        wanted if wanted not in used else next(i for n in range(2, len(used) + 3) if (i := f"{stem}{n}") not in used)
    )
    used.add(found)
    return found
