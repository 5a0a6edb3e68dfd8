"""What a number must be before a sum is done with it; a wrong one is an exception naming the argument."""

from __future__ import annotations

import math

from earthwright.base.errors import EarthwrightError

LEAST, MOST = 1e-30, 1e30
"""What is larger, or is divided by and smaller, is no measurement. Within these no sum of this package overflows:
were a finite number allowed to become infinite, a slip of the pen would read as an open circuit."""


class OutOfDomain(EarthwrightError, ValueError):
    """A number for which the formula has no meaning: a negative length, a zero area, a truth value."""


def number(name: str, value: float, *, low: float = -math.inf, above: bool = False, infinite: bool = False) -> float:
    """``value`` as a float if it is a real number, at least ``low`` (greater than ``low`` if ``above``).

    At most 1e30 in magnitude, at least 1e-30 where it must be above zero; infinity passes only with
    ``infinite``. Raises OutOfDomain with the argument's name, what was expected and found. Truth values are
    refused: a ``false`` that slipped in from a form must never become 0 ohm.
    """
    if type(value) is float and low < value and LEAST <= value <= MOST:
        return value  # nearly all of them
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise OutOfDomain(f"{name}: expected a number, found {value!r}")
    if isinstance(value, int) and abs(value) > MOST:  # too large for a float, perhaps even to be printed
        raise OutOfDomain(f"{name}: expected a magnitude of at most {MOST:g}, found a whole number beyond it")
    result = float(value)
    if math.isnan(result) or (math.isinf(result) and not infinite):
        raise OutOfDomain(f"{name}: expected a finite number, found {value!r}")
    if result < low or (above and result == low):
        raise OutOfDomain(f"{name}: expected {'more than' if above else 'at least'} {low:g}, found {value!r}")
    if MOST < abs(result) < math.inf:
        raise OutOfDomain(f"{name}: expected a magnitude of at most {MOST:g}, found {value!r}")
    if above and low >= 0 and result < LEAST:
        raise OutOfDomain(f"{name}: expected at least {LEAST:g}, found {value!r}")
    return result


def positive(name: str, value: float) -> float:
    """A finite number greater than zero."""
    return number(name, value, low=0.0, above=True)


def not_negative(name: str, value: float) -> float:
    """A finite number that is zero or more."""
    return number(name, value, low=0.0)


def fraction(name: str, value: float) -> float:
    """A number from 0 to 1, both included."""
    result = not_negative(name, value)
    if result > 1:
        raise OutOfDomain(f"{name}: expected 0 … 1, found {value!r}")
    return result


def unbounded(name: str, value: float) -> float:
    """Zero or more, infinity allowed: a current or a resistance that may have no upper bound."""
    return number(name, value, low=0.0, infinite=True)


def resistance(name: str, value: float) -> float:
    """A resistance: zero or more; infinity is an open circuit and allowed."""
    return number(name, value, low=0.0, infinite=True)


def band(name: str, low: float, high: float) -> tuple[float, float]:
    """Two edges in order; the high one may be infinite. Raises OutOfDomain when they are not."""
    edges = number(f"{name} low edge", low), number(f"{name} high edge", high, infinite=True)
    if edges[0] > edges[1]:
        raise OutOfDomain(f"{name}: expected low <= high, found {low!r} and {high!r}")
    return edges
