"""Invent rings, read them with a display that errs, and count what the weighing of hypotheses says: right, wrong, undecided.

Run: python benchmarks/ring_study.py [rings] [first seed] [processes] [uncounted]. Prints a table and asserts nothing.

A ring is 20 to 120 m with 4 to 20 sockets and 0 to 3 spurs; half have no fault, the others one. Its readings come from
the star models of tests/ring_stars.py, not from the weighing's own sums. Each reading errs by up to ± 3 % and ± 2
digits and is rounded; contacts add up to 0.01 Ω; one reading in five hundred is that of another row. Places are stated
to the metre, up to 1 m off; one ring in six has only the order of its sockets, one in three no estimate of its length.
Every socket is read, and their number is stated; with ``uncounted`` it is not, so that only a length can prove a ring.
"""

from __future__ import annotations

import math
import random
import sys
import time
from collections import Counter
from multiprocessing import Pool
from pathlib import Path

from attrs import frozen

from earthwright.base.display import Display
from earthwright.evidence.bond import Observed
from earthwright.evidence.ring import RingFit, RingTest, SocketRead, fit_ring

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
import ring_stars as ring

SOUND = "whole"
BREAKS = {
    "break in line": ("line",),
    "break in neutral": ("neutral",),
    "break in cpc": ("cpc",),
    "break in line and neutral": ("line", "neutral"),
    "break in line and cpc": ("line", "cpc"),
    "break in neutral and cpc": ("neutral", "cpc"),
}
EVERY = "break in every conductor or cross-linked rings"
JOINTS = {f"poor joint in {c}": c for c in ("line", "neutral", "cpc")}
CROSSED = "legs not crossed"
BRIDGE = "bridge"
FAULTS = (
    ["break in line", "break in neutral", "break in cpc"] * 3
    + ["break in line and neutral", "break in line and cpc", "break in neutral and cpc", EVERY, "linked"]
    + list(JOINTS)
    + [CROSSED] * 3
    + [BRIDGE] * 7
)
DISPLAY = Display()
COUNTED = "uncounted" not in sys.argv


@frozen
class Invented:
    """A ring as it is, and as it was read. ``lifted`` counts the sockets that a bridge lifts by 0.05 Ω or more."""

    truth: str
    place_m: float
    ends_m: tuple[float, float]
    lifted: int
    spurs: tuple[str, ...]
    order_only: bool
    test: RingTest


def shown(draw: random.Random, true_ohm: float, contact_ohm: float = 0.0) -> Observed:
    """What a display of ± (3 % + 2 digits) shows."""
    value = true_ohm + draw.uniform(0.0, contact_ohm)
    if draw.random() < 0.002:
        value = draw.uniform(0.0, 2.0)
    read = value * (1.0 + draw.uniform(-0.03, 0.03)) + draw.uniform(-2.0, 2.0) * DISPLAY.step
    digits = math.inf if read > DISPLAY.top else max(0.0, round(read / DISPLAY.step) * DISPLAY.step)
    return Observed("ring", digits, DISPLAY, (0.0, 0.0), True, True)


