"""The next measurement for a site of six bonds, weighed as one network.

Run: python benchmarks/site_evidence.py. Prints medians of processor time beside wall time, since a busy machine is no
fault of the program; asserts nothing. Every round takes another seed, so nothing is answered from memory.
"""

from __future__ import annotations

import statistics
import sys
import time

from attrs import evolve

from earthwright.evidence.bond import Copper, Observed
from earthwright.evidence.network import SiteBond, SiteData, SiteEvidence, SiteLink, SiteModel, SiteReading, weigh

ROUNDS = 5
NAMES = ("water", "gas", "oil", "heating", "steel", "ducting")
LENGTHS_M = (10, 13, 16, 19, 22, 25)
CONDUCTOR = (0.02, 0.03, 0.03, 0.04)  # of the first four; the last two have only been read together
PATH = (0.11, 0.40, 0.05, 1.20)
TOGETHER = (0.02, 0.02, 0.02, 0.03, 0.03, 0.04)


def six_bonds(busy: bool) -> SiteData:
    """Six bonds: only together read so far, or four of them read three ways; a boiler known to join water and gas."""
    bonds = tuple(SiteBond(n, n, Copper(1.83, m, 1)) for n, m in zip(NAMES, LENGTHS_M, strict=True))
    taken = [(n, "together", v) for n, v in zip(NAMES, TOGETHER, strict=True)]
    if busy:
        taken += [(n, "conductor", v) for n, v in zip(NAMES[:4], CONDUCTOR, strict=True)]
        taken += [(n, "path", v) for n, v in zip(NAMES[:4], PATH, strict=True)]
    readings = tuple(SiteReading(f"r{k}", n, Observed(test, v)) for k, (n, test, v) in enumerate(taken))
    return SiteData(bonds, readings, (SiteLink("boiler", "water", "gas", 0.05, 0.5),))


def medians(data: SiteData) -> tuple[float, float, SiteEvidence]:
    """Processor and wall time of one weighing [s], and an answer."""
    weigh(data)
    cpu, wall = [], []
    for seed in range(ROUNDS):
        asked = evolve(data, model=SiteModel(seed=seed))
        start, began = time.process_time(), time.perf_counter()
        answer = weigh(asked)
        cpu.append(time.process_time() - start)
        wall.append(time.perf_counter() - began)
    return statistics.median(cpu), statistics.median(wall), answer


def main() -> None:
    """Print the medians, the advice and the stated error ."""
    print(f"python {sys.version.split()[0]}; medians of {ROUNDS}")
    for name, busy in (("six bonds, all connected", False), ("six bonds, four of them read three ways", True)):
        data = six_bonds(busy)
        print(f"{name}: {len(data.readings)} readings, 23 unknown links")
        cpu, wall, answer = medians(data)
        following = answer.next
        advice = f"{following.option.test} of {following.option.bond}" if following else "nothing"
        print(
            f"  {cpu:.2f} s processor, {wall:.2f} s wall (aim 3 s); next: {advice}; error {answer.error:.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
