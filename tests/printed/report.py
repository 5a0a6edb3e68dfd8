"""Print how many published values are covered, by topic: ``python tests/printed/report.py``."""

from __future__ import annotations

from collections import Counter

from published import not_covered, values

if __name__ == "__main__":
    left_out = not_covered()
    total = Counter(v["topic"] for v in values())
    missing = Counter(v["topic"] for v in values() if v["id"] in left_out)
    for topic, count in total.items():
        print(f"{topic:24} {count:4} values  {count - missing[topic]:4} checked  {missing[topic]:4} not covered")
    print(f"{'all':24} {sum(total.values()):4} values  {sum(total.values()) - sum(missing.values()):4} checked")