def invent(seed: int) -> Invented:
    """One ring with its readings; the same for the same seed."""
    draw = random.Random(seed)
    length, count = draw.uniform(20.0, 120.0), draw.randint(4, 20)
    places = _places(draw, length, count)
    spur_at = set(draw.sample(range(count), min(count, draw.randint(0, 3))))
    spurs = [draw.uniform(2.0, 10.0) if i in spur_at else 0.0 for i in range(count)]
    make = draw.uniform(0.93, 1.0)
    cable = ring.Cable(
        7.41 * make * draw.uniform(0.99, 1.01), 7.41 * make * draw.uniform(0.99, 1.01), 12.1 * draw.uniform(0.93, 1.0)
    )
    truth = SOUND if draw.random() < 0.5 else draw.choice(FAULTS)
    place, ends, lifted = draw.uniform(0.0, length), (0.0, 0.0), 0
    if truth == BRIDGE:
        ends, via = _bridge(draw, places, length)
        per_m = (cable.line_mohm_per_m + cable.neutral_mohm_per_m) / 1000.0
        lifts = [per_m * (x - ends[0]) * (ends[1] - x) / (ends[1] - ends[0] + via) for x in places]
        lifted = sum(lift >= 0.05 for lift in lifts)
        got = ring.bridged_ring(cable, length, places, ends[0], ends[1], via, spurs)
    elif truth in BREAKS:
        got = ring.broken_ring(cable, length, places, place, BREAKS[truth], spurs)
    elif truth == EVERY:
        got = ring.broken_ring(cable, length, places, place, ("line", "neutral", "cpc"), spurs)
    elif truth == "linked":
        got, truth = ring.swapped_legs(cable, length, places), EVERY
    elif truth in JOINTS:
        got = _poor_joint(draw, cable, length, places, place, JOINTS[truth], spurs)
    else:
        got = ring.whole_ring(cable, length, places, spurs, crossed=truth != CROSSED)
    order_only = draw.random() < 1 / 6
    sockets = tuple(
        SocketRead(
            f"S{i + 1}",
            None if order_only else max(0.0, round(places[i] + draw.uniform(-1.0, 1.0))),
            shown(draw, got.ln_ohm[i], 0.01),
            shown(draw, got.le_ohm[i], 0.01),
        )
        for i in range(count)
    )
    estimate = draw.random() < 2 / 3
    test = RingTest(
        7.41,
        7.41,
        12.1,
        shown(draw, got.r1_ohm),
        shown(draw, got.rn_ohm),
        shown(draw, got.r2_ohm),
        sockets,
        length * draw.uniform(0.93, 1.07) if estimate else None,
        0.08 * length if estimate else None,
        counted=COUNTED,
    )
    return Invented(truth, place, ends, lifted, tuple(f"S{i + 1}" for i in sorted(spur_at)), order_only, test)


def _places(draw: random.Random, length: float, count: int) -> list[float]:
    """Sockets at uneven distances, none nearer to the next than a tenth of the even one."""
    gaps = [0.1 + draw.random() for _ in range(count + 1)]
    total, run, places = sum(gaps), 0.0, []
    for gap in gaps[:-1]:
        run += gap
        places.append(length * run / total)
    return places


def _bridge(draw: random.Random, places: list[float], length: float) -> tuple[tuple[float, float], float]:
    """Two points that a stray cable joins: two sockets, or anywhere; and the metres of the cable."""
    if draw.random() < 0.7:
        first, last = sorted(draw.sample(range(len(places)), 2))
        start, end = places[first], places[last]
    else:
        start, end = sorted((draw.uniform(0.0, length), draw.uniform(0.0, length)))
    return (start, end), math.exp(draw.uniform(math.log(1.0), math.log(25.0)))


def _poor_joint(
    draw: random.Random,
    cable: ring.Cable,
    length: float,
    places: list[float],
    place: float,
    conductor: str,
    spurs: list[float],
) -> ring.RingReadings:
    """A ring with 0.2 to 50 Ω in series in one conductor: metres of that conductor added to the arm across the joint."""
    extra = math.exp(draw.uniform(math.log(0.2), math.log(50.0)))
    per_m = {"line": cable.line_mohm_per_m, "neutral": cable.neutral_mohm_per_m, "cpc": cable.cpc_mohm_per_m}
    metres = extra * 1000.0 / per_m[conductor]
    sound = [ring.whole(length, x, s) for x, s in zip(places, spurs, strict=True)]
    bad = [
        ring.Star(x, length - x + metres, s) if x <= place else ring.Star(x + metres, length - x, s)
        for x, s in zip(places, spurs, strict=True)
    ]
    return ring.readings(cable, *(bad if c == conductor else sound for c in per_m))


def outcome(case: Invented, fit: RingFit) -> str:
    """``right``, ``wrong`` or ``undecided``; a ring with a fault that is called whole is ``missed``."""
    if fit.verdict == "proved":
        return "right" if case.truth == SOUND else "missed"
    if fit.named:
        same = fit.named == case.truth or (case.truth == CROSSED and fit.named.startswith(CROSSED))
        return "right" if same else "wrong"
    return "undecided"


