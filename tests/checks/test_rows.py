"""Rows of circuits: worked out, swapped, moved points, units, runs, last digits, last year's values."""

from __future__ import annotations

import datetime as dt

import pytest
from attrs import evolve

from earthwright.site.events import ORIGIN, Reading
from earthwright.site.installation import Device
from earthwright.site.visit import Visit

from .made import circuit, digits, found, read, severities, visit

ZE = read("ze", ORIGIN, "0.20", method="two-lead", leads="")


def table(r1r2: list[str], zs: list[str], method: str = "") -> Visit:
    """Circuits without lengths, so that nothing but the rows themselves speaks."""
    names = [f"c{i}" for i in range(1, len(r1r2) + 1)]
    rows: list[Reading] = [ZE]
    for name, a, b in zip(names, r1r2, zs, strict=True):
        rows += [read("r1r2", name, a), read("zs", name, b, method=method, leads="")]
    return visit(*rows, circuits=tuple(circuit(n) for n in names))


def sums(values: list[str]) -> list[str]:
    return [f"{float(v) + 0.20:.2f}" for v in values]


RAGGED = ["0.31", "0.47", "0.58", "0.22", "0.73", "0.66", "0.39", "0.52", "0.84", "0.28"]


@pytest.mark.parametrize(
    # (1/3)^n: 1 in 27, 1 in 81 … 1 in 729, 1 in 2 187. A note up to 1 in 50, a warning up to 1 in 1 000.
    ("rows", "loud"),
    [(3, None), (4, "note"), (6, "note"), (7, "warning"), (10, "warning")],
)
def test_rows_worked_out_from_the_loop(rows: int, loud: str | None) -> None:
    v = table(RAGGED[:rows], sums(RAGGED[:rows]))
    assert severities(v, "rows.calculated") == ([loud] if loud else [])


def test_rows_that_are_ragged_are_left_alone() -> None:
    off_by = [
        f"{float(z) + d:.2f}"
        for z, d in zip(sums(RAGGED), (0.01, -0.02, 0, 0.02, -0.01, 0.03, 0, -0.03, 0.01, 0.02), strict=True)
    ]
    assert severities(table(RAGGED, off_by), "rows.calculated") == []


def test_a_row_that_says_it_was_calculated_is_no_question() -> None:
    assert severities(table(RAGGED, sums(RAGGED), "calculated"), "rows.calculated") == []


def rings(ends: list[tuple[str, str]]) -> Visit:
    rows = []
    for i, (r1, r2) in enumerate(ends):
        rows += [read("ring r1", f"c{i}", r1), read("ring r2", f"c{i}", r2)]
    return visit(*rows, circuits=tuple(circuit(f"c{i}", kind="ring") for i in range(len(ends))))


def test_exact_ratios_of_sizes() -> None:
    r1 = ["0.32", "0.41", "0.55", "0.62", "0.47", "0.70", "0.38"]
    exact = rings([(r, f"{float(r) * 2.5 / 1.5:.2f}") for r in r1])
    assert severities(exact, "rows.ratio") == ["warning"]
    honest = rings(list(zip(r1, ["0.52", "0.66", "0.93", "1.00", "0.79", "1.12", "0.64"], strict=True)))
    assert severities(honest, "rows.ratio") == []


def long(name: str, length: float, **more: object):  # type: ignore[no-untyped-def]
    return circuit(name, length_m=length, length_tol_m=1.0, **more)


def test_two_rows_that_fit_when_exchanged() -> None:
    # R1+R2 of 2.5/1.5 is 19.51 mΩ/m: 10 m is 0.18 to 0.21, 40 m is 0.73 to 0.80, before limits of error.
    both = (long("c1", 10.0), long("c2", 40.0), long("c3", 25.0))
    v = visit(read("r1r2", "c1", "0.78"), read("r1r2", "c2", "0.20"), read("r1r2", "c3", "0.48"), circuits=both)
    (f,) = found(v, "rows.swapped")
    assert f.severity.value == "warning"
    assert f.where.startswith("c1 and c2")
    right = visit(read("r1r2", "c1", "0.20"), read("r1r2", "c2", "0.78"), read("r1r2", "c3", "0.48"), circuits=both)
    assert found(right, "rows.swapped") == []


