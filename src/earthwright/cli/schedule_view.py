"""Schedules on the terminal: circuits in rows, each test with what was entered, expected and allowed, and its verdict.

A circuit of which everything meets its rules takes one line; the others are opened up. ``full`` opens all.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from attrs import evolve

from ..assess.circuits.words_dead import listed
from ..base.digits import Kind
from ..base.figure import span
from ..base.quantity import Band
from ..evidence.bond import DISPROVED, NOT_SHOWN, PROVED
from ..outcomes.assessment import Assessment
from ..outcomes.circuits import BY_PARTICULARS, BoardJudged, CircuitJudged, CpcJudged, ElectrodeJudged, TestJudged
from ..outcomes.verdict import FAILS, MEETS, NO_RULE, NOT_DECIDED
from ..report.rows import all_tests
from ..site.tests import ORIGIN, TESTS, called
from .plain_table import drawing

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

FEW = 8  # circuits of a board that are told reading by reading; of more, only what needs a look
SIGNS = {MEETS: "=", FAILS: "/", NOT_DECIDED: "?", NO_RULE: "-"}
STYLES = {MEETS: "green", FAILS: "bold red", NOT_DECIDED: "yellow", NO_RULE: "dim"}


def show_schedules(a: Assessment, *, full: bool) -> None:
    """Origin, electrodes and every board, as tables; nothing when the visit has none of them."""
    if not (a.origin or a.boards or a.electrodes):
        return
    console = drawing().Console(highlight=False, soft_wrap=False)
    electrodes = ((_electrode_title(e), all_tests(a, e.electrode.id, e.tests)) for e in a.electrodes)
    for title, tests in (("Origin", all_tests(a, ORIGIN, a.origin)), *electrodes):
        if tests:
            table = _table(title)
            _rows(table, "", tests)
            console.print()
            console.print(table)
    for board in a.boards:
        circuits = tuple(evolve(c, tests=all_tests(a, c.circuit.id, c.tests)) for c in board.circuits)
        whole = evolve(board, tests=all_tests(a, board.board.id, board.tests), circuits=circuits)
        _show_board(whole, console, full=full)


def fails(a: Assessment) -> bool:
    """Whether any test of the installation fails its rule, or a ring or a protective conductor is disproved."""
    disproved = any(x is not None and x.verdict == DISPROVED for c in a.circuits for x in (c.ring, c.cpc))
    return disproved or any(t.outcome == FAILS for t in a.tests)


def counts(a: Assessment) -> str:
    """How many tests of circuits came to which verdict, and how many are missing."""
    tests = [t for c in a.circuits for t in c.tests]
    found = [f"{n} {word}" for word in SIGNS if (n := sum(not t.absent and t.outcome == word for t in tests))]
    missing = sum(t.absent == "missing" for t in tests)
    return ", ".join([*found, *([f"{missing} missing"] if missing else [])])


def counts_of_conductors(a: Assessment) -> str:
    """How many protective conductors of circuits, rings as a whole, came to which verdict; empty when none was read."""
    found = [x.verdict for c in a.circuits if (x := c.ring or c.cpc) is not None]
    if all(v == NOT_SHOWN for v in found):
        return ""
    return ", ".join(f"{found.count(word)} {word}" for word in (PROVED, DISPROVED, NOT_SHOWN))


def _electrode_title(e: ElectrodeJudged) -> str:
    return f"Earth electrode {e.electrode.id}" + (f", {e.electrode.where}" if e.electrode.where else "")


def _show_board(board: BoardJudged, console: Console, *, full: bool) -> None:
    """A board's own tests and the circuits that need a look as a table; the others in a line each, below it."""
    escape, b = drawing().escape, board.board
    table = _table(f"Board {b.name or b.id}" + (f", {b.where}" if b.where else ""))
    open_ = [t for t in board.tests if t.test in BY_PARTICULARS]  # sentences, too long for a table
    if own := [t for t in board.tests if t not in open_]:
        _rows(table, b.id, own)
    well = []
    few = len(board.circuits) <= FEW
    for circuit in board.circuits if full else sorted(board.circuits, key=_how_bad):
        c = circuit.circuit
        name = c.name if c.id in c.name.split() else f"{c.id} {c.name}".strip()
        if full or (few and not _all_well(circuit)):
            _rows(table, name, circuit.tests, ring=_ring_said(circuit), cpc=_cpc_said(circuit))
        elif not _all_well(circuit):
            _rows(table, name, [t for t in circuit.tests if _needs_a_look(t)], **_not_whole(circuit))
        elif not few:
            whole = circuit.ring or circuit.cpc
            sign = SIGNS[MEETS] if whole is None or whole.verdict == PROVED else "?"
            well.append(f"{sign} {escape(name)}")
        else:
            well.append(f"[green]{SIGNS[MEETS]}[/green] [bold]{escape(name)}[/bold]: {escape(_in_a_line(circuit))}")
    console.print()
    console.print(table if table.row_count else f"[bold]{escape(str(table.title))}[/bold]")
    well += [f"[yellow]{SIGNS[NOT_DECIDED]}[/yellow] {escape(t.words)}" for t in open_]
    if well and not few:
        console.print(
            drawing().Padding(
                f"All tests meet (= nothing open, ? conductor not shown whole; --full for each): {'; '.join(w.rstrip('.') for w in well)}.",
                (0, 0, 0, 1),
            )
        )
        return
    for line in well:
        console.print(drawing().Padding(line, (0, 0, 0, 1)))


