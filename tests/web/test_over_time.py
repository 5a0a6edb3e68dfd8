"""Checks of an instrument over time: a dot stands where its value is by the numbers at the side."""

from __future__ import annotations

import datetime as dt
import re

import pytest

from earthwright.web.drawing.over_time import over_time


@pytest.mark.parametrize("values", [[0.02], [0.02, 0.03, 0.06, 0.05], [-0.04, 0.31], [0.0, 7.5], [1999.0, 3.0]])
def test_a_dot_stands_where_the_numbers_say(values: list[float]) -> None:
    days = [dt.date(2026, 6, 2) + dt.timedelta(30 * n) for n in range(len(values))]
    svg = over_time([(day, "shorted", value) for day, value in zip(days, values, strict=True)], "Ω", "t")
    lines = [float(y) for y in re.findall(r'class="faint" d="M\d+ ([\d.]+)H', svg)]
    said = [float(v) for v in re.findall(r'text-anchor="end" font-size="14">(-?[\d.]+)</text>', svg)]
    assert 3 <= len(said) == len(lines) <= 8
    per_px = (said[-1] - said[0]) / (lines[0] - lines[-1])
    for y, value in [
        *zip(lines, said, strict=True),
        *zip(map(float, re.findall(r'cy="([\d.]+)"', svg)), values, strict=True),
    ]:
        assert said[0] + (lines[0] - y) * per_px == pytest.approx(value, abs=0.2 * per_px)  # a fifth of a pixel
