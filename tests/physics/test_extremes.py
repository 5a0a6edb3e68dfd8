"""Every sum with numbers of any size: an answer that is a number, or our own refusal; never a silent infinity."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from types import ModuleType
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from earthwright.base.errors import EarthwrightError
from earthwright.physics import adiabatic, body, conductor, electrode, insulation, loop, ring, supply, voltdrop

MODULES: tuple[ModuleType, ...] = (
    adiabatic,
    body,
    conductor,
    electrode,
    insulation,
    loop,
    ring,
    supply,
    voltdrop,
)
SUMS: dict[str, Callable[..., Any]] = {
    f"{module.__name__.rsplit('.', 1)[-1]}.{name}": function
    for module in MODULES
    for name, function in inspect.getmembers(module, inspect.isfunction)
    if function.__module__ == module.__name__ and not name.startswith("_")
}
# Infinite although every number given is finite, each with the reason.
UNBOUNDED = {
    "conductor.parallel": "nothing side by side conducts nothing",
    "insulation.board": "an empty board leaks nothing",
    "insulation.board_band": "an empty board leaks nothing",
    "insulation.without_each": "the only circuit left out leaves an empty board",
    "loop.digit_step_band_a": "a loop that may be zero sets no upper bound to the current",
    "loop.fault_current_band_a": "a loop that may be zero sets no upper bound to the current",
    "supply.load_ohm": "nothing switched on",
}

EDGES = [0.0, 5e-324, 1e-200, 1e-31, 1e-30, 1e-12, 0.5, 1.0, 2.0, 50.0, 1e12, 1e30, 1e31, 1e160, 1e308]
NUMBERS = st.one_of(
    st.sampled_from([*EDGES, -1.0, -1e308, math.inf, math.nan, True]), st.sampled_from(EDGES), st.floats(1e-3, 1e3)
)
SPREAD: dict[str, st.SearchStrategy[Any]] = {
    "float": NUMBERS,
    "int": st.sampled_from([0, 1, 2, 9, 10**400]),
    "bool": st.booleans(),
    "Curve": st.lists(st.tuples(NUMBERS, NUMBERS), min_size=2, max_size=3),
    "Sequence[float]": st.lists(NUMBERS, max_size=3),
    "Sequence[tuple[float, float]]": st.lists(st.tuples(NUMBERS, NUMBERS), max_size=3),
    "list[tuple[float, float]]": st.lists(st.tuples(NUMBERS, NUMBERS), max_size=3),
    "tuple[float, float]": st.tuples(NUMBERS, NUMBERS),
    "str": st.sampled_from(["copper", "aluminium", "steel"]),
    "tuple[float, float, float]": st.tuples(NUMBERS, NUMBERS, NUMBERS),
}


def numbers_in(value: object) -> list[float]:
    """All numbers of an argument or answer, however nested."""
    if isinstance(value, int | float):
        return [float(value) if abs(value) < 1e300 or isinstance(value, float) else 1e300]
    if is_dataclass(value):
        return [n for field in fields(value) for n in numbers_in(getattr(value, field.name))]
    if isinstance(value, tuple | list):
        return [n for one in value for n in numbers_in(one)]
    return []


@pytest.mark.parametrize("name", SUMS)
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_an_answer_is_a_number_or_there_is_none(name: str, data: st.DataObject) -> None:
    arguments: list[Any] = []
    for parameter in inspect.signature(SUMS[name]).parameters.values():
        drawn = data.draw(SPREAD[parameter.annotation])
        if parameter.kind is parameter.VAR_POSITIONAL:
            arguments += [drawn, data.draw(NUMBERS)]
        else:
            arguments.append(drawn)
    try:
        answer = SUMS[name](*arguments)
    except EarthwrightError:
        return
    found = numbers_in(answer)
    assert not any(math.isnan(n) for n in found)
    if name not in UNBOUNDED and all(math.isfinite(n) for n in numbers_in(arguments)):
        assert all(math.isfinite(n) for n in found), arguments


def test_every_exception_names_a_sum_that_is_there_and_its_reason() -> None:
    assert set(UNBOUNDED) <= set(SUMS)
    assert all(len(reason) > 10 for reason in UNBOUNDED.values())
    finite = {
        "conductor.parallel": (),
        "insulation.board": ([],),
        "insulation.board_band": ([],),
        "insulation.without_each": ([1.0],),
        "loop.digit_step_band_a": (230.0, 0.0, 0.01),
        "loop.fault_current_band_a": (230.0, 0.0, 0.01),
        "supply.load_ohm": (0.0, 230.0),
    }
    assert set(finite) == set(UNBOUNDED)
    for name, arguments in finite.items():
        assert math.inf in numbers_in(SUMS[name](*arguments)), name