def test_swapped_loops_show_without_lengths() -> None:
    v = table(["0.20", "0.80", "0.40"], ["1.01", "0.41", "0.60"])
    assert any(f.where.startswith("c1 and c2") for f in found(v, "rows.swapped"))
    assert found(table(["0.20", "0.80", "0.40"], ["0.41", "1.01", "0.60"]), "rows.swapped") == []


def test_two_wrong_rows_that_do_not_fit_each_other_are_not_swapped() -> None:
    both = (long("c1", 10.0), long("c2", 40.0))
    v = visit(read("r1r2", "c1", "5.00"), read("r1r2", "c2", "9.00"), circuits=both)
    assert found(v, "rows.swapped") == []


@pytest.mark.parametrize(
    ("shown", "said"),
    # 40 m of 2.5/1.5: 0.73 to 0.80 Ω, with connections and limits of error 0.67 to 0.91 at the most.
    [("0.78", None), ("7.80", "a tenth of"), ("0.08", "10 times"), ("780", "a thousandth of"), ("2.50", None)],
)
def test_a_point_in_the_wrong_place(shown: str, said: str | None) -> None:
    v = visit(read("r1r2", "c1", shown), circuits=(long("c1", 40.0),))
    got = found(v, "rows.factor")
    assert [said in f.what for f in got] == ([True] if said else [])


@pytest.mark.parametrize(
    ("test", "of", "shown", "said"),
    [
        ("rcd", "c1", "0.02", True), ("rcd", "c1", "1.9", True), ("rcd", "c1", "2.0", False), ("rcd", "c1", "19.5", False),
        ("fault current", ORIGIN, "100", False), ("fault current", ORIGIN, "101", True), ("fault current", ORIGIN, "1.15", False),
    ],
)  # fmt: skip
def test_units(test: str, of: str, shown: str, said: bool) -> None:
    between = "L-E" if test == "fault current" else ""
    v = visit(read(test, of, shown, leads="", between=between), circuits=(circuit("c1"),))
    assert severities(v, "units.slip") == (["warning"] if said else [])


def test_a_value_above_a_stated_range() -> None:
    from earthwright.site.reading import Accuracy, Instrument

    tester = Instrument("tester", accuracy=(("insulation", Accuracy(3.0, 2.0, 0.01, 299.0)),))
    row = read("insulation", "c1", "1200", leads="", between="LN-E", test_v=500.0)
    assert severities(visit(row, circuits=(circuit("c1"),), instruments=(tester,)), "units.slip") == ["warning"]
    assert severities(visit(row, circuits=(circuit("c1"),)), "units.slip") == []  # an assumed range ends nowhere


@pytest.mark.parametrize(("value", "said"), [("0.21", True), ("21", False), ("0.02", False)])
def test_a_thousandth_of_the_neighbours(value: str, said: bool) -> None:
    rows = [
        read("insulation", f"c{i}", x, leads="", between="LN-E", test_v=500.0)
        for i, x in enumerate((value, "210", "190", "150", "250"))
    ]
    v = visit(*rows, circuits=tuple(circuit(f"c{i}") for i in range(5)))
    assert severities(v, "units.insulation") == (["note"] if said else [])


@pytest.mark.parametrize(
    # n rows alike without lengths: (1/3)^(n − 1), one column looked at in each of two.
    ("rows", "loud"),
    [(4, None), (6, "note"), (8, "warning")],
)
def test_runs_of_equal_loops(rows: int, loud: str | None) -> None:
    v = visit(
        *(read("zs", f"c{i}", "0.62", leads="", method="two-lead") for i in range(rows)),
        circuits=tuple(circuit(f"c{i}") for i in range(rows)),
    )
    assert severities(v, "rows.run") == ([loud] if loud else [])