def _needs_a_look(t: TestJudged) -> bool:
    return t.outcome in (FAILS, NOT_DECIDED) or t.inside is False or t.absent == "missing" or bool(t.findings)


def _how_bad(circuit: CircuitJudged) -> int:
    """The worst first: what fails or is disproved, then what is missing or not decided, then the rest in their order."""
    verdicts = {x.verdict for x in (circuit.ring, circuit.cpc) if x is not None}
    if DISPROVED in verdicts or any(t.outcome == FAILS for t in circuit.tests):
        return 0
    return 2 if _all_well(circuit) else 1


def _not_whole(circuit: CircuitJudged) -> dict[str, str]:
    ring = "" if circuit.ring is None or circuit.ring.verdict == PROVED else _ring_said(circuit)
    return {"ring": ring, "cpc": _cpc_said(circuit) if asks(circuit.cpc) else ""}


def _in_a_line(circuit: CircuitJudged) -> str:
    """Everything read at a circuit that meets its rules, in one line."""
    read = [f"{name_of(t)} {_entered(t)}" for t in circuit.tests if t.readings and not t.test.startswith("ring ")]
    whole = _ring_said(circuit) or _cpc_said(circuit)
    return "; ".join(x for x in (", ".join(read), "all meet", whole) if x)


def _all_well(circuit: CircuitJudged) -> bool:
    ring = circuit.ring is None or circuit.ring.verdict == PROVED
    cpc = not asks(circuit.cpc)
    tests = all(t.outcome != FAILS and t.absent != "missing" and t.outcome != NOT_DECIDED for t in circuit.tests)
    return ring and cpc and tests and not circuit.findings and not any(t.findings for t in circuit.tests)


def _ring_said(circuit: CircuitJudged) -> str:
    if circuit.ring is None:
        return ""
    ring = circuit.ring
    named = f": {ring.named}" if ring.named not in ("", "whole") else ""
    between = f", between {' and '.join(ring.between)}" if ring.between else ""
    return f"ring whole? {ring.verdict}{named}{between}"


def asks(cpc: CpcJudged | None) -> bool:
    """Whether a protective conductor needs more than a word: disproved, or other metal is known to speak for it."""
    return cpc is not None and (cpc.verdict == DISPROVED or (cpc.verdict != PROVED and bool(cpc.others)))


