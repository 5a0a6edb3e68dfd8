#!/usr/bin/env python3
"""Invented radial circuits: how often the verdict on the protective conductor is right, wrong or left open.

    cpc_study.py [CIRCUITS]     4000 unless given

Each circuit has a truth (whole, impaired, open), a length that is entered within its tolerance, and what else joins its point to
earth: nothing, metal that nobody entered, or a frame that touches a bonded pipe and is entered. It is read with R1+R2, R2 or both,
sometimes with the cpc off at the board as well, by a display that errs inside its limits, and now and then by a person who errs.
"""

from __future__ import annotations

import math
import random
import sys
from collections import Counter

from earthwright.assess import assess
from earthwright.visitbook import read_text

R = {1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83}
CABLES = ((1.0, 1.0), (1.5, 1.0), (2.5, 1.5), (4.0, 1.5), (6.0, 2.5), (10.0, 4.0))
USES = {
    "sockets": 0.06,
    "lighting": 0.06,
    "cooker": 0.2,
    "fixed": 0.25,
    "heating": 0.5,
    "shower": 0.45,
}  # chance of metal
WHOLE, IMPAIRED, OPEN = "whole", "impaired", "open"
OVER = '"over-range"'


def parallel(a: float, b: float) -> float:
    """Two branches side by side, open ones allowed."""
    if math.isinf(a) or math.isinf(b):
        return min(a, b)
    return a * b / (a + b) if a + b else 0.0


def shown(true: float, draw: random.Random) -> str:
    """What a display of 0.01 Ω, ±(3 % + 2 digits), range 99.99 Ω shows; a lead is off now and then."""
    if draw.random() < 0.005 or math.isinf(true):
        return OVER
    value = true * (1.0 + draw.uniform(-0.03, 0.03)) + draw.uniform(-0.02, 0.02)
    return OVER if value > 99.995 else f"{max(0.0, round(value, 2)):.2f}"


def one(number: int) -> tuple[str, str, str, str, str]:
    """One circuit: truth, what joins its point, how it was read, verdict, name."""
    draw = random.Random(number)
    line_mm2, cpc_mm2 = draw.choice(CABLES)
    use = draw.choice(list(USES))
    true_m = draw.uniform(4.0, 45.0)
    share = draw.choice((0.03, 0.05, 0.1, 0.15))
    entered = true_m / (1.0 + draw.uniform(-share, share))
    truth = draw.choices((WHOLE, IMPAIRED, OPEN), (0.6, 0.2, 0.2))[0]
    make = draw.uniform(0.93, 1.0)
    cpc = true_m * R[cpc_mm2] / 1e3 * make + draw.uniform(0.0, 0.02)
    if truth == IMPAIRED:
        cpc += 0.15 * (100.0 / 0.15) ** draw.random()
    if truth == OPEN:
        cpc = math.inf
    line = true_m * R[line_mm2] / 1e3 * draw.uniform(0.93, 1.0) + draw.uniform(0.0, 0.02)
    bond = draw.uniform(8.0, 20.0)
    metal = "none"
    path = math.inf
    if draw.random() < 0.2:
        metal, path = "entered", bond * 1.83e-3 * draw.uniform(0.93, 1.0) + draw.uniform(0.0, 0.02)
    elif draw.random() < USES[use]:
        metal, path = "not entered", 0.01 * (300.0 / 0.01) ** draw.random()
    how = draw.choice(("R1+R2", "R2", "both", "lifted"))
    both = parallel(cpc, path)
    steps = []
    if how in ("R1+R2", "both", "lifted"):
        steps.append(f'read = "r1r2"\nof = "c1"\npoint = "end"\nleads = "l"\nshown = {shown(line + both, draw)}')
    if how in ("R2", "both"):
        steps.append(f'read = "r2"\nof = "c1"\npoint = "end"\nleads = "l"\nshown = {shown(both, draw)}')
    if how == "lifted":
        steps.append('off = "c1:cpc"')
        free = f'read = "r2"\nof = "c1"\npoint = "end"\nleads = "l"\nbetween = "free end"\nshown = {shown(cpc, draw)}'
        steps += [free, 'on = "c1:cpc"']
    checked = 'check = "shorted"\nleads = "l"\nshown = 0.00'
    steps = [checked, *steps, checked]
    text = f"""
[visit]
place = "invented"
date = 2026-11-20
kind = "periodic"
[supply]
system = "TN-C-S"
[[leads]]
id = "l"
allowed = "nulled"
null_ohm = 0.2
[[part]]
id = "gas"
kind = "gas"
[[bond]]
part = "gas"
csa_mm2 = 10
length_m = {bond:.1f}
[[board]]
id = "db1"
[[circuit]]
id = "c1"
use = "{use}"
line_mm2 = {line_mm2}
cpc_mm2 = {cpc_mm2}
length_m = {entered:.1f}
length_tol_pct = {share * 100:.0f}
points = {{ end = {entered:.1f} }}
"""
    if metal == "entered":
        text += '[[link]]\nid = "frame"\nbetween = ["gas", "c1@end"]\nlow_ohm = 0.0\nhigh_ohm = 0.01\n'
    book = read_text(text + "".join(f"[[step]]\n{s}\n" for s in steps))
    assert book.visit is not None, book.findings
    cpc_judged = assess(book.visit, whole_site=False).boards[0].circuits[0].cpc
    assert cpc_judged is not None
    return truth, metal, how, cpc_judged.verdict, cpc_judged.named


def main() -> None:
    """Print the counts."""
    if set(sys.argv[1:]) & {"-h", "--help"}:
        print(__doc__)
        return
    count = int(sys.argv[1]) if sys.argv[1:] else 4000
    found = [one(number) for number in range(count)]
    verdicts = ("proved", "disproved", "not shown")
    print(f"{count} invented circuits\n{'truth':10}{'other metal':14}" + "".join(f"{v:>11}" for v in verdicts))
    for truth in (WHOLE, IMPAIRED, OPEN):
        for metal in ("none", "not entered", "entered"):
            some = Counter(f[3] for f in found if f[:2] == (truth, metal))
            total = sum(some.values()) or 1
            print(f"{truth:10}{metal:14}" + "".join(f"{some[v]:5} {some[v] / total:5.1%}" for v in verdicts))
    print(f"\n{'read with':14}" + "".join(f"{v:>11}" for v in verdicts))
    for how in ("R1+R2", "R2", "both", "lifted"):
        some = Counter(f[3] for f in found if f[2] == how)
        print(f"{how:14}" + "".join(f"{some[v]:11}" for v in verdicts))
    proved = [f for f in found if f[3] == "proved"]
    wrong = Counter(f[:2] for f in proved if f[0] != WHOLE)
    sound = [f for f in found if f[0] == WHOLE]
    accused = sum(f[3] == "disproved" for f in sound)
    print(f"\nproved: {len(proved)}, of them not whole: {sum(wrong.values())} {dict(wrong)}")
    print(f"whole: {len(sound)}, of them disproved: {accused} ({accused / max(1, len(sound)):.2%})")


if __name__ == "__main__":
    main()
