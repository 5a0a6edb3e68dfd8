"""The minor works certificate: one circuit, what was done to it, what was read on it."""

from __future__ import annotations

from functools import partial

from ..base.days import day
from ..evidence.bond import PROVED
from ..outcomes.assessment import Assessment
from ..outcomes.circuits import CircuitJudged
from ..report.coding import edition_if_any
from ..report.rows import all_tests
from ..rules import cited
from ..site.at import At, field_at, reading_at
from ..site.needs import has_rcd
from .boards import device_words, rcd_words
from .circuits import DASH, DETAILS, RESULTS_READ, details_row, method_words, results_row, sized, whole, wiring_words
from .circuits import RESULTS as COLUMNS
from .digits import number, said
from .fields import NEW_BOND, Field, Group, client, contractor, inspectors, yes
from .marks import SIGNS, marks, told
from .remedial import work_done
from .shortfalls import beside, bond_said, departures_said

NO_CIRCUIT = Group("The circuit", (Field("Which circuit", "", field_at("report", "circuit")),))
OUTCOMES = {sign: outcome for outcome, sign in SIGNS.items()}


def circuit_of(a: Assessment) -> CircuitJudged | None:
    """The one circuit the certificate is for: the one named, the only one that was put right, or the only one there is."""
    wanted = a.visit.paperwork.report.circuit
    every = [whole(a, c) for c in a.circuits]
    if wanted:
        return next((c for c in every if c.circuit.id == wanted), None)
    mended = {t.observation.about for t, _ in work_done(a)}
    put_right = [c for c in every if c.circuit.id in mended]
    return next((some[0] for some in (put_right, every) if len(some) == 1), None)


def minor_groups(a: Assessment) -> tuple[Group, ...]:
    """The fields of the certificate."""
    c = circuit_of(a)
    return (
        client(a),
        contractor(a),
        inspectors(a),
        _work(a, c),
        _supply(a, c),
        *((_circuit(a, c), _tests(a, c)) if c else (NO_CIRCUIT,)),
    )


def _work(a: Assessment, c: CircuitJudged | None) -> Group:
    """The work as entered; where it is not, it follows from what was put right on the circuit."""
    r = a.visit.paperwork.report
    done = work_done(a, c.circuit.id) if c else []
    told = "; ".join(
        f"{s.what or 'put right'} (observation {t.observation.id}; {t.observation.where})" for t, s in done
    )
    last = max((s.on for _, s in done), default=None)
    return Group(
        "The work",
        (
            Field("Description and place", r.work or told, field_at("report", "work")),
            Field("Completed on", day(r.completed or last), field_at("report", "completed")),
            Field("Departures from the rules", departures_said(a), field_at("report", "departures")),
            Field(
                f"Left out on stated grounds{cited(edition_if_any(a), 'left out on stated grounds')}",
                r.exceptions or "none entered",
                field_at("report", "exceptions"),
            ),
            Field("Comments on the existing installation", r.existing, field_at("report", "existing")),
        ),
        wide=True,
    )


def _supply(a: Assessment, c: CircuitJudged | None) -> Group:
    s, o = a.visit.site.supply, a.visit.paperwork.origin
    return Group(
        "Supply, earthing and bonding the work relies on",
        (
            Field("Earthing arrangement", s.system or "", field_at("supply", "system")),
            Field("Zs at the board", _zdb(a, c), _board_at(a)),
            Field(
                "Earthing conductor adequate",
                yes(o.earthing_checked, "verified", "not verified"),
                field_at("origin", "earthing_checked"),
            ),
            *(_bonded(a, kind) for kind in ("water", "gas")),
            Field("Other bonds", _others(a) or "none entered"),
        ),
    )


def _bonded(a: Assessment, kind: str) -> Field:
    mine = [b for b in a.bonds if b.part.kind == kind]
    value = ", ".join(f"{b.part.title}: {bond_said(a, b)}" for b in mine)
    if not value and kind in a.visit.paperwork.origin.not_present:
        value = "N/A, not present"
    return Field(f"Main bond, {kind}", value, field_at("origin", "not_present").or_at(NEW_BOND))


