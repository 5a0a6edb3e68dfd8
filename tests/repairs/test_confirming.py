"""What was found is put right only when something read after the work would have shown the fault again.

A 30 mA device clears any loop up to 1,667 Ω (50 V / 30 mA), so a loop through soil of some ohms meets that rule with no
protective conductor at all. 25 m of 4/2.5 mm² read R1+R2 0.30 Ω: 25 × (4.61 + 7.41) mΩ. A B32 clears up to 1.37 Ω: 0.95 × 230 V / 160 A.
"""

from __future__ import annotations

import datetime as dt

import pytest

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.report.confirming import readings
from earthwright.report.observations import overall, propose, threads
from earthwright.visitbook import read_text

HEAD = """
[visit]
place = "x"
date = 2026-11-20
kind = "periodic"
[supply]
system = "{system}"
ze_ohm = 0.35
[[leads]]
id = "long"
allowed = "nulled"
null_ohm = 0.2
[[board]]
id = "db1"
[[circuit]]
id = "c1"
board = "db1"
use = "sockets"
device = "BS EN 61009 B32"
rcd_ma = 30
rcd_type = "A"
line_mm2 = 4
cpc_mm2 = 2.5
{length}
"""
OBSERVED = """
[[observation]]
id = "1"
about = "c1"
what = "The socket in the shed has no good earth."
where = "shed"
code = "C2"
{answers}
"""
SHORT = 'check = "shorted"\nshown = 0.00\n'
WORK = 'repair = "c1:{end}"\nremade = "connection at the socket"\nat = 2026-12-01T09:00:00\n'
DONE = "[[observation.then]]\nstage = 'remedied'\non = 2026-12-01\n"
CONFIRMED = "[[observation.then]]\nstage = 'confirmed'\non = 2026-12-02\nreading = '{reading}'\n{seen}"


def read(test: str, shown: str, more: str = "") -> str:
    return f'read = "{test}"\nof = "c1"\nshown = "{shown}"\n{more}\n'


LENGTH = "length_m = 25\nlength_tol_m = 1\npoints = { hall = 12, shed = 25 }"
SHED, HALL = "point = 'shed'", "point = 'hall'"
TRIPS = read("rcd", "19", 'method = "x1"')
HIGH, LOW, STILL = read("zs", "12.0", SHED), read("zs", "0.60", SHED), read("zs", "1.60", SHED)
WORSE, RIGHT = (
    read("insulation", "0.20", "between = 'L-E'\ntest_v = 500"),
    read("insulation", "200", "between = 'L-E'\ntest_v = 500"),
)
OTHER = read("insulation", "200", "between = 'L-N'\ntest_v = 500")
CPC = SHORT + "[[step]]\n" + read("r1r2", "0.30", SHED) + "[[step]]\n" + SHORT


def visit(
    before: str,
    end: str,
    *after: str,
    reading: str = "",
    seen: str = "",
    answers: str = "",
    system: str = "TN-C-S",
    length: str = LENGTH,
) -> Assessment:
    steps = [TRIPS, before, *([WORK.format(end=end)] if end else []), *after]
    text = HEAD.format(system=system, length=length) + "".join(f"[[step]]\n{s}" for s in steps)
    text += OBSERVED.format(answers=f"answers = '{answers}'" if answers else "") + DONE
    if reading or seen:
        text += CONFIRMED.format(reading=reading, seen=f"seen = '{seen}'\n" if seen else "").replace(
            "reading = ''\n", ""
        )
    book = read_text(text)
    assert book.visit is not None
    assert [f.sentence() for f in book.findings if f.severity.value == "error"] == []
    return assess(book.visit)


def day(text: str, on: str) -> str:
    return text + f"at = {on}T09:30:00\n"


