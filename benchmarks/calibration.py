"""Of the bonds given 99 % whole, how many are? Invented visits drawn from the stated priors, weighed as one network.

Run: python benchmarks/calibration.py [VISITS] [--svg FILE]. Each visit is drawn from the very model that then weighs
it: one to four bonds, whole, impaired or open with even chance; stray links; sometimes a known link; readings taken in
their states by inspectors who do more or less, with the stated share of human error and instruments at their limits of
error. Then the digits alone are weighed, and the weight given to *whole* is held against what was drawn. Prints a
table by weight, the verdicts, the misfits and the false ones among them, and can draw the table.
"""

from __future__ import annotations

import argparse
import math
import random
import time
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from attrs import frozen

from earthwright.base.display import Display
from earthwright.evidence.bond import DISPROVED, PROVED, WHOLE, Copper, Model, Observed
from earthwright.evidence.network import SiteBond, SiteData, SiteLink, SiteModel, SiteReading, weigh
from earthwright.physics.network import Edge, Network, two_point
from earthwright.site.events import CONDUCTOR, PATH, TOGETHER
from earthwright.site.installation import MET

EDGES = (0.0, 0.01, 0.05, 0.2, 0.5, 0.8, 0.95, 0.99, 0.999, 1.0)
NAMES = ("water", "gas", "oil", "steel")
MODEL, DISPLAY = Model(), Display()


@frozen
class Invented:
    """One invented visit: what is told, what is true of each bond, and which readings were taken as they say."""

    data: SiteData
    whole: dict[str, bool]
    honest: dict[str, bool]


def log_uniform(draw: random.Random, low: float, high: float) -> float:
    """One value, even in its logarithm."""
    return math.exp(draw.uniform(math.log(low), math.log(high)))


def invent(draw: random.Random, sound: bool = False) -> Invented:
    """One visit from the priors of the model; a sound one has every bond whole and every reading taken as it says."""
    names = NAMES[: draw.choice((1, 2, 2, 2, 3, 3, 4))]
    bonds, edges, whole = [], [], {}
    for name in names:
        length, tol = draw.uniform(4, 45), draw.choice((0.5, 1.0, 2.0))
        bonds.append(SiteBond(name, name, Copper(1.83, length, tol)))
        state = 0 if sound else draw.randrange(3)
        whole[name] = state == 0
        c = draw.uniform(length - tol, length + tol) * 1.83e-3 * draw.uniform(*MODEL.make)
        c += draw.uniform(0, MODEL.joint_ohm)
        if state == 1:
            c += log_uniform(draw, *MODEL.extra_ohm)
        edges.append(Edge(name, MET, name, math.inf if state == 2 else c))
    present = 1.0 - MODEL.path_absent
    between = min(present, SiteModel().between / max(1, len(names) - 1))
    pairs = [(a, MET, present) for a in names]
    pairs += [(a, b, between) for i, a in enumerate(names) for b in names[i + 1 :]]
    for k, (a, b, chance) in enumerate(pairs):
        if draw.random() < chance:
            edges.append(Edge(f"stray {k}", a, b, log_uniform(draw, *MODEL.path_ohm)))
    links = []
    if len(names) > 1 and draw.random() < 0.3:
        low = log_uniform(draw, 0.005, 1.0)
        links.append(SiteLink("known", names[0], names[1], low, 4.0 * low))
        edges.append(Edge("known", names[0], names[1], log_uniform(draw, low, 4.0 * low)))
    readings, honest = [], {}
    for number, (name, test, off) in enumerate(plan(draw, names)):
        shown, as_stated = display(draw, Network(edges, (MET, *names)), name, test, off, sound)
        readings.append(SiteReading(f"r{number}", name, Observed(test, shown, shorted_after=True), frozenset(off)))
        honest[f"r{number}"] = as_stated
    return Invented(SiteData(tuple(bonds), tuple(readings), tuple(links)), whole, honest)


