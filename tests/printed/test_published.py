"""Every published value against our own functions, or against the libraries other tests lean on; the rest is listed."""

from __future__ import annotations

import datetime as dt

import pytest
from published import Published, differences, not_covered, values
from sums import CHECKS, ORACLES, routes_for
from sums.common import Rules

# The editions the printed figures hold for: each is asked on a day on which it is the one in force.
DAYS = [dt.date(2023, 1, 10), dt.date(2025, 1, 10), dt.date(2026, 11, 20)]
OURS = [v for v in values() if routes_for(v.id, CHECKS)]
THEIRS = [v for v in values() if routes_for(v.id, ORACLES)]


@pytest.mark.parametrize("value", OURS, ids=[v.id for v in OURS])
def test_our_sum_or_figure_is_the_published_one(value: Published) -> None:
    for day in DAYS:
        assert not differences(value, routes_for(value.id, CHECKS), Rules(day)), day


@pytest.mark.parametrize("value", THEIRS, ids=[v.id for v in THEIRS])
def test_reference_library_gives_the_published_value(value: Published) -> None:
    assert not differences(value, routes_for(value.id, ORACLES), Rules(DAYS[-1]))


def test_the_days_reach_three_editions() -> None:
    assert len({Rules(day).edition.edition for day in DAYS}) == len(DAYS)


def test_every_value_is_checked_once_or_listed() -> None:
    ours, theirs, listed = {v.id for v in OURS}, {v.id for v in THEIRS}, set(not_covered())
    assert ours | theirs | listed == {v.id for v in values()}
    assert not ours & theirs


def test_listed_exceptions_are_still_needed() -> None:
    """A value that a check gives does not belong on the list; one that is no longer transcribed neither."""
    listed = set(not_covered())
    assert not [i for i in listed if routes_for(i, CHECKS) or routes_for(i, ORACLES)]
    assert listed <= {v.id for v in values()}
    assert all(len(why) > 20 for why in not_covered().values())


def test_every_check_is_used() -> None:
    """A key that fits no id is a slip of the pen."""
    for table in (CHECKS, ORACLES):
        used = {id(routes_for(v.id, table)) for v in values()}
        assert not [k for k, routes in table.items() if id(routes) not in used]
        assert all(routes for routes in table.values())


def test_all_of_the_list_is_here_with_source_and_confidence() -> None:
    assert len({v.id for v in values()}) == len(values()) == 357
    for v in values():
        assert v.statement.strip(), v.id
        assert v.source.strip(), v.id
        assert v.unit.strip(), v.id
        assert v.confidence in ("read", "memory"), v.id


def test_a_tolerance_wider_than_half_a_digit_says_why() -> None:
    for v in values():
        wide = any(t > h * (1 + 1e-9) for t, h in zip(v.tolerance, v.half_digit, strict=True))
        assert bool(v.why) == wide, v.id


def test_a_figure_off_by_one_digit_is_seen() -> None:
    """The comparison itself: every figure of every value moved by a little more than its tolerance has to fail."""
    for v in OURS:
        for place, (printed, wide) in enumerate(zip(v.output, v.tolerance, strict=True)):
            moved = list(v.output)
            moved[place] = printed + 1.01 * wide + 1e-6 * max(1.0, abs(printed))
            assert differences(v, (lambda _i, _r, m=moved: m,), None), v.id
            assert not differences(v, (lambda _i, _r, m=v.output: m,), None), v.id