def test_a_device_shared_by_circuits_is_no_run() -> None:
    plain = Device("BS EN 60898", "B", 20.0, 6.0)
    v = visit(
        *(read("rcd", f"c{i}", "18.0", leads="", method="x1") for i in range(6)),
        circuits=tuple(circuit(f"c{i}", device=plain) for i in range(6)),
    )
    assert severities(v, "rows.run") == []
    own = visit(
        *(read("rcd", f"c{i}", "18.0", leads="", method="x1") for i in range(6)),
        circuits=tuple(circuit(f"c{i}") for i in range(6)),
    )
    assert severities(own, "rows.run") == ["warning"]  # 10^-5 on five pairs


def last_digits(ends: str) -> Visit:
    rows = [read("r1r2", f"c{i}", f"{0.3 + 0.1 * (i % 6):.1f}{e}") for i, e in enumerate(ends)]
    return visit(*rows, circuits=tuple(circuit(f"c{i}") for i in range(len(ends))))


def test_a_last_digit_that_is_liked() -> None:
    # 15 in 100 are granted: 12 fives of 30 come about one time in 1 269, times ten
    # digits 1 in 127; 20 of 30 less than 1 in a million (binomial distribution).
    assert severities(last_digits("5" * 20 + "0123467891"), "digits.liked") == ["warning"]
    assert severities(last_digits("5" * 12 + "012346789012346789"), "digits.liked") == ["note"]
    assert severities(last_digits("0123456789" * 3), "digits.liked") == []
    assert severities(last_digits("5" * 29), "digits.liked") == []  # too few to say


def test_small_values_have_no_free_digit() -> None:
    rows = [read("r1r2", f"c{i}", "0.10") for i in range(40)]
    assert severities(visit(*rows, circuits=tuple(circuit(f"c{i}") for i in range(40))), "digits.liked") == []


@pytest.mark.parametrize(
    # (1/2)^n: 1 in 32, 1 in 64, 1 in 512, 1 in 1 024
    ("same", "loud"),
    [(5, None), (6, "note"), (9, "note"), (10, "warning")],
)
def test_values_of_the_last_visit(same: int, loud: str | None) -> None:
    now = visit(
        *(read("r1r2", f"c{i}", RAGGED[i]) for i in range(same)), circuits=tuple(circuit(f"c{i}") for i in range(same))
    )
    before = evolve(now, date=dt.date(2021, 11, 20))
    assert severities(now, "rows.carried_over", previous=before) == ([loud] if loud else [])
    assert severities(now, "rows.carried_over") == []


def test_values_that_moved_since_the_last_visit() -> None:
    now = visit(
        *(read("r1r2", f"c{i}", RAGGED[i]) for i in range(10)), circuits=tuple(circuit(f"c{i}") for i in range(10))
    )
    moved = [
        evolve(e, shown=digits(f"{float(RAGGED[i]) + (0.01 if i % 2 else 0.0):.2f}"))
        for i, e in enumerate(now.events)
        if isinstance(e, Reading)
    ]
    before = evolve(now, date=dt.date(2021, 11, 20), events=tuple(moved))
    assert severities(now, "rows.carried_over", previous=before) == []


@pytest.mark.parametrize(
    ("test", "shown", "family"),
    # 40 ± 1 m: the line alone is at least 39 × 7.41 × 0.93 = 0.27 Ω; (v + 0.025)/0.97 reaches it from v = 0.24 on.
    [
        ("r1r2", "0.24", None), ("r1r2", "0.23", "copper.floor"), ("r1r2", "0.00", "copper.zero"), ("r2", "0.00", None),
        ("ring r1", "0.10", None), ("ring r1", "0.00", "copper.zero"),
    ],
)  # fmt: skip
def test_floors_of_circuits(test: str, shown: str, family: str | None) -> None:
    c = (circuit("c1", length_m=40.0, length_tol_m=1.0, kind="ring" if test == "ring r1" else "radial"),)
    v = visit(read(test, "c1", shown), circuits=c)
    assert {n for n in ("copper.floor", "copper.zero") if found(v, n)} == ({family} if family else set())
    estimated = visit(read(test, "c1", shown), circuits=(circuit("c1", length_m=40.0),))
    assert not found(estimated, "copper.zero")
