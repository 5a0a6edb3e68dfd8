"""The readings of a row that a visit does not hold yet, as steps of a visit book."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from attrs import evolve, frozen

from ..base.digits import read_shown
from ..base.errors import Finding, Severity
from ..site.events import CIRCUIT_TESTS, OUTCOMES
from ..site.tests import BY_LEADS
from ..visitbook.readings import ON_CABLE, PROFILES
from ..visitbook.spellings import LIM, outcome_of
from ..visitbook.write import toml_digits, toml_list, toml_table, toml_text
from .cells import fault, spoilt, wrong_number
from .columns import BY_KEY, INSTRUMENT, LEADS, READING, REASON, TEST_V, Column, Reads, column_of
from .literals import literal
from .read import Cell, SheetRow
from .values import Value, shown_text, values_of

_SIGNS = ("<=", ">=", "<", ">", "≤", "≥")


@frozen
class NewStep:
    """One step: its lines, the cells its values come from, and how many readings it holds."""

    lines: tuple[str, ...]
    cells: Mapping[str, tuple[str, Column]]
    count: int


@frozen
class _Shared:
    """What stands once for all readings of a row: as it is written, and its cell."""

    written: str
    at: tuple[str, Column]


@frozen
class _New:
    """One value to be added."""

    reads: Reads
    value: Value
    cell: Cell
    column: Column

    @property
    def name(self) -> str:
        """The test as a step names it."""
        return " ".join(w for w in (self.reads.test, self.reads.method, self.reads.between) if w)

    @property
    def written(self) -> str:
        """The value as a step writes it."""
        text = self.value.absent or self.value.text
        return toml_text(text) if self.value.absent or not CIRCUIT_TESTS[self.reads.test].unit else toml_digits(text)


def new_steps(
    row: SheetRow, circuit_id: str, known: Mapping[Reads, Sequence[Value]], findings: list[Finding]
) -> tuple[NewStep, ...]:
    """The steps for what a row reads and the visit does not hold; every cell that cannot be taken becomes a finding.

    known  what the visit holds of this circuit, by column
    """
    shared = _shared(row, circuit_id, findings)
    volts = float(shared[TEST_V].written) if TEST_V in shared else 0.0
    reason = row.text(BY_KEY[REASON].header)
    new: list[_New] = []
    for header, cell in row.cells.items():
        column, _ = column_of(header)
        if column is None or column.kind != READING or column.reads is None:
            continue
        reads = column.reads
        if reads.test == "insulation" and not reads.test_v:
            reads = Reads(reads.test, reads.between, reads.method, volts)
        values = [_as_read(v, column, cell, circuit_id, findings) for v in values_of(cell.text)]
        values = [v for v in values if _fits(v, column, cell, reason, circuit_id, findings)]
        for value in _missing(values, known.get(reads, ()), column, cell, circuit_id, findings):
            new.append(_New(reads, value, cell, column))
    return tuple(_steps(circuit_id, new, reason, shared))


def _shared(row: SheetRow, circuit_id: str, findings: list[Finding]) -> dict[str, _Shared]:
    """The cells that every reading of the row has in common, as far as they say something that can be taken."""
    found = {}
    for key in (TEST_V, REASON, INSTRUMENT, LEADS):
        column = BY_KEY[key]
        cell = row.cells.get(column.header)
        written = literal(column, cell, findings, circuit_id) if cell else None
        if cell is None or written is None:
            continue
        if key == TEST_V and not float(written):
            findings.append(
                fault(
                    cell.address,
                    column.header,
                    "This number is not possible.",
                    "a number in V, above 0",
                    written,
                    entry=circuit_id,
                )
            )
            continue
        found[key] = _Shared(written, (cell.address, column))
    return found


def _as_read(value: Value, column: Column, cell: Cell, circuit_id: str, findings: list[Finding]) -> Value:
    """A value in our own words where it can mean one thing only, said aloud: a tick is good, 0,47 is 0.47, 200+ is >200."""
    if value.absent or not value.text:
        return value
    if not column.unit:  # TRUE may be a spreadsheet's doing, so it is no tick there
        return value if spoilt(value.text) else evolve(value, text=outcome_of(value.text) or value.text)
    if not wrong_number(value.text) or spoilt(value.text):
        return value
    shown, _ = read_shown(value.text, column.unit, "")
    if shown is None or shown.digits < 0:
        return value
    text = shown_text(shown)
    if text != value.text:
        where, what = f"{cell.address} ({column.header})", f"Understood as {shown}."
        findings.append(Finding(where, what, Severity.NOTE, "input.cell", circuit_id, column.unit, cell.text[:80]))
    return evolve(value, text=text)


def _fits(value: Value, column: Column, cell: Cell, reason: str, circuit_id: str, findings: list[Finding]) -> bool:
    """Whether a value may be what was read."""

    def refuse(what: str, expected: str) -> bool:
        findings.append(fault(cell.address, column.header, what, expected, cell.text, entry=circuit_id))
        return False

    if value.absent:
        if value.absent == LIM and not (value.reason or reason):
            return refuse("A limitation has its reason.", f"LIM: why, or why in the column '{BY_KEY[REASON].header}'")
        return True
    if not value.text:
        return refuse("There is a value missing here.", "values parted by |, each with its point after @ if it has one")
    if not column.unit:
        return value.text in OUTCOMES or refuse("The outcome of this test is a word.", "one of: " + ", ".join(OUTCOMES))
    digits = value.text
    for sign in _SIGNS:
        if digits.startswith(sign):
            digits = digits[len(sign) :].strip()
            break
    # A word such as over-range is left to the reader of displays; digits must be digits and nothing else.
    if any(c.isdigit() for c in digits) or digits[:1] in ("#", "-") or digits.lower() in ("true", "false"):
        wrong = wrong_number(digits)
        return not wrong or refuse(wrong, f"the digits as shown, in {column.unit}")
    return True


def _missing(
    values: Sequence[Value],
    known: Sequence[Value],
    column: Column,
    cell: Cell,
    circuit_id: str,
    findings: list[Finding],
) -> list[Value]:
    """The values that are not in the visit yet; a value that differs from what is there is refused."""
    found: list[Value] = []
    for point in dict.fromkeys(v.point for v in values):
        now = [v for v in values if v.point == point]
        before = [v for v in known if v.point == point]
        if all(v.absent for v in before) and not all(v.absent for v in now):
            before = []  # there was no reading; now there is one
        same = [_key(v) for v in before]
        if [_key(v) for v in now[: len(before)]] == same:
            found += now[len(before) :]
        elif [_key(v) for v in now] != same[: len(now)]:
            at = f" at '{point}'" if point else ""
            was = ", ".join(v.absent or v.text for v in before)
            what = f"The visit book has {was}{at}; it is not overwritten."
            do = "Correct the cell; a repeat is added after the readings that are there: " + f"{was} | …"
            findings.append(fault(cell.address, column.header, what, was, cell.text, do, circuit_id))
    return found


def _key(value: Value) -> tuple[str, str, Decimal | str]:
    """What makes two values the same reading: a spreadsheet drops the last noughts of 0.60."""
    text, sign = value.text, ""
    for mark in _SIGNS:
        if text.startswith(mark):
            text, sign = text[len(mark) :].strip(), mark[0].replace("≤", "<").replace("≥", ">")
            break
    return value.absent, sign, text if wrong_number(text) else Decimal(text)


def _steps(circuit_id: str, new: Sequence[_New], reason: str, shared: Mapping[str, _Shared]) -> list[NewStep]:
    groups: dict[tuple[str, str, float, str], list[_New]] = {}
    steps: list[NewStep] = []
    rest: list[_New] = []
    for name in dict.fromkeys(n.name for n in new):
        mine = [n for n in new if n.name == name]
        if _profile(mine):
            steps.append(_step(circuit_id, mine, "", shared, profile=True))
        else:
            rest += mine
    for n in rest:
        why = (n.value.reason or reason) if n.value.absent else ""
        kind = "cable" if n.value.point and n.reads.test in ON_CABLE else n.name if n.value.point else ""
        groups.setdefault((n.value.point, kind, n.reads.test_v, why), []).append(n)
    # Readings without a voltage of their own stand in one step with the insulation readings of the row.
    volts = next((k[2] for k in groups if k[2] and k[0] == k[1] == k[3] == ""), 0.0)
    plain = groups.pop(("", "", 0.0, ""), [])
    if plain and ("", "", volts, "") in groups and not any(n.reads.test == "insulation" for n in plain):
        groups["", "", volts, ""] = plain + groups["", "", volts, ""]
    elif plain:
        groups["", "", 0.0, ""] = plain
    steps += [_step(circuit_id, group, why, shared) for (_, _, _, why), group in groups.items()]
    return steps


def _profile(values: Sequence[_New]) -> bool:
    """Whether the values of one test are one for each of several points."""
    points = [n.value.point for n in values]
    return (
        len(points) > 1
        and len(set(points)) == len(points)
        and all(points)
        and values[0].reads.test in PROFILES
        and not any(n.value.absent for n in values)
    )


def _step(
    circuit_id: str, values: Sequence[_New], why: str, shared: Mapping[str, _Shared], *, profile: bool = False
) -> NewStep:
    lines = ["", "[[step]]", f"of = {toml_text(circuit_id)}"]
    first = values[0].reads
    cells = {n.name: (n.cell.address, n.column) for n in values}
    if profile:
        lines.append(f"read = {toml_text(first.test)}")
        lines += [f"{k} = {toml_text(v)}" for k, v in (("method", first.method), ("between", first.between)) if v]
        lines.append("at_points = " + toml_table({n.value.point: n.written for n in values}))
        cells["at_points"] = cells[values[0].name]
    elif values[0].value.point:
        lines.append(f"point = {toml_text(values[0].value.point)}")
        cells["point"] = cells[values[0].name]
    test_v = max(n.reads.test_v for n in values)
    if test_v:
        lines.append(f"test_v = {test_v:g}")
        cells["test_v"] = shared[TEST_V].at if TEST_V in shared else cells[values[-1].name]
    if why:
        lines.append(f"note = {toml_text(why)}")
    continuity = any(n.reads.test in BY_LEADS for n in values)
    for key in (INSTRUMENT, LEADS) if continuity else (INSTRUMENT,):
        if key in shared:
            lines.append(f"{key} = {shared[key].written}")
            cells[key] = shared[key].at
    if not profile:
        tests: dict[str, list[str]] = {}
        for n in values:
            tests.setdefault(n.name, []).append(n.written)
        lines.append("tests = " + toml_table({k: v[0] if len(v) == 1 else toml_list(v) for k, v in tests.items()}))
    return NewStep(tuple(lines), cells, len(values))