def plan(draw: random.Random, names: Sequence[str]) -> list[tuple[str, str, tuple[str, ...]]]:
    """What an inspector reads: at each bond nothing, together only, or with one end off; now and then another off too."""
    found: list[tuple[str, str, tuple[str, ...]]] = []
    for name in names:
        style = draw.random()
        if style < 0.85:
            found.append((name, TOGETHER, ()))
        if style < 0.55:
            found.append((name, CONDUCTOR, ()))
        if style < 0.40:
            found.append((name, PATH, ()))
        if style < 0.12 and len(names) > 1:
            found.append((name, PATH, (draw.choice([n for n in names if n != name]),)))
    return found


def display(
    draw: random.Random, network: Network, name: str, test: str, off: Sequence[str], sound: bool
) -> tuple[float, bool]:
    """The digits of one reading, human error and limits of error drawn, and whether it was taken as it says."""
    if draw.random() < MODEL.gross and not sound:
        return draw.randrange(MODEL.gross_digits) * DISPLAY.step, False
    error = 1.0 if sound else draw.random()
    if error < MODEL.lead_off:
        return math.inf, False
    if error < MODEL.lead_off + MODEL.touch:
        return 0.0, False
    slip = test != TOGETHER and not sound and draw.random() < MODEL.slip
    if test == CONDUCTOR and not slip:
        true = network.edge(name).r_ohm
    else:
        out = {*off, name} if test == PATH and not slip else set(off)
        true = two_point(network, name, MET, out).r_ohm
    if math.isinf(true):
        return math.inf, not slip
    shown = true * (1.0 + draw.uniform(-1, 1) * DISPLAY.pct / 100.0)
    shown += draw.uniform(-1, 1) * DISPLAY.digits * DISPLAY.step
    digits = max(0, math.floor(shown / DISPLAY.step + 0.5)) * DISPLAY.step
    return (math.inf if digits > DISPLAY.top + 1e-9 else round(digits, 2)), not slip


@frozen
class Row:
    """Bonds whose weight for *whole* fell in one bin: how many, mean weight given, share that is whole."""

    low: float
    high: float
    count: int
    given: float
    true: float

    @property
    def error(self) -> float:
        """Standard error of the share, if the weights given are right."""
        return math.sqrt(max(self.given * (1.0 - self.given), 1e-9) / self.count)


def table(pairs: Sequence[tuple[float, bool]]) -> list[Row]:
    """Bins of the weight given."""
    rows = []
    for low, high in pairwise(EDGES):
        mine = [(w, t) for w, t in pairs if low <= w < high or (high == 1.0 and w == 1.0)]
        if mine:
            given, true = sum(w for w, _ in mine) / len(mine), sum(t for _, t in mine) / len(mine)
            rows.append(Row(low, high, len(mine), given, true))
    return rows


def figure(rows: Sequence[Row], visits: int, bonds: int) -> str:
    """The table as a picture: weight given across, share that is whole upwards, both as log odds."""

    def at(p: float) -> float:
        p = min(0.9995, max(0.0005, p))
        return math.log10(p / (1.0 - p)) / 3.3  # −1 … 1

    size, edge = 420, 56

    def x(p: float) -> float:
        return edge + (size - 2 * edge) * (at(p) + 1) / 2

    def y(p: float) -> float:
        return size - x(p)

    said = "; ".join(f"given {100 * r.given:.3g} %, {100 * r.true:.3g} % of {r.count} are whole" for r in rows)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" role="img" font-family="sans-serif" font-size="12">',
        "<title>Weight given to whole, and how many are</title>",
        f"<desc>{visits} invented visits, {bonds} bonds: {said}.</desc>",
        f'<rect width="{size}" height="{size}" fill="#fff"/>',
    ]
    for p in (0.001, 0.01, 0.1, 0.5, 0.9, 0.99, 0.999):
        name = f"{100 * p:g} %"
        out.append(f'<path d="M{x(p):.1f} {edge}V{size - edge}M{edge} {y(p):.1f}H{size - edge}" stroke="#ddd"/>')
        out.append(f'<text x="{x(p):.1f}" y="{size - edge + 16}" text-anchor="middle">{name}</text>')
        out.append(f'<text x="{edge - 6}" y="{y(p) + 4:.1f}" text-anchor="end">{name}</text>')
    out.append(f'<path d="M{edge} {size - edge}L{size - edge} {edge}" stroke="#888" stroke-dasharray="4 3"/>')
    for r in rows:
        low, high = max(0.0, r.true - 2 * r.error), min(1.0, r.true + 2 * r.error)
        out.append(f'<path d="M{x(r.given):.1f} {y(low):.1f}V{y(high):.1f}" stroke="#036" stroke-width="2"/>')
        out.append(f'<circle cx="{x(r.given):.1f}" cy="{y(r.true):.1f}" r="4" fill="#036"/>')
    middle = size / 2
    out.append(f'<text x="{middle}" y="{size - 14}" text-anchor="middle">weight given to whole</text>')
    out.append(
        f'<text x="16" y="{middle}" text-anchor="middle" transform="rotate(-90 16 {middle})">share that is whole</text>'
    )
    out.append(
        f'<text x="{middle}" y="26" text-anchor="middle">{bonds} bonds of {visits} invented visits; bars: two standard errors</text>'
    )
    return "\n".join([*out, "</svg>", ""])


