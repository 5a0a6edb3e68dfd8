"""Bars with their labels."""

from __future__ import annotations

import re

from earthwright.portfolio.bars import bars


def test_no_label_begins_left_of_the_drawing_and_no_number_ends_right_of_it() -> None:
    drawn = bars([("3 to 12 months", 4), ("over a year", 1_234)], "C1 and C2 by age")
    wide = 13 * 0.61  # a letter of the common sans serif that is there where ours is not
    for x, rest, said in re.findall(r'<text x="([\d.]+)"([^>]*)>([^<]+)</text>', drawn):
        from_, to = (-1, 0) if "end" in rest else (0, 1)
        assert float(x) + from_ * wide * len(said) >= 0, said
        assert float(x) + to * wide * len(said) <= 320, said
    assert drawn.count("<text") == 4
