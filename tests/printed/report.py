"""Print how many published values pass, by topic: ``python tests/printed/report.py``."""

from __future__ import annotations

import datetime as dt
from collections import Counter

from published import differences, not_covered, values
from sums import CHECKS, ORACLES, routes_for
from sums.common import Rules


def main() -> int:
    """The table, then every value that does not pass. Returns 1 when there is one."""
    rules, wrong = Rules(dt.date(2026, 11, 20)), []
    count: dict[str, Counter[str]] = {}
    for value in values():
        topic = count.setdefault(value.topic, Counter())
        topic["values"] += 1
        for table, column in ((CHECKS, "passed"), (ORACLES, "oracle")):
            if routes := routes_for(value.id, table):
                found = differences(value, routes, rules)
                wrong += found
                topic["failed" if found else column] += 1
        topic["not covered"] += value.id in not_covered()
    columns = ("values", "passed", "oracle", "failed", "not covered")
    print(f"{'topic':24}" + "".join(f"{c:>13}" for c in columns))
    for topic, seen in [*count.items(), ("all", sum(count.values(), Counter()))]:
        print(f"{topic:24}" + "".join(f"{seen[c]:13}" for c in columns))
    print("passed: our own code gives it; oracle: a reference library of the tests gives it")
    for line in wrong:
        print(line)
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