def main() -> None:
    """Invent, weigh, count, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("visits", nargs="?", type=int, default=100)
    parser.add_argument("--svg", type=Path)
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument(
        "--sound", action="store_true", help="only sound visits: every misfit and disproof is a false alarm"
    )
    asked = parser.parse_args()
    draw, start = random.Random(asked.seed), time.process_time()
    pairs: list[tuple[float, bool]] = []
    alone: list[tuple[float, bool]] = []
    verdicts = {PROVED: [0, 0], DISPROVED: [0, 0]}
    found = false = errors = taken = 0
    for _ in range(asked.visits):
        visit = invent(draw, asked.sound)
        e = weigh(visit.data)
        for b in e.bonds:
            true = visit.whole[b.bond]
            pairs.append((b.evidence.posterior[WHOLE], true))
            alone.append((b.alone.posterior[WHOLE], true))
            if b.evidence.verdict in verdicts:
                verdicts[b.evidence.verdict][0] += 1
                verdicts[b.evidence.verdict][1] += true == (b.evidence.verdict == PROVED)
        taken += len(visit.honest)
        errors += sum(not h for h in visit.honest.values())
        found += sum(not visit.honest[m.reading] for m in e.misfits)
        false += sum(visit.honest[m.reading] for m in e.misfits)
    rows = table(pairs)
    print(f"{asked.visits} invented visits, {len(pairs)} bonds, {time.process_time() - start:.0f} s of processor")
    print("weight given to whole      bonds   mean given   are whole   (± one standard error)")
    for r in rows:
        print(
            f"  {100 * r.low:5.1f} to {100 * r.high:5.1f} %   {r.count:8d}   {100 * r.given:8.2f} %  {100 * r.true:8.2f} %   ± {100 * r.error:.2f} %"
        )
    sure = [t for w, t in pairs if w >= 0.99]
    mean = sum(w for w, _ in pairs if w >= 0.99) / max(1, len(sure))
    print(
        f"given 99 % or more: {len(sure)} bonds, mean weight {100 * mean:.2f} %, whole {sum(sure)} = {100 * sum(sure) / max(1, len(sure)):.2f} %"
    )
    for name, (count, right) in verdicts.items():
        print(f"verdict {name}: {count}, of which right {right} = {100 * right / max(1, count):.2f} %")
    for name, some in (("one network", pairs), ("each bond alone", alone)):
        score = -sum(math.log2(max(w if t else 1.0 - w, 1e-12)) for w, t in some) / len(some)
        print(f"log score, {name}: {score:.4f} bits a bond (lower is better)")
    print(f"readings {taken}, human errors {errors}; called a misfit: {found} of them, and {false} honest ones")
    if asked.svg:
        asked.svg.write_text(figure(rows, asked.visits, len(pairs)), encoding="utf-8")


if __name__ == "__main__":
    main()
