#!/usr/bin/env python3
"""What ``between`` promises, against invented houses with metal that nobody entered.

    between.py [VISITS]     number of visits, 200 unless given

Each visit: a house, the true resistance of every piece, stray metal between any two places, and paths read with every error
inside the instrument's limits. Every promise (*a break would show, it would then read …*) is tried on the true network with
that piece taken out, solved by itself with numpy.
"""

from __future__ import annotations

import math
import random
import sys
from collections import Counter
from pathlib import Path

import numpy as np
from attrs import evolve

sys.path.insert(0, str(Path(__file__).parent))

from invented.houses import House, house

from earthwright.assess import assess
from earthwright.assess.earth import Earth
from earthwright.assess.parallels import paths_read, reach_as_read
from earthwright.assess.rulings import Rulings
from earthwright.base.display import Display
from earthwright.evidence.expected import on_display
from earthwright.evidence.graph.model import EARTH
from earthwright.site.events import PATH, TOGETHER, Off, On
from earthwright.site.installation import MET, Link
from earthwright.site.visit import Visit

Edges = dict[str, tuple[str, str, float]]
DISPLAY = Display()


def resistance(edges: Edges, a: str, b: str) -> float:
    """Two-point resistance by the pseudo-inverse of the Laplacian [Ω]; infinite when nothing joins the two."""
    near, line = {a}, [a]
    while line:
        here = line.pop()
        for one, other, _ in edges.values():
            for x, y in ((one, other), (other, one)):
                if x == here and y not in near:
                    near.add(y)
                    line.append(y)
    if b not in near:
        return math.inf
    place = {n: i for i, n in enumerate(sorted(near))}
    laplacian = np.zeros((len(place), len(place)))
    for x, y, ohm in edges.values():
        if x in place and x != y:
            i, j, g = place[x], place[y], 1.0 / max(ohm, 1e-6)
            laplacian[[i, j], [i, j]] += g
            laplacian[[i, j], [j, i]] -= g
    inverse = np.linalg.pinv(laplacian)
    i, j = place[a], place[b]
    return float(inverse[i, i] + inverse[j, j] - 2.0 * inverse[i, j])


def truth(earth: Earth, rng: random.Random) -> tuple[Edges, dict[str, frozenset[str]]]:
    """A resistance for every piece inside what is entered, and stray metal; with the ends that take each out."""
    edges: Edges = {}
    ends: dict[str, frozenset[str]] = {}
    for p in earth.network.pieces:
        low, high = p.low_ohm, p.high_ohm
        ohm = math.exp(rng.uniform(math.log(1e-3), math.log(1e3))) if math.isinf(high) else rng.uniform(low, high)
        edges[p.id], ends[p.id] = (p.a, p.b, ohm), p.off_by
    places = [n.id for n in earth.network.nodes if n.id != EARTH]
    for number in range(rng.choice((0, 1, 2, 3, 5))):
        a, b = rng.sample(places, 2)
        edges[f"stray {number}"] = a, b, math.exp(rng.uniform(math.log(0.005), math.log(1000.0)))
    return edges, ends


def without(edges: Edges, ends: dict[str, frozenset[str]], off: frozenset[str]) -> Edges:
    """The true network with these ends off."""
    return {name: e for name, e in edges.items() if not ends.get(name, frozenset()) & off}


def measured(h: House, edges: Edges, ends: dict[str, frozenset[str]], rng: random.Random) -> Visit:
    """The house with some paths read at its bonds, other bonds being off now and then."""
    h.events, h.count = [], 0
    bonds = [b.id for b in h.site.bonds]
    for b in h.site.bonds:
        if rng.random() < 0.3:
            continue
        off = {b.id} | {x for x in bonds if rng.random() < 0.2}
        for x in sorted(off):
            h.note(Off(seq=0, what=x))
        h.read(PATH, b.id, resistance(without(edges, ends, frozenset(off)), MET, b.part))
        for x in sorted(off):
            h.note(On(seq=0, what=x))
        if rng.random() < 0.5:
            h.read(TOGETHER, b.id, resistance(edges, MET, b.part))
    return h.visit()


def one(number: int) -> Counter[str]:
    """The promises of one visit, and how many of them the true network breaks."""
    rng = random.Random(f"between {number}")
    h = house(number)
    places = [p.id for p in h.site.parts] + [c.id for c in h.site.circuits]
    links = []
    for i in range(rng.choice((0, 0, 1, 2))):
        if len(places) > 1:
            a, b = rng.sample(places, 2)
            links.append(Link(f"frame {i}", a, b, 0.0, 0.05) if rng.random() < 0.7 else Link(f"frame {i}", a, b))
    h.site = evolve(h.site, links=tuple(links))
    plain = h.visit()
    earth = Earth.of(plain, Rulings(plain))
    edges, ends = truth(earth, rng)
    visit = measured(h, edges, ends, rng)
    read = paths_read(assess(visit, whole_site=False), earth)
    counts: Counter[str] = Counter(visits=1, paths=len(read))
    asked = [(MET, p.id) for p in h.site.parts] + [(MET, c.id) for c in h.site.circuits[:3]]
    if len(places) > 1:
        asked += [tuple(rng.sample(places, 2)) for _ in range(3)]
    for a, b in asked:
        off = frozenset(x.id for x in h.site.bonds if rng.random() < 0.15)
        reach = reach_as_read(earth, off, a, b, DISPLAY, read)
        counts["questions"] += 1
        now, top = without(edges, ends, off), math.inf
        if reach.band is not None:
            top = on_display(reach.band, DISPLAY).high
            counts["whole read higher than said"] += resistance(now, a, b) > reach.band.high + 1e-9
        elif reach.read is not None:
            counts["promises as read"] += 1
            true = resistance(now, a, b)
            counts["broken as read"] += not (reach.read.low - 1e-9 <= true <= reach.read.high + 1e-9)
        for x in reach.breaks:
            counts[{True: "would show", False: "could not show", None: "not known"}[x.shows]] += 1
            if not x.shows:
                continue
            assert x.band is not None
            assert reach.band is not None
            for piece in earth.network.of(x.kind, x.of):
                if piece.id not in now or piece not in reach.pieces:
                    continue
                true = resistance({n: e for n, e in now.items() if n != piece.id}, a, b)
                counts["tried"] += 1
                outside = not x.band.low - 1e-9 <= true <= x.band.high + 1e-9
                over = true >= DISPLAY.window(math.inf)[0]
                alike = not over and on_display(evolve(reach.band, low=true, high=true), DISPLAY).low <= top
                counts["broken"] += outside or alike
    return counts


def main() -> None:
    """Print the counts."""
    total: Counter[str] = Counter()
    for number in range(int(sys.argv[1]) if len(sys.argv) > 1 else 200):
        total += one(number)
    for name in ("broken", "broken as read", "whole read higher than said"):
        total.setdefault(name, 0)
    for name, count in sorted(total.items()):
        print(f"{count:7d}  {name}")


if __name__ == "__main__":
    main()