@pytest.mark.parametrize(
    ("before", "end", "after", "reading", "more", "why"),
    [
        # the loop that only the device makes good: nothing about the conductor
        (HIGH, "cpc", (STILL,), "r3", {}, "read R1+R2 or R2"),
        (HIGH, "cpc", (read("zs", "3.55", SHED),), "r3", {"length": ""}, "read R1+R2 or R2"),
        (HIGH, "cpc", (STILL, CPC), "r3", {}, "says nothing of what was found"),
        (HIGH, "cpc", (STILL, CPC), "r4", {}, ""),
        (HIGH, "cpc", (LOW,), "r3", {}, ""),
        (HIGH, "cpc", (read("zs", "0.60", HALL),), "r3", {}, "failed at shed and was not read there again"),
        (HIGH, "cpc", (CPC,), "r3", {}, ""),
        # what was read before the work, or says no day after it, speaks of what was there before
        (HIGH, "", (LOW,), "r3", {}, "before the work of 1 December 2026"),
        (HIGH, "", (day(LOW, "2026-12-02"),), "r3", {}, "fails"),  # nothing noted as put right: the worst stands
        (HIGH, "cpc", (day(LOW, "2026-12-03"),), "r3", {}, "after 2 December 2026"),
        # another test, or between other conductors
        (WORSE, "line", (RIGHT,), "r3", {}, ""),
        (WORSE, "line", (OTHER,), "r3", {}, "insulation: not decided"),
        (WORSE, "line", (read("insulation", "200", "between = 'LN-E'\ntest_v = 500"),), "r3", {}, ""),
        (read("rcd", "400", 'method = "x1"'), "device", (read("rcd", "15", 'method = "x5"'),), "r3", {}, "RCD: not decided"),
        (read("rcd", "400", 'method = "x1"'), "device", (TRIPS,), "r3", {}, ""),
        (read("insulation", "0.20", "between = 'LN-E'\ntest_v = 500"), "line", (RIGHT,), "r3", {}, "in the same way (LN-E)"),
        (WORSE, "line", (CPC,), "r3", {}, "insulation was not read again"),
        # no reading shows what only a look shows, and none can be held against a fault that nothing read showed
        (LOW, "cpc", (LOW,), "r3", {"answers": "look"}, "say what was seen"),
        (LOW, "cpc", (LOW,), "r3", {"answers": "look", "seen": "new faceplate"}, ""),
        (LOW, "cpc", (LOW,), "r3", {}, "cannot be told from the readings"),
        (LOW, "cpc", (LOW,), "r3", {"seen": "new faceplate, screws tight"}, ""),
        (HIGH, "cpc", (), "", {"seen": "certificate 12 of P. Fitter"}, ""),
        # a TT system: the residual current device is what disconnects
        (read("zs", "1900", SHED), "cpc", (read("zs", "90", SHED),), "r3", {"system": "TT"}, ""),
    ],
)  # fmt: skip
def test_a_reading_confirms_what_would_have_shown_the_fault(
    before: str, end: str, after: tuple[str, ...], reading: str, more: dict[str, str], why: str
) -> None:
    a = visit(before, end, *after, reading=reading, **more)
    (t,) = threads(a, dt.date(2026, 12, 31))
    assert (why in "".join(t.faults)) if why else (t.faults == () and not t.counts), t.faults


@pytest.mark.parametrize(
    ("before", "after", "good"),
    [(HIGH, (STILL,), False), (HIGH, (), False), (HIGH, (LOW,), True), (HIGH, (CPC,), True), (WORSE, (OTHER,), False)],
)
def test_a_noted_repair_closes_nothing_by_itself(before: str, after: tuple[str, ...], good: bool) -> None:
    a = visit(before, "cpc" if before is HIGH else "line", *after)
    (p,) = [p for p in propose(a) if p.name.startswith("circuit.put-right")]
    assert p.put_right is good
    assert (p.name == "circuit.put-right") is good
    (t,) = threads(a)
    assert t.counts is not good
    assert overall(a).proposed != "satisfactory"
    if not good:
        assert overall(a).proposed == "unsatisfactory"
        assert "nothing read since shows" in p.what


def test_a_reading_has_the_day_of_the_step_before_it_and_it_is_printed() -> None:
    a = visit(HIGH, "cpc", day(LOW, "2026-12-02"), CPC)
    said = readings(a, "c1")
    assert said["r1"] == "RCD 19 ms", "of the day of the visit"
    assert said["r3"].endswith("shed, 2 December 2026")
    assert said["r4"].endswith("shed, 2 December 2026")
