#!/usr/bin/env python3
"""The evidence for one bond against a drawing, over bonds whose digits stand at the edges of what a whole one may show.

    edge_scan.py [CASES]     520 unless given

Prints how many lie within 0.05 of a power of ten or two standard errors of the drawing, the verdicts on the wrong side, the
time of one bond, and every case that is off. The drawing (tests/drawn.py) shares no code with the program.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from drawn import Case, Drawn, drawn
from edge_cases import edge_cases

from earthwright.base.display import Display
from earthwright.evidence.bond import BondEvidence, Copper, Evidence, Observed


def weighed(case: Case) -> Evidence:
    """The evidence by quadrature."""
    display = Display(case.pct, case.digits, case.step, case.top)
    observed = [Observed(t, v, display, shorted_after=s, held_apart=h) for t, v, s, h in case.readings]
    return BondEvidence(Copper(case.r_mohm_per_m, case.length_m, case.tol_m), observed).result()


def off_by(e: Evidence, d: Drawn) -> float:
    """How far the worse of both factors lies outside 0.05 or two standard errors; 0 inside."""
    both = (
        (e.whole_over_open - d.whole_open, d.error_open),
        (e.whole_over_impaired - d.whole_impaired, d.error_impaired),
    )
    return max(0.0, *(abs(x) - max(0.05, 2.0 * error) for x, error in both))


def main() -> None:
    """Print the scan; exit code 1 when anything is off."""
    if {"-h", "--help"} & set(sys.argv[1:]):
        sys.exit(print(__doc__))
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 520
    times, errors, wrong, far = [], [], 0, []
    for number, case in enumerate(edge_cases(count)):
        began = time.process_time()
        e = weighed(case)
        times.append((time.process_time() - began) * 1000)
        d = drawn(case)
        if max(d.error_open, d.error_impaired) > 0.015 or off_by(e, d):
            d = drawn(case, 2, 3 << 17)
        errors.append(max(d.error_open, d.error_impaired))
        wrong += e.verdict not in d.verdicts
        if off_by(e, d):
            far.append(f"{number}: {case}\n   {d}\n   quadrature {e.whole_over_open:.3f}, {e.whole_over_impaired:.3f}")
    print(
        f"{count} bonds at the edges: {count - len(far)} within 0.05 or two standard errors, {wrong} verdicts on the wrong side"
    )
    print(f"standard error of the drawing: median {statistics.median(errors):.4f}, largest {max(errors):.3f}")
    print(f"one bond: median {statistics.median(times):.1f} ms, largest {max(times):.1f} ms of processor time")
    print("\n".join(far))
    sys.exit(bool(far or wrong))


if __name__ == "__main__":
    main()