def _cpc_said(circuit: CircuitJudged) -> str:
    cpc = circuit.cpc
    if cpc is None or cpc.evidence is None:
        return ""
    named = f": {cpc.named}" if cpc.named else ""
    others = [*cpc.others[:2], "others"] if len(cpc.others) > 2 else cpc.others
    beside = f", beside {listed(others)}" if others else ""
    return f"cpc whole? {cpc.verdict}{named}{beside}"


# As wide as the longest word of the column, the name of a test: the circuit and the limit share what is left, and no verdict is cut off.
_LONGEST = {
    "Test": max(len(t.called) for t in TESTS),
    "Entered": len("consistent, "),
    "Expected": len("0.551 to"),
    "Verdict": len("? not decided"),
}


def _table(title: str) -> Table:
    rich = drawing()
    table: Table = rich.Table(
        title=title,
        title_justify="left",
        title_style="bold",
        box=rich.SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
    )
    for heading in ("Circuit", "Test", "Entered", "Expected", "Limit", "Verdict"):
        table.add_column(heading, overflow="fold", no_wrap=heading == "Limit", width=_LONGEST.get(heading))
    return table


def _rows(table: Table, name: str, tests: Iterable[TestJudged], ring: str = "", cpc: str = "") -> None:
    escape = drawing().escape
    shown_name, missing = escape(name), []
    columns: dict[str, list[TestJudged]] = {}
    for t in tests:
        if t.absent == "missing":
            missing.append(name_of(t))
            continue
        if t.test in ("ring ln", "ring le"):  # a profile: one row for all its sockets
            columns.setdefault(t.test, []).append(t)
            continue
        table.add_row(shown_name, escape(name_of(t)), escape(_entered(t)), _band(t.expected), _limit(t), _verdict(t))
        shown_name = ""
    for sockets in columns.values():
        values = [r.shown for t in sockets for r in t.readings if r.shown is not None]
        if values:
            low, high = min(values, key=lambda s: s.value), max(values, key=lambda s: s.value)
            said = f"{low.digits} to {high.digits} {high.unit} at {len(values)} sockets"
            table.add_row(shown_name, name_of(sockets[0]), said, "", "", "")
            shown_name = ""
    for heading, said in (("whole?", ring.removeprefix("ring whole? ")), ("whole?", cpc.removeprefix("cpc whole? "))):
        if said:
            table.add_row(shown_name, heading, escape(said), "", "", "")
            shown_name = ""
    if missing:
        table.add_row(
            shown_name, "missing", escape(", ".join(dict.fromkeys(missing))), "", "", "[yellow]missing[/yellow]"
        )


def name_of(t: TestJudged) -> str:
    """A test as a schedule calls it, with its place."""
    return called(t.test) + (f" {t.point}" if t.point else "")


def _entered(t: TestJudged) -> str:
    if t.absent:
        return t.absent + (f": {t.reason}" if t.reason else "")
    found = []
    for r in t.readings:
        if r.shown is not None:
            value = str(r.shown) if r.shown.kind is not Kind.OVER else str(r.shown).removeprefix("over-range ")
            found.append(f"{value} {r.between}".strip())
        elif r.outcome:
            found.append(r.outcome)
    return ", ".join(dict.fromkeys(found)) or "worked out"


def _band(band: Band | None) -> str:
    return "" if band is None else span(band)


def _limit(t: TestJudged) -> str:
    """The limit that decided; ``--full`` has them all."""
    return "" if t.held_to is None else t.held_to.figure


def _verdict(t: TestJudged) -> str:
    if t.absent:
        return f"[dim]{t.absent}[/dim]"
    style = STYLES.get(t.outcome, "")
    outside = ", outside its band" if t.inside is False else ""
    return f"[{style}]{SIGNS.get(t.outcome, '?')} {t.outcome}{outside}[/{style}]" if style else t.outcome
