"""The insulation of a whole board: the parallel sum of its circuits, who pulls it down, lows that are the same everywhere."""

from __future__ import annotations

import math
from collections.abc import Sequence

from attrs import evolve

from ...base.digits import Kind
from ...base.errors import Finding, NoRule
from ...base.figure import shown_span
from ...base.quantity import Band
from ...outcomes.circuits import CircuitJudged, TestJudged
from ...outcomes.verdict import FAILS
from ...physics.insulation import board_band, culprits, without_each
from ...site.events import State
from ...site.installation import Board
from ...site.reading import Corrected
from . import words_dead as say
from .insulation import EARTHED, SAME_ROWS, deciding, groups_of, insulation_rows, minimum_for, shared_low, value_band
from .limits import Case, counting


def board_insulation(
    case: Case, board: Board, circuits: Sequence[CircuitJudged]
) -> tuple[tuple[TestJudged, ...], tuple[Finding, ...]]:
    """The rows of a whole board against the parallel sum of its circuits, and who pulls it down."""
    rows, findings = [], []
    for row in insulation_rows(case, board.id):
        between = next((r.between for r in reversed(row.readings)), "")
        members = _members(case, circuits, between)
        expected, line = _parallel(members, len(circuits))
        inside = None
        value = value_band(row.corrected) if row.corrected is not None else None
        if expected is not None and value is not None:
            inside = value.touches(expected)
        said, words = _of_board(case, board, between, row, members, expected, inside, len(circuits))
        findings += said
        rows.append(
            evolve(
                row,
                expected=expected,
                inside=inside,
                words=say.sentences(row.words, words),
                sums=(*row.sums, *((line,) if line else ())),
            )
        )
    findings += _identical(case, board, circuits)
    return tuple(rows), tuple(findings)


def _members(case: Case, circuits: Sequence[CircuitJudged], between: str) -> list[tuple[str, Corrected, Band]]:
    """For each circuit that was read to the same earth: its id, the reading that counts, what its value may be."""
    found = []
    for c in circuits:
        wanted = EARTHED if between in EARTHED else (between,)
        some = [r for r in case.taken.of(c.circuit.id, "insulation") if r.between in wanted]
        if not counting(some):
            continue
        corrected = case.taken.corrected(deciding(case, some))
        band = value_band(corrected)
        if band is not None:
            found.append((c.circuit.id, corrected, band))
    return found


def _parallel(members: Sequence[tuple[str, Corrected, Band]], circuits: int) -> tuple[Band | None, str]:
    """What the board should show from its circuits [MΩ], with the sum as a line; None when none was read."""
    if not members:
        return None, ""
    low, high = board_band([(max(b.low, 0.0), b.high) for _, _, b in members])
    if len(members) < circuits:
        low = 0.0  # what was not read may leak as much as it likes
    each = ", ".join(f"{name} {say.digits(c.reading.shown)}" for name, c, _ in members)
    missing = "" if len(members) == circuits else f"; {circuits - len(members)} not read"
    band = Band(low, high, "MΩ", ("1/Σ(1/R) of the circuits as read",))
    return band, f"Circuits side by side, 1/Σ(1/R): {each}{missing} = {shown_span(band)}"


def _of_board(
    case: Case,
    board: Board,
    between: str,
    row: TestJudged,
    members: Sequence[tuple[str, Corrected, Band]],
    expected: Band | None,
    inside: bool | None,
    circuits: int,
) -> tuple[list[Finding], str]:
    """Findings and words on a board's value: whether its circuits explain it, and which of them is guilty."""
    findings: list[Finding] = []
    if expected is None:
        return findings, ""
    words = say.lies(expected, inside)
    if inside is False and len(members) == circuits:
        findings.append(
            Finding.of(
                "insulation.sum",
                f"board {board.id}, insulation {between}",
                "The circuits side by side do not explain the value of the whole board.",
                board.id,
                shown_span(expected),
                say.digits(row.corrected.reading.shown) if row.corrected else "",
                "Check the units of every row, and read board and circuits again in one go.",
                "A circuit that is not entered, wiring of the board itself, or a unit that slipped (kΩ for MΩ).",
            )
        )
    limit = next((j.limit for j in row.judged if j.limit is not None), None)
    if row.outcome != FAILS or limit is None:
        return findings, words
    values = [band.low if math.isinf(band.high) else (band.low + band.high) / 2.0 for _, _, band in members]
    guilty = [members[place] for place in culprits(values, limit.value)]
    if not guilty:
        return findings, words
    rest = without_each(values)[[m[0] for m in members].index(guilty[0][0])] if len(guilty) == 1 else math.inf
    names = say.listed([name for name, _, _ in guilty])
    left = f"; without it the others would be about {rest:.3g} MΩ" if len(guilty) == 1 and math.isfinite(rest) else ""
    findings.append(
        Finding.of(
            "insulation.guilty",
            f"board {board.id}, insulation {between}",
            f"{names} {'pulls' if len(guilty) == 1 else 'pull'} the board below its least value.",
            guilty[0][0],
            f"at least {limit.value:g} MΩ",
            ", ".join(f"{name} {say.digits(c.reading.shown)}" for name, c, _ in guilty),
            "Leave it off, with the consent of who uses it, until the fault is found; the others are not concerned.",
        )
    )
    return findings, f"{words} {names} {'pulls' if len(guilty) == 1 else 'pull'} it down{left}."


def _identical(case: Case, board: Board, circuits: Sequence[CircuitJudged]) -> list[Finding]:
    """The same low value over several rows, or whichever breaker is off: what is common to all of them is measured."""
    found = []
    for between in dict.fromkeys(r.between for c in circuits for r in case.taken.of(c.circuit.id, "insulation")):
        for c in circuits:
            counted = counting(r for r in case.taken.of(c.circuit.id, "insulation") if r.between == between)
            same = shared_low(case, c.circuit.id, between, deciding(case, counted)) if counted else ()
            if same:
                shown = say.digits(deciding(case, counted).shown)
                found.append(_common(board, between, f"{len(same)} rows", say.listed(same), shown))
                break
    for (_, between), readings in groups_of(case, board.id).items():
        digits = [r for r in counting(readings) if r.shown is not None and r.shown.kind is Kind.VALUE]
        breakers = {_breakers_off(case.taken.state(r)) for r in digits}
        if len(breakers) < SAME_ROWS:
            continue
        values = [r.shown.value for r in digits if r.shown is not None]
        step = max(float(r.shown.step) for r in digits if r.shown is not None)
        try:
            least = minimum_for(case, board.id, None, between).limit.value
        except NoRule:
            continue
        if max(values) < least and max(values) - min(values) <= step + 1e-9:
            off = say.listed(sorted({name for some in breakers for name in some}))
            found.append(
                _common(board, between, f"{len(digits)} readings", f"with {off} off in turn", f"{values[-1]:g} MΩ")
            )
    return found


def _breakers_off(state: State) -> frozenset[str]:
    return frozenset(x.removesuffix(":device") for x in state.off if x.endswith(":device"))


def _common(board: Board, between: str, many: str, which: str, shown: str) -> Finding:
    return Finding.of(
        "insulation.identical",
        f"board {board.id}, insulation {between}",
        f"{many} show the same low value: what they have in common is measured, not each of them.",
        board.id,
        "values of each circuit by itself",
        f"{shown}: {which}",
        "Take the neutrals out of the bar one by one and read each circuit alone; do not write one value on every row.",
        "Switching a breaker off parts only the line; the neutrals stay joined, so a fault from neutral to earth shows everywhere.",
    )
