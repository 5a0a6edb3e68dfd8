"""What the particulars of a board's circuits leave open or lack, said once for the board and not row by row."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from attrs import evolve

from ...base.errors import Finding, NoRule, Severity
from ...outcomes.circuits import BY_PARTICULARS, CircuitJudged, TestJudged
from ...outcomes.verdict import FAILS, NO_RULE, NOT_DECIDED, not_decided
from ...rules.lookup import device_family
from ...site.installation import Board, Circuit
from ...site.tests import BY_NAME, spoken
from ...site.visit import NEW_WORK
from .additional import additional_row
from .limits import Case
from .needs import TESTING
from .overload import overload_row, tails_row
from .rcd_type import type_row
from .words_dead import listed

_MAKERS = "BS EN 60947-2"


def _titled(test: str) -> str:
    """A rule at the beginning of a sentence."""
    return spoken(test)[:1].upper() + spoken(test)[1:]


def particulars_rows(case: Case, circuit: Circuit) -> tuple[TestJudged, ...]:
    """The rows of a circuit that rest on its particulars alone; none for a visit that tests no circuits.

    None without an edition either, which is told once for the whole visit.
    """
    if case.visit.kind not in TESTING or case.limits.edition is None:
        return ()
    rows = (overload_row(case, circuit), additional_row(case, circuit), type_row(case, circuit))
    return tuple(r for r in rows if r is not None)


def origin_rows(case: Case) -> tuple[TestJudged, ...]:
    """The tails, where the visit tests circuits."""
    row = tails_row(case) if case.visit.kind in TESTING else None
    return () if row is None else (row,)


def left_open(rows: Iterable[TestJudged]) -> tuple[tuple[TestJudged, ...], tuple[TestJudged, ...]]:
    """The rows of a circuit that stay with it, and those that are left open and are said once for its board."""
    listed_rows = list(rows)
    open_ = tuple(r for r in listed_rows if r.test in BY_PARTICULARS and r.outcome in (NOT_DECIDED, NO_RULE))
    return tuple(r for r in listed_rows if r not in open_), open_


def open_rows(board: Board, open_: Iterable[TestJudged]) -> tuple[TestJudged, ...]:
    """One row for each rule that is left open on a board: of which circuits, and what is missing."""
    whys: dict[str, dict[str, list[str]]] = {}
    for row in open_:
        why = "; ".join(dict.fromkeys(j.why for j in row.judged if j.outcome in (NOT_DECIDED, NO_RULE)))
        whys.setdefault(row.test, {}).setdefault(why, []).append(row.of)
    rows = []
    for test, by_why in whys.items():
        said = "; ".join(f"{listed(circuits)}: {why}" for why, circuits in by_why.items())
        judged = not_decided(None, said)
        words = (
            f"{_titled(test)} is not decided: " + "; ".join(f"{why} ({listed(of)})" for why, of in by_why.items()) + "."
        )
        rows.append(TestJudged(board.id, test, judged=(judged,), outcome=NOT_DECIDED, reason=said, words=words))
    return tuple(rows)


def with_lacks(
    case: Case, board: Board, circuits: Sequence[CircuitJudged], beside: Iterable[Circuit]
) -> tuple[CircuitJudged, ...]:
    """The circuits; rows that fail by particulars share one finding a rule, which names every circuit of the board.

    beside  every circuit of the board in order; of those that were not judged, only these rows are worked out
    It is a note where the circuit was there before, else a warning; a cable that may be overloaded always warns.
    """
    failed = {r.test for c in circuits for r in c.tests if r.outcome == FAILS}
    judged = {c.circuit.id: c.tests for c in circuits}
    if failed.isdisjoint(BY_PARTICULARS):
        return tuple(circuits)  # then the rows of the others need not be worked out
    rows = [r for c in beside for r in (judged[c.id] if c.id in judged else particulars_rows(case, c))]
    said: dict[str, Finding] = {}
    for test in BY_PARTICULARS:
        of = [r for r in rows if r.test == test and r.outcome == FAILS]
        if of:
            loud = test == "overload" or case.visit.kind in NEW_WORK
            rule = BY_NAME[test]
            whys = dict.fromkeys(j.why for r in of for j in r.judged if j.outcome == FAILS)
            said[test] = Finding(
                f"board {board.name or board.id}",
                f"{_titled(test)}: not met in {listed([r.of for r in of])}.",
                Severity.WARNING if loud else Severity.NOTE,
                rule.finding,
                board.id,
                rule.wants,
                "; ".join(whys),
                rule.do,
            )
    return tuple(evolve(c, tests=tuple(_with(r, said) for r in c.tests)) for c in circuits) if said else tuple(circuits)


def _with(row: TestJudged, said: Mapping[str, Finding]) -> TestJudged:
    return evolve(row, findings=(*row.findings, said[row.test])) if row.outcome == FAILS and row.test in said else row


def makers(case: Case, board: Board, circuits: Iterable[Circuit]) -> tuple[Finding, ...]:
    """Devices whose operation only their maker's data tell, named once for the board."""
    of = [c.id for c in circuits if not c.device.curve and _adjustable(case, c.device.standard)]
    if not of:
        return ()
    return (
        Finding.of(
            "rules.maker",
            f"board {board.name or board.id}",
            f"No rule in the data says when the devices of {listed(of)} open: they are made to {_MAKERS}.",
            board.id,
            "points of the maker's curve, for the release as it is set",
            "none",
            "Read them off the maker's sheet and enter them as 'curve'.",
        ),
    )


def _adjustable(case: Case, standard: str) -> bool:
    try:
        return bool(standard) and device_family(case.limits.known, standard) == _MAKERS
    except NoRule:
        return False


def in_series(case: Case, board: Board, circuits: Iterable[Circuit]) -> tuple[Finding, ...]:
    """Residual current devices one behind the other of which either may open first: named once for the board."""
    pairs: dict[str, list[str]] = {}
    for circuit in circuits:
        devices = case.rcds(circuit)
        if len(devices) > 1 and devices[0][0] == circuit.id and not devices[1][1].rcd_delay:
            pairs.setdefault(devices[1][0], []).append(circuit.id)
    return tuple(
        Finding.of(
            "rcd.series",
            f"board {board.name or board.id}",
            f"The residual current device of {upper} has no delay and stands before those of {listed(lower)}: either may open.",
            board.id,
            "a device of type S, or with a set delay, before others",
            "no delay entered",
            f"Look whether losing the whole board is acceptable; else a delayed device belongs there"
            f"{case.limits.cited('devices in series', 'from memory')}.",
        )
        for upper, lower in pairs.items()
    )