def _others(a: Assessment) -> str:
    proved = [b for b in a.bonds if b.part.kind not in ("water", "gas")]
    return ", ".join(f"{b.part.title}: {bond_said(a, b)}" + ("" if b.verdict == PROVED else " (look)") for b in proved)


def _board_at(a: Assessment) -> At:
    """Where the board of the circuit is read; a new board where there is none."""
    circuit = a.visit.paperwork.report.circuit
    boards = [c.board for c in a.visit.site.circuits if c.id == circuit] + [b.id for b in a.visit.site.boards]
    return reading_at(boards[0], "zdb") if boards and boards[0] else At("board")


def _zdb(a: Assessment, c: CircuitJudged | None) -> str:
    for b in a.boards:
        if c is None or c.circuit.board != b.board.id:
            continue
        for t in all_tests(a, b.board.id, b.tests):
            if t.test == "zdb":
                shown = [r.shown for r in t.readings if r.shown is not None and not r.refused]
                return (
                    f"{said(max(shown, key=lambda s: s.value))} Ω"
                    if shown
                    else f"{t.absent}: {t.reason}"
                    if t.absent != "missing"
                    else ""
                )
    return ""


def _circuit(a: Assessment, c: CircuitJudged) -> Group:
    k, d = c.circuit, c.circuit.device
    at = partial(At, "circuit", k.id)
    board = next((b for b in a.visit.site.boards if b.id == k.board), None)
    rcd = rcd_words(d) if has_rcd(d) else "none"
    if rcd == "none" and board is not None and board.rcd is not None:
        rcd = f"{device_words(board.rcd)}, for the whole board"
    return Group(
        "The circuit",
        (
            Field("Circuit", f"{k.id} {k.name}".strip(), at()),
            Field("Board", k.board, at("board")),
            Field("Device, standard", d.standard, at("device")),
            Field("Type and rating", f"{d.type} {number(d.rating_a, 'A')}".strip(), at("device")),
            Field("Residual current device", rcd, at("device")),
            Field("Wiring", wiring_words(k), at("wiring").or_at(at("cable"))),
            Field("Reference method", method_words(k), at("reference").or_at(at("method"))),
            Field("Live conductors", sized(k, "line_mm2", "mm²"), at("line_mm2")),
            Field("Protective conductor", sized(k, "cpc_mm2", "mm²"), at("cpc_mm2")),
            Field("Highest permitted Zs", _highest_zs(a, c), at("device")),
        ),
    )


def _highest_zs(a: Assessment, c: CircuitJudged) -> str:
    """From the device, as in a schedule."""
    value = details_row(a, c)[[head for head, *_ in DETAILS].index("Highest Zs Ω")]
    return f"{value} Ω" if value[:1].isdigit() else value


def _tests(a: Assessment, c: CircuitJudged) -> Group:
    values = dict(zip(COLUMNS, results_row(c), strict=True))
    signs = dict(zip(COLUMNS, marks(c), strict=True))
    values["Remarks"] = "; ".join(x for x in (values["Remarks"], beside(a, c.circuit.id)) if x)
    ring = c.circuit.kind == "ring"
    fields = []
    for column, value in values.items():
        if column in ("No.", "Circuit", "Remarks", "Test V"):
            continue
        if column in ("r1 Ω", "rn Ω", "r2 Ω") and not ring:
            continue
        shown = "N/A" if value == DASH else value
        name, _, unit = column.rpartition(" ")
        label = name if unit in ("Ω", "MΩ", "ms") else column
        text = f"{shown} {unit}" if label == name and shown and shown[0] in "0123456789<>" else shown
        need = column not in ("R1+R2 Ω", "R2 Ω") or not (values["R1+R2 Ω"] or values["R2 Ω"])
        text = told(text, (OUTCOMES[signs[column]],) if signs[column] else ())
        fields.append(Field(label, text, reading_at(c.circuit.id, *RESULTS_READ[column]), need))
    fields.append(Field("Remarks", values["Remarks"], need=False))
    return Group("Test results", tuple(fields))
