"""What the readings of one thing show, as lines that open: what needs something done first, what is as it should be last."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

from ..base.errors import Finding
from ..evidence.bond import PROVED
from ..outcomes.circuits import CpcJudged, RingJudged
from ..outcomes.verdict import MEETS
from .schedule_rows import Cell, Thing, worked_out
from .words import say, title_of


@frozen
class Shown:
    """One line: what it is about, its verdict, what to do about it; the reasons and the sum stand behind it.

    named  what a conductor is when it is disproved;  do  empty where nothing is to be done
    """

    title: str
    verdict: str
    named: str
    do: str
    words: str
    sums: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def good(self) -> bool:
        """Whether nothing is to be done about it."""
        return self.verdict in (MEETS, PROVED, "") and not self.do


def shown_of(thing: Thing, cells: Sequence[Cell]) -> list[Shown]:
    """Every verdict of a thing: ring or protective conductor, then its readings, then what was worked out."""
    found = [_whole("tests.profile", thing.ring)] if thing.ring else []
    cpc = thing.circuit.cpc if thing.circuit else None
    found += [_whole("tests.cpc", cpc)] if cpc and cpc.evidence else []
    for c in cells:
        if c.judged and c.judged.words and c.shown:
            found.append(_line(c.title, c.outcome, "", c.judged.words, c.judged.sums, c.judged.findings))
    for w in worked_out(thing):
        if w.words:
            found.append(_line(title_of(w.test), w.outcome, "", w.words, w.sums, w.findings))
    return found


def _whole(title: str, judged: RingJudged | CpcJudged) -> Shown:
    named = judged.named if judged.verdict != PROVED else ""
    return _line(say(title), judged.verdict, named, judged.words, judged.sums, judged.findings)


def _line(title: str, verdict: str, named: str, words: str, sums: Iterable[str], findings: Iterable[Finding]) -> Shown:
    mine = tuple(findings)
    return Shown(title, verdict, named, next((f.do for f in mine if f.do), ""), words, tuple(sums), mine)
