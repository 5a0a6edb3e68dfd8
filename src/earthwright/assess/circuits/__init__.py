"""Judge the installation: origin, boards with their circuits, electrodes, and danger that is there now."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from typing import NamedTuple

from ...base.errors import Finding
from ...outcomes.circuits import Alarm, BoardJudged, CircuitJudged, ElectrodeJudged, Found, TestJudged
from ...site.correction import Corrector
from ...site.events import ORIGIN
from ...site.installation import Board, Circuit
from ...site.visit import Visit
from ..earth import Earth
from ..rulings import Rulings
from . import board_particulars, dead, live
from .before_repair import Rows, found_finding, found_of, read_again
from .crossed_rings import link
from .islands import island_findings
from .limits import Case
from .needs import complete, missing_finding
from .readings import Taken
from .sources import source_findings
from .words_cpc import flattered_loop


class InstallationJudged(NamedTuple):
    """What :func:`judge_installation` hands back, in the order of the schedule."""

    origin: tuple[TestJudged, ...]
    boards: tuple[BoardJudged, ...]
    electrodes: tuple[ElectrodeJudged, ...]
    alarms: tuple[Alarm, ...]
    findings: tuple[Finding, ...]
    found: tuple[Found, ...] = ()


def judge_installation(
    visit: Visit, rulings: Rulings, earth: Earth, only: str | None = None, corrector: Corrector | None = None
) -> InstallationJudged:
    """Every test of the origin, the boards, their circuits and the electrodes, each held against its band and its rule.

    earth  the earth network of the visit. Findings of single tests stand with them and in ``findings`` as well, each once.
    corrector  the readings of the visit corrected, where they are at hand
    only   the one board or circuit that is asked about, of other things none: no other board and circuit is judged then
    """
    taken = Taken(visit, corrector)
    findings: list[Finding] = []
    found: list[Found] = []

    def at_origin(then: Taken) -> tuple[TestJudged, ...]:
        return (*live.origin_tests(visit, then, rulings), *dead.origin_tests(visit, then, rulings))

    origin = at_origin(taken)
    found += found_of(ORIGIN, taken, lambda then: (at_origin(then), None, None), (origin, None, None))
    by_board = _asked(visit, only)
    named = {board.id: board for board in visit.site.boards}
    boards = []
    for board_id, circuits in by_board.items():
        board = named.get(board_id)
        if board is None:
            board = Board(board_id)
            findings.append(_nowhere(board_id, circuits))
        boards.append(_board(visit, board, circuits, only, taken, rulings, earth, found))
    electrodes = live.electrodes(visit, taken, rulings)
    for e in electrodes:
        found += found_of(e.electrode.id, taken, partial(_of_electrode, visit, e, rulings), (e.tests, None, None))
    alarms = live.alarms(visit, taken, rulings)
    findings += taken.findings
    findings += [f for test in origin for f in test.findings]
    for judged in boards:
        findings += [*judged.findings, *(f for test in judged.tests for f in test.findings)]
        for circuit_judged in judged.circuits:
            findings += _of_circuit(circuit_judged)
    for electrode in electrodes:
        findings += [*electrode.findings, *(f for test in electrode.tests for f in test.findings)]
    findings += [*(found_finding(f) for f in found), *island_findings(visit), *source_findings(visit, rulings.wiring)]
    return InstallationJudged(origin, tuple(boards), electrodes, alarms, tuple(dict.fromkeys(findings)), tuple(found))


def _asked(visit: Visit, only: str | None) -> dict[str, list[Circuit]]:
    """The circuits by their boards, boards without a circuit among them; only the board of what is asked about."""
    found: dict[str, list[Circuit]] = {board.id: [] for board in visit.site.boards}
    for circuit in visit.site.circuits:
        found.setdefault(circuit.board, []).append(circuit)
    if only is None:
        return found
    return {board: circuits for board, circuits in found.items() if only in (board, *(c.id for c in circuits))}


def _beside(circuits: Sequence[Circuit], only: str | None) -> Sequence[Circuit]:
    """The circuits of a board to judge for one: itself, and other rings if it is one, for they are told apart together."""
    asked = next((c for c in circuits if c.id == only), None)
    if asked is None:
        return circuits
    return [c for c in circuits if c is asked or c.kind == asked.kind == "ring"]


def _of_electrode(visit: Visit, judged: ElectrodeJudged, rulings: Rulings, then: Taken) -> Rows:
    same = next(e for e in live.electrodes(visit, then, rulings) if e.electrode.id == judged.electrode.id)
    return same.tests, None, None


def _board(
    visit: Visit,
    board: Board,
    of_circuits: Sequence[Circuit],
    only: str | None,
    taken: Taken,
    rulings: Rulings,
    earth: Earth,
    found: list[Found],
) -> BoardJudged:
    case = Case.of(visit, taken, rulings)
    circuits = _beside(of_circuits, only)
    judged = link([_circuit(visit, c, taken, rulings, earth, found) for c in circuits])
    judged = board_particulars.with_lacks(case, board, judged, of_circuits)
    if len(circuits) < len(of_circuits):
        return BoardJudged(board, (), judged)
    dead_of_board, findings = dead.board_tests(visit, board, judged, taken, rulings)
    tests = (*live.board_tests(visit, board, taken, rulings), *dead_of_board)

    def as_then(then: Taken) -> Rows:
        return (
            (*live.board_tests(visit, board, then, rulings), *dead.board_tests(visit, board, judged, then, rulings)[0]),
            None,
            None,
        )

    found += found_of(board.id, taken, as_then, (tests, None, None))
    tests = (*tests, *board_particulars.open_rows(board, [row for c in judged for row in c.left_open]))
    said = (
        *findings,
        *board_particulars.makers(case, board, of_circuits),
        *board_particulars.in_series(case, board, of_circuits),
    )
    return BoardJudged(board, tests, judged, said)


def _circuit(
    visit: Visit, circuit: Circuit, taken: Taken, rulings: Rulings, earth: Earth, found: list[Found]
) -> CircuitJudged:
    def as_then(then: Taken) -> Rows:
        tests, ring, cpc = dead.dead_tests(visit, circuit, then, rulings, earth)
        return (*tests, *live.live_tests(visit, circuit, tests, then, rulings)), ring, cpc

    rows, ring, cpc = as_then(taken)
    before = found_of(circuit.id, taken, as_then, (rows, ring, cpc))
    found += before
    rows, open_ = board_particulars.left_open(read_again(complete(visit, circuit, rows), before))
    findings = (*missing_finding(visit, circuit, rows), *flattered_loop(circuit, cpc, rows))
    words = [f.words for f in before] + [t.words for t in (*rows, *open_) if t.words] + ([ring.words] if ring else [])
    words += ([cpc.words] if cpc and cpc.used else []) + [f.what for f in findings]
    return CircuitJudged(circuit, rows, ring, findings, " ".join(words), cpc, open_)


def _of_circuit(judged: CircuitJudged) -> list[Finding]:
    ring = judged.ring.findings if judged.ring else ()
    cpc = judged.cpc.findings if judged.cpc else ()
    return [*judged.findings, *ring, *cpc, *(f for test in judged.tests for f in test.findings)]


def _nowhere(board_id: str, circuits: Iterable[Circuit]) -> Finding:
    names = ", ".join(c.id for c in circuits)
    return Finding.of(
        "circuits.board",
        f"board {board_id or 'without a name'}",
        f"Circuits belong to it, but it is not entered: {names}.",
        board_id,
        "an entry for the board",
        "none",
        "Enter the board: where it stands, what feeds it, how many phases.",
    )
