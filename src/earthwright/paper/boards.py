"""The schedule of one board: its own facts, the rows of its circuits, and what of them is missing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial

from attrs import frozen

from ..base.errors import NoRule
from ..outcomes.assessment import Assessment
from ..outcomes.circuits import BoardJudged, TestJudged
from ..report.coding import edition_of
from ..report.rows import all_tests
from ..rules.circuits import nominal_voltage
from ..site.at import At, field_at, reading_at
from ..site.codes import DC, LIVE, METHODS, RCD_SWITCH, SPD_TYPES, WIRING, live_words
from ..site.installation import Board, Circuit, Device
from ..site.needs import has_rcd
from ..site.particulars import Origin
from .circuits import BLANK, DETAILS, Fed, details_row, missing_tests, results_row, whole
from .digits import number, said
from .marks import marks, told
from .shortfalls import beside

OPENS = {1: "one pole", 2: "two poles", 3: "three poles", 4: "four poles"}


@frozen
class Lack:
    """An entry of a schedule that applies and is blank."""

    circuit: str
    what: str
    at: At


@frozen
class BoardSchedule:
    """One board as printed: its own facts, the rows of both schedules, the meaning of its codes, what is missing.

    facts  label, value, where it is entered
    marks  a sign for each result that fails or is not decided;  lengths  a line for each length of a cable that changes
    """

    title: str
    facts: tuple[tuple[str, str, At], ...]
    details: tuple[tuple[str, ...], ...]
    results: tuple[tuple[str, ...], ...]
    lacks: tuple[Lack, ...]
    unrecorded: tuple[Lack, ...]
    codes: tuple[str, ...] = ()
    marks: tuple[tuple[str, ...], ...] = ()
    lengths: tuple[str, ...] = ()


@frozen
class Here:
    """What kind of supply a board has, from its own entry or from what feeds it; empty and None where it is not known."""

    current: str
    live: str
    u0_v: float | None
    u_v: float | None
    frequency_hz: float


def board_schedule(a: Assessment, b: BoardJudged) -> BoardSchedule:
    """Both schedules of a board. ``lacks`` are missing tests, ``unrecorded`` are blank details."""
    details, results, signs = [], [], []
    lacks: list[Lack] = []
    unrecorded: list[Lack] = []
    kind, supply = here(a, b.board), a.visit.site.supply
    as_judged = kind.current != DC and kind.u0_v == supply.u0_v
    fed = Fed(kind.current != DC, kind.u0_v, b.board.rcd, as_judged)
    for c in (whole(a, c) for c in b.circuits):
        row = details_row(a, c, fed)
        unrecorded += [
            Lack(c.circuit.id, what, At("circuit", c.circuit.id, key) if key else field_at("supply", "system"))
            for value, (_, what, key) in zip(row, DETAILS, strict=True)
            if value == BLANK
        ]
        details.append(row)
        *row_read, remark = results_row(c)
        signs.append(marks(c))
        results.append((*row_read, "; ".join(x for x in (remark, beside(a, c.circuit.id)) if x)))
        lacks += [Lack(c.circuit.id, need.said, reading_at(c.circuit.id, *need.key)) for need in missing_tests(a, c)]
    return BoardSchedule(
        b.board.name or b.board.id,
        _facts(a, b),
        tuple(details),
        tuple(results),
        tuple(lacks),
        tuple(unrecorded),
        tuple(_codes([c.circuit for c in b.circuits])),
        tuple(signs),
        tuple(
            f"Circuit {c.circuit.id}, cable {i} from the board: {s.words}"
            for c in b.circuits
            for i, s in enumerate(c.circuit.stretches, 1)
        ),
    )


def _codes(circuits: Iterable[Circuit]) -> Iterator[str]:
    """The codes that the rows print, each with its meaning."""
    made = list(circuits)
    lengths = [s for c in made for s in c.stretches]
    wirings = {c.wiring for c in made} | {s.wiring for s in lengths}
    references = {c.reference or c.method for c in made} | {s.method for s in lengths}
    for title, known, used in (("Wiring", WIRING, wirings), ("Reference method", METHODS, references)):
        said_here = [f"{code} {words}" for code, words in known.items() if code in used]
        if said_here:
            yield f"{title}: {'; '.join(said_here)}"


def here(a: Assessment, board: Board) -> Here:
    """The kind of supply at a board: its own entry where it says something, else that of the board above, else the origin."""
    origin, supply = a.visit.paperwork.origin, a.visit.site.supply
    chain = _up(a, board)
    # Live conductors are those of what feeds a board only where it has as many phases.
    alike = [b for b in chain if b.phases == board.phases]
    as_origin = len(alike) == len(chain) and supply.phases == board.phases
    u0_v, u_v = _voltages(a, chain)
    return Here(
        current=_first(b.current for b in chain) or current_of(origin),
        live=_first(b.live for b in alike) or (origin.live or "as at the origin" if as_origin else ""),
        u0_v=u0_v,
        u_v=u_v,
        frequency_hz=next((b.frequency_hz for b in chain if b.frequency_hz is not None), supply.frequency_hz),
    )


def _voltages(a: Assessment, chain: list[Board]) -> tuple[float | None, float | None]:
    """Nominal voltage to earth and between lines [V]; none comes down to a board of direct current from an AC supply."""
    board, supply = chain[0], a.visit.site.supply
    u_v: float | None = None
    for b in chain:
        if u_v is None and b.phases == board.phases:
            u_v = b.u_v
        if b.u0_v is not None:
            return b.u0_v, u_v
        if b.current == DC and current_of(a.visit.paperwork.origin) != DC:
            return None, u_v
    if u_v is None and supply.phases == board.phases:
        u_v = supply.u_v if supply.u_v is not None or board.phases == 1 else between_lines(a)
    return supply.u0_v, u_v


def current_of(origin: Origin) -> str:
    """AC or DC at the origin: as entered, or as the code of the live conductors says; empty if neither does."""
    live = LIVE.get(origin.live)
    return origin.current or (live.current if live else "")


def between_lines(a: Assessment) -> float | None:
    """Nominal voltage between the lines of a three-phase supply [V] by the edition; None where it has no rule."""
    try:
        return float(nominal_voltage(edition_of(a), "lines").value)
    except NoRule:
        return None


def _up(a: Assessment, board: Board) -> list[Board]:
    """The board and those above it, nearest first; stops where boards hang on each other in a ring."""
    boards = {b.id: b for b in a.visit.site.boards}
    feeders = {c.id: c for c in a.visit.site.circuits}
    chain: list[Board] = []
    at: Board | None = board
    while at is not None and at.id not in {b.id for b in chain}:
        chain.append(at)
        at = boards.get(feeders[at.fed_by].board) if at.fed_by in feeders else None
    return chain


def _first(texts: Iterable[str]) -> str:
    return next((t for t in texts if t), "")


def voltage_words(h: Here, phases: int) -> str:
    """Nominal voltages and frequency: ``230 V to earth, 400 V between lines, 50 Hz``; blank where none is known."""
    if h.u0_v is None and h.u_v is None:
        return ""
    live = LIVE.get(h.live)
    between = (
        "poles" if h.current == DC else "line and neutral" if live and live.count == 2 and live.neutral else "lines"
    )
    parts = [f"{h.u0_v:g} V to earth"] if h.u0_v is not None else []
    if h.u_v is not None:
        parts.append(f"{h.u_v:g} V between {between}")
    elif phases == 3:
        parts.append("between lines: no rule")
    return ", ".join([*parts, "direct current" if h.current == DC else f"{h.frequency_hz:g} Hz"])


def switch_words(board: Board) -> str:
    """The main switch in a line: what its fields say, then what was said in words."""
    s = board.switch
    parts: list[str] = []
    if s is not None:
        device = board.rcd if s.kind == RCD_SWITCH and board.rcd is not None else None
        parts = [
            s.kind if s.kind != "other" else "",
            device.standard if device else s.standard,
            OPENS.get(s.poles or 0, ""),
            number(device.rating_a if device else s.rating_a, "A"),
            number(s.rated_v, "V"),
            f"fuses or setting {s.fuse_a:g} A" if s.fuse_a is not None else "",
            s.where,
        ]
    return "; ".join(x for x in (", ".join(p for p in parts if p), board.main_switch) if x)


def device_words(d: Device) -> str:
    """A protective device in a line, with its residual current function or the separate device for it."""
    parts = [d.standard, f"{d.type} {number(d.rating_a, 'A')}".strip()]
    if has_rcd(d):
        parts.append(f"RCD {rcd_words(d)}")
    return ", ".join(p for p in parts if p)


def rcd_words(d: Device) -> str:
    """The residual current function of a device, or the separate one: ``BS EN 61008 63 A, type A, 30 mA, S``."""
    apart = f"{d.rcd_standard} {number(d.rcd_rating_a, 'A')}".strip()
    kind = f"type {d.rcd_type}" if d.rcd_type else ""
    return ", ".join(x for x in (apart, kind, number(d.rcd_ma, "mA"), d.rcd_delay) if x)


def _facts(a: Assessment, b: BoardJudged) -> tuple[tuple[str, str, At], ...]:
    board = b.board
    feeding = next((c for c in a.visit.site.circuits if c.id == board.fed_by), None)
    tests = {t.test: t for t in reversed(all_tests(a, board.id, b.tests))}
    kind = here(a, board)
    live = live_words(kind.live)
    at, read = partial(At, "board", board.id), partial(reading_at, board.id)
    return (
        ("Board", board.id, at("id")),
        ("Where", board.where, at("where")),
        ("Supplied from", _fed(feeding, board.fed_by), at("fed_by")),
        ("Device that feeds it", device_words(feeding.device) if feeding else _supply_device(a), at("fed_by")),
        ("Phases", str(board.phases), at("phases")),
        ("Live conductors", f"{live}, {kind.current}" if live and kind.current else live, at("live")),
        ("Nominal voltage", voltage_words(kind, board.phases), at("u0_v")),
        ("Main switch", switch_words(board), at("switch.kind")),
        (
            "Residual current device",
            device_words(board.rcd) if board.rcd else "none for the whole board",
            at("rcd.rcd_type"),
        ),
        *(
            (
                ("RCD time at IΔn", rcd_time(tests.get("rcd")), read("rcd", method="x1")),
                ("RCD button", _word(tests, "rcd button", "good", "BAD"), read("rcd button")),
            )
            if board.rcd
            else ()
        ),
        ("Surge protection", _surge(a, b), at("spd_type")),
        ("Zs at the board", _value(tests, ("zdb", "zs"), "Ω"), read("zdb")),
        ("Ipf at the board", _value(tests, ("fault current",), "kA"), read("fault current", "L-E")),
        ("Polarity", _word(tests, "polarity"), read("polarity")),
        (
            "Phase sequence",
            _word(tests, "phase sequence") if board.phases == 3 else "N/A, one phase",
            read("phase sequence"),
        ),
        ("Tested by, on", ", ".join(x for x in (a.visit.inspector, _day(a)) if x), field_at("visit", "inspector")),
    )


def _day(a: Assessment) -> str:
    return f"{a.visit.date.day} {a.visit.date:%B} {a.visit.date.year}"


def _supply_device(a: Assessment) -> str:
    """The device of the supply, as far as it is entered, and a residual current device at the origin that is in no board."""
    s, o = a.visit.site.supply, a.visit.paperwork.origin
    known = " ".join(x for x in (o.fuse_standard, o.fuse_type or s.fuse, number(s.fuse_a, "A")) if x)
    found = f"supply device: {known}" if known else "supply device at the origin"
    rcd = rcd_words(
        Device(rcd_type=o.switch_rcd_type, rcd_ma=o.switch_rcd_ma, rcd_delay=o.switch_rcd_delay.replace("none", ""))
    )
    return f"{found}; RCD {rcd}" if o.switch_rcd_type or o.switch_rcd_ma is not None else found


def _fed(feeding: Circuit | None, name: str) -> str:
    if feeding is None:
        return name or "the origin"
    return f"{feeding.board}, circuit {feeding.id}"


def _surge(a: Assessment, b: BoardJudged) -> str:
    """Type and state of the surge protection: the state is a look of the day, entered as its function."""
    looked = [
        t
        for t in all_tests(a, b.board.id, b.tests)
        if t.test == "functional" and t.point.upper() == "SPD" and t.absent != "missing"
    ]
    words = [t.word for t in looked if t.word]
    outcome = "bad" if "bad" in words else words[-1] if words else ""
    state = {"good": "its indicator is good", "bad": "its indicator is BAD"}.get(outcome, "")
    return ", ".join(dict.fromkeys(x for x in (SPD_TYPES.get(b.board.spd_type, ""), b.board.spd, state) if x))


def rcd_time(t: TestJudged | None) -> str:
    """Longest time of a residual current device at its rated current [ms]; why not, when none was read; blank for neither."""
    if t is None:
        return ""
    shown = [r.shown for r in t.readings if r.shown is not None and not r.refused and r.method in ("x1", "")]
    if shown:
        return f"{said(max(shown, key=lambda s: s.value))} ms"
    return "" if t.absent == "missing" else ": ".join(x for x in (t.absent, t.reason) if x) if t.absent else ""


def _value(tests: dict[str, TestJudged], names: Iterable[str], unit: str) -> str:
    for name in names:
        t = tests.get(name)
        if t is None:
            continue
        # The highest, of a loop and of a fault current: between whatever conductors, and whatever was read later.
        shown = [r.shown for r in t.readings if r.shown is not None and not r.refused]
        if shown:
            return told(f"{said(max(shown, key=lambda s: s.value))} {unit}", (t.outcome,) if t.judged else ())
        if t.absent != "missing":
            return t.absent
    return ""


def _word(tests: dict[str, TestJudged], name: str, good: str = "confirmed", bad: str = "WRONG") -> str:
    t = tests.get(name)
    if t is None:
        return ""
    word = t.word
    return {"good": good, "bad": bad}.get(word, t.absent if t.absent != "missing" else "")