def inside_band(case: Invented, fit: RingFit) -> bool | None:
    """Whether the place of a named break or joint, or both ends of a bridge, lie in their bands; None when there is none."""
    if case.truth == BRIDGE:
        if len(fit.ends_m) != 2:
            return None
        return all(b.low - 1.0 <= x <= b.high + 1.0 for b, x in zip(fit.ends_m, case.ends_m, strict=True))
    return None if fit.where_m is None else fit.where_m.low <= case.place_m <= fit.where_m.high


def study(seed: int) -> tuple[str, str, bool | None, float, bool, str, bool]:
    """Truth, outcome, place inside its band, width of the band, disproved, what was named, whether a bridge can be told."""
    case = invent(seed)
    fit = fit_ring(case.test)
    result = outcome(case, fit)
    held = inside_band(case, fit) if result == "right" and case.truth not in (SOUND, CROSSED, EVERY) else None
    width = fit.where_m.high - fit.where_m.low if fit.where_m else 0.0
    told = case.truth != BRIDGE or case.lifted >= 2
    return case.truth, result, held, width, fit.verdict == "disproved", fit.named, told


def main(rings: int, first: int, processes: int) -> None:
    """Study so many rings and print the table."""
    begun, used = time.perf_counter(), time.process_time()
    seeds = range(first, first + rings)
    if processes > 1:
        with Pool(processes) as pool:
            rows = pool.map(study, seeds, chunksize=25)
    else:
        rows = [study(seed) for seed in seeds]
    spent = time.perf_counter() - begun
    print(f"{rings} rings from seed {first}; {spent:.0f} s, {spent * processes / rings * 1000:.0f} ms a ring")
    if processes == 1:
        print(f"processor time {(time.process_time() - used) / rings * 1000:.1f} ms a ring")
    table(rows)


def table(rows: list[tuple[str, str, bool | None, float, bool, str, bool]]) -> None:
    """Print counts by truth and the figures that are asked for."""
    print(f"{'truth':48}{'rings':>6}{'right':>7}{'wrong':>7}{'missed':>7}{'undecided':>10}{'of those disproved':>20}")
    for truth in sorted({r[0] for r in rows}, key=lambda t: (t != SOUND, t)):
        for told in (True, False):
            mine = [r for r in rows if r[0] == truth and r[6] is told]
            if mine:
                count = Counter(r[1] for r in mine)
                label = truth if told else f"{truth} that lifts no two sockets by 0.05 Ω"
                sure = sum(r[4] for r in mine if r[1] == "undecided")
                print(
                    f"{label:48}{len(mine):6}{count['right']:7}{count['wrong']:7}{count['missed']:7}"
                    f"{count['undecided']:10}{sure:20}"
                )
    sound = [r for r in rows if r[0] == SOUND]
    faulty = [r for r in rows if r[0] != SOUND]
    told = [r for r in faulty if r[6]]
    called = sum(r[4] or bool(r[5] and r[5] != SOUND) for r in sound)
    placed = [r for r in rows if r[2] is not None]
    breaks = [r for r in placed if r[0] != BRIDGE]
    bridges = [r for r in placed if r[0] == BRIDGE]
    print(f"faults named wrongly        {_share(sum(r[1] == 'wrong' for r in faulty), len(faulty))}")
    print(f"sound rings called faulty   {_share(called, len(sound))}")
    print(
        f"faulty rings called whole   {_share(sum(r[1] == 'missed' for r in told), len(told))} of those that can be told"
    )
    print(f"undecided                   {_share(sum(r[1] == 'undecided' for r in rows), len(rows))}")
    print(f"place of a break inside     {_share(sum(bool(r[2]) for r in breaks), len(breaks))}")
    print(f"both ends of a bridge inside {_share(sum(bool(r[2]) for r in bridges), len(bridges))}")
    if breaks:
        print(f"median width of the band    {sorted(r[3] for r in breaks)[len(breaks) // 2]:.1f} m")


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole}, {100.0 * part / whole:.2f} %" if whole else "none"


if __name__ == "__main__":
    if {"-h", "--help"} & set(sys.argv[1:]):
        sys.exit(print(__doc__))
    given = [int(x) for x in sys.argv[1:]]
    main(*(given + [5000, 1, 1][len(given) :]))
