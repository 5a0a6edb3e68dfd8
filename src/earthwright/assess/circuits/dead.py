"""The dead tests of origin, boards and circuits: continuity, rings, insulation, and what is recorded in words."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from ...base.errors import Finding
from ...outcomes.circuits import CircuitJudged, CpcJudged, RingJudged, TestJudged
from ...outcomes.verdict import MEETS, NO_RULE, NOT_DECIDED
from ...site.events import ORIGIN
from ...site.installation import Board, Circuit
from ...site.visit import Visit
from ..earth import Earth
from ..rulings import Rulings
from .continuity import continuity_rows
from .cpc import judge_cpc
from .insulation import insulation_rows
from .insulation_board import board_insulation
from .limits import Case, misread
from .not_kept import with_finding
from .readings import Taken
from .ring import ends_band, ring_rows
from .ring_doubt import by_the_ends
from .word_outcomes import recorded_rows

Dead = tuple[tuple[TestJudged, ...], RingJudged | None, CpcJudged | None]


def origin_tests(visit: Visit, taken: Taken, rulings: Rulings) -> tuple[TestJudged, ...]:
    """Polarity, phase sequence, insulation and functions at the origin."""
    case = Case.of(visit, taken, rulings)
    return _readable((*insulation_rows(case, ORIGIN), *recorded_rows(case, ORIGIN)))


def board_tests(
    visit: Visit, board: Board, circuits: Sequence[CircuitJudged], taken: Taken, rulings: Rulings
) -> tuple[tuple[TestJudged, ...], tuple[Finding, ...]]:
    """The dead tests of a whole board, and what its circuits say together."""
    case = Case.of(visit, taken, rulings)
    rows, findings = board_insulation(case, board, circuits)
    return _readable((*rows, *recorded_rows(case, board.id))), findings


def dead_tests(visit: Visit, circuit: Circuit, taken: Taken, rulings: Rulings, earth: Earth) -> Dead:
    """The dead tests of one circuit; only those for which something is entered."""
    case = Case.of(visit, taken, rulings)
    rings, ring = ring_rows(case, circuit)
    rows = (
        *by_the_ends(continuity_rows(case, circuit, earth), circuit, ends_band(case, circuit)),
        *rings,
        *insulation_rows(case, circuit.id),
        *recorded_rows(case, circuit.id),
    )
    return _readable(rows), ring, judge_cpc(case, circuit, earth)


def _readable(rows: Sequence[TestJudged]) -> tuple[TestJudged, ...]:
    """A row with an entry that could not be read is not decided: what stands there may matter; one that fails has its finding."""
    return tuple(with_finding(_with_refused(row)) for row in rows)


def _with_refused(row: TestJudged) -> TestJudged:
    refused = misread(row.readings)
    if not refused or row.outcome not in (MEETS, NO_RULE):
        return row
    why = f"{refused} of its entries could not be read, so no verdict is given"
    return evolve(row, outcome=NOT_DECIDED, reason=why, words=f"{row.words} Not decided: {why}.".strip())
