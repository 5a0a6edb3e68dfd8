"""Take single rules out of the data, one at a time, and run the tests until one fails: a rule that nobody misses is not tested.

    python benchmarks/rules_removed.py [FIRST] [LAST]

For each rule the first test that misses it. Rules are hidden while the tests run; no file is changed.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[1]
# What duties and judgement say first, then look-ups of the data, then everything that judges.
STAGES = (
    (
        "tests/test_notices.py", "tests/assess/test_edition_of_visit.py", "tests/assess/test_particulars.py",
        "tests/assess/test_live_special.py", "tests/assess/test_live_rcd.py", "tests/assess/test_live_residual.py",
        "tests/assess/test_earthing_conductor.py", "tests/assess/test_no_cpc.py", "tests/assess/test_bond_place.py",
        "tests/test_observations.py",
    ),
    ("tests/rules",),
    ("tests/visits/test_practice.py", "tests/assess", "tests/checks"),
)  # fmt: skip
NOTHING = "no rule"
RULES = (
    "bs-7671 zs.breaker B|32",
    "bs-7671 zs.fuse BS 88-2|100|5",
    "bs-7671 breaker.slow",
    "bs-7671 loop.factors c_min",
    "bs-7671 rcd.set",
    "bs-7671 rcd.times half, one, five|general|5",
    "bs-7671 rcd.required socket-outlet",
    "bs-7671 rcd.required luminaires in a dwelling",
    "bs-7671 rcd.types AC",
    "bs-7671 rcd.direction one way",
    "bs-7671 disconnection.times TT|AC|above 120 to 230",
    "bs-7671 disconnection.scope fixed equipment only",
    "bs-7671 disconnection.distribution TT",
    "bs-7671 insulation.minimum up to 500 V|standard",
    "bs-7671 bond.main.pme above 0 to 35",
    "bs-7671 bond.main.other",
    "bs-7671 bond.position",
    "bs-7671 earthing.buried",
    "bs-7671 overload.ring",
    "bs-7671 overload.fuse",
    "bs-7671 current.capacity",
    "bs-7671 current.insulated",
    "bs-7671 special.pme 722",
    "bs-7671 special.types",
    "bs-7671 cpc.required lighting",
    "bs-7671 observation.codes FI",
    "bs-7671 tt.residual 30",
    "bs-7671 device.breaking",
    "bs-7671 voltdrop.limits public|lighting",
    "iec-60228 conductor.resistance copper|2|10",
    "england-rented duty.start social|before",
    "england-rented duty.days remedial or investigative work",
    "wales-rented duty.years",
    "northern-ireland-hmo duty.instead",
    "scotland-social duty.years",
    "england-building-control notice.days registered installer",
    "wales-building-control notice.work circuit in a kitchen or outdoors",
    "distributor-notice source.notice G98",
)


def missed(rule: str) -> tuple[str, float]:
    """The first test that fails without a rule, and how long it took to get there [s]; empty when all pass."""
    began = time.monotonic()
    by = next((failed for tests in STAGES if (failed := _failed(rule, tests))), "")
    return by, time.monotonic() - began


def _failed(rule: str, tests: tuple[str, ...]) -> str:
    paths = os.pathsep.join((str(ROOT / "benchmarks" / "helpers"), str(ROOT / "src")))
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider", "-p", "without_rule", *tests],
        cwd=ROOT,
        env={**os.environ, "WITHOUT_RULE": rule, "PYTHONPATH": paths},
        capture_output=True,
        text=True,
        check=False,
    )
    if rule != NOTHING and not re.search(r"rules hidden: [1-9]", done.stdout):
        return "" if done.returncode == 0 else f"HIDES NOTHING: {done.stdout[-200:]}"
    failed = re.search(r"^(?:FAILED|ERROR) (.+?)(?: - |$)", done.stdout, re.MULTILINE)
    return failed.group(1) if failed else "" if done.returncode == 0 else done.stdout[-300:]


def main(first: int = 1, last: int = len(RULES)) -> None:
    """First that the tests pass with every rule, then a row for each rule, then how many were missed."""
    if first == 1 and (broken := missed(NOTHING)[0]):
        sys.exit(f"The tests do not pass with every rule in place: {broken}")
    found = 0
    for number, rule in enumerate(RULES[first - 1 : last], first):
        by, took = missed(rule)
        found += bool(by)
        print(f"| {number} | {rule} | {by or 'NOT MISSED'} | {took:.0f} s |", flush=True)
    print(f"{found} of {last - first + 1} rules are missed by a test.")


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:3]))
