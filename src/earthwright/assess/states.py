"""A bond over the visit: what was found before it was put right, and breaks that no repair explains."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from ..base.digits import Kind
from ..base.display import Display
from ..evidence.bond import BondEvidence, Copper, Evidence, Model, Observed
from ..evidence.worth import Repeated, Worth
from ..outcomes.assessment import BondFound, ReadingJudged
from ..outcomes.verdict import Judged
from ..report import words
from ..site.events import CONDUCTOR, TOGETHER, Repair
from .reading import agree


def former(repair: Repair, title: str, taken: Sequence[ReadingJudged], evidence: Evidence, joint: Judged) -> BondFound:
    """A state that a repair ended, with its verdict and its words."""
    found = BondFound(repair, tuple(taken), evidence, evidence.verdict, evidence.named, joint)
    return evolve(found, words=words.found_words(found, title))


def speaks_of_break(taken: Sequence[ReadingJudged]) -> tuple[ReadingJudged, ...]:
    """The readings that no whole conductor shows and whose leads were shorted afterwards and good.

    Evidence of a break stays until a repair is noted or the entry is struck: a connection that comes and goes reads well in
    between, so more good readings do not argue it away. Without the check the leads may have been at fault.
    """
    return tuple(x for x in taken if x.used and x.corrected.trust.after_good is True and _too_high(x))


def read_well_after(taken: Sequence[ReadingJudged], speaking: Sequence[ReadingJudged]) -> bool:
    """Whether a reading through the conductor came out well after one that speaks of a break."""
    return any(
        x.used and x.reading.test in (CONDUCTOR, TOGETHER) and x.reading.seq > speaking[0].reading.seq
        for x in taken
        if speaking and x not in speaking
    )


def _too_high(x: ReadingJudged) -> bool:
    """Beyond what the copper with a good joint may have, every error at the edge of its limits; of a path nothing is known."""
    if x.reading.test not in (CONDUCTOR, TOGETHER) or x.reading.shown is None:
        return False
    if x.reading.shown.kind is Kind.OVER:
        return True
    return x.corrected.band is not None and x.corrected.band.low > x.expected.copper.high


def without_repeated(
    copper: Copper, observed: Sequence[Observed], model: Model, test: str, display: Display
) -> Repeated | None:
    """What a further reading of a kind repeats: by its digits, the evidence without the readings it would take the place of."""
    mine = [o for o in observed if o.test == test]
    if not mine:
        return None
    kept: dict[tuple[Observed, ...], tuple[BondEvidence, Evidence]] = {}

    def repeated(shown: float) -> tuple[BondEvidence, Evidence] | None:
        rest = tuple(o for o in observed if o.test != test or not agree(o, Observed(test, shown, display)))
        if len(rest) == len(observed):
            return None
        if rest not in kept:
            bond = BondEvidence(copper, rest, model)
            kept[rest] = bond, bond.result()
        return kept[rest]

    return repeated


def cannot_prove(could_show: Sequence[Worth]) -> tuple[Worth, ...]:
    """The same, where no reading can prove it any more."""
    return tuple(evolve(w, proves=0.0) for w in could_show)


def contradiction_words(speaking: Sequence[ReadingJudged]) -> str:
    """What was read too high and then well, and what would explain it."""
    over = ", ".join(f"{x.reading.shown} ({x.reading.id})" for x in speaking)
    return (
        f"Good leads showed {over} before, more than a whole conductor has, and nothing is noted as put right: a connection that "
        "comes and goes reads well in between, so later readings do not prove it."
    )
