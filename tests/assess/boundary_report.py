"""Print each limit of the live tests just below, at and just above: ``python tests/assess/boundary_report.py``."""

from __future__ import annotations

from boundaries import EDGES


def main() -> int:
    """The table. Returns 1 when an outcome is not the one that must follow."""
    wrong = 0
    print(f"{'limit':72}{'printed':14}{'just below':>34}{'at':>34}{'just above':>34}")
    for edge in EDGES:
        cells = []
        for digits, expected in edge.tries:
            found = edge.outcome(digits)
            wrong += found != expected
            cells.append(f"{digits}: {found}" + ("" if found == expected else f" (must be {expected})"))
        print(f"{edge.what:72}{edge.limit:14}" + "".join(f"{c:>34}" for c in cells))
    print(f"{len(EDGES)} limits, {wrong} wrong outcomes")
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
