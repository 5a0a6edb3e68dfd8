"""What a display may show for a true value: the instrument's limits of error as a distribution of digits."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from itertools import pairwise

from attrs import frozen

OVER = -1  # index of the over-range group; display groups count from 0 upwards

# A fixed grid of true values [Ω] on which predictions are collected: zero, then 4 % steps from 0.1 mΩ to 2 kΩ, then open.
_RATIO = 1.04
_FIRST = 1e-4
_PER_LOG = 1.0 / math.log(_RATIO)
GRID_SIZE = 1 + math.ceil(math.log(2e7) / math.log(_RATIO))
_LAST = _FIRST * _RATIO ** (GRID_SIZE - 2)
_NEAREST = 1.5 - math.log(_FIRST) * _PER_LOG  # what brings a logarithm to its grid value, rounded by cutting off
OPEN = GRID_SIZE  # grid index of an open circuit


def grid_index(true_ohm: float) -> int:
    """Index of the grid value nearest to a true value; :data:`OPEN` for an open circuit."""
    if true_ohm <= _FIRST:
        return 0
    if math.isinf(true_ohm):
        return OPEN
    return min(GRID_SIZE - 1, 1 + round(math.log(true_ohm / _FIRST) * _PER_LOG))


def grid_indices(true_ohms: Sequence[float]) -> list[int]:
    """:func:`grid_index` of many finite true values [Ω] at once; asked for thousands of times a bond."""
    if not true_ohms or min(true_ohms) <= _FIRST or max(true_ohms) >= _LAST:
        return [grid_index(t) for t in true_ohms]
    return [int(log * _PER_LOG + _NEAREST) for log in map(math.log, true_ohms)]


def grid_value(index: int) -> float:
    """True value of a grid index [Ω]."""
    if index == 0:
        return 0.0
    return math.inf if index == OPEN else _FIRST * _RATIO ** (index - 1)


@frozen
class Display:
    """Limits of error of a display: ± (pct % of reading + digits digits), one digit being ``step`` [Ω], range to ``top`` [Ω]."""

    pct: float = 3.0
    digits: float = 2.0
    step: float = 0.01
    top: float = 99.99

    def below(self, edge: float, true_ohm: float) -> float:
        """Chance that true × gain + digit error lies at or below ``edge`` [Ω], before rounding.

        Both errors are rectangular; the sum of two rectangular errors is a trapezoid. Checked against Monte Carlo.
        """
        if math.isinf(true_ohm):
            return 0.0
        wide = true_ohm * self.pct / 100.0
        narrow = self.digits * self.step
        if wide < narrow:
            wide, narrow = narrow, wide
        x = edge - true_ohm
        if x >= wide + narrow:
            return 1.0
        if x <= -wide - narrow:
            return 0.0
        if narrow == 0.0:
            return (x + wide) / (2.0 * wide)
        if x < narrow - wide:
            return (x + wide + narrow) ** 2 / (8.0 * wide * narrow)
        if x > wide - narrow:
            return 1.0 - (wide + narrow - x) ** 2 / (8.0 * wide * narrow)
        return 0.5 + x / (2.0 * wide)

    def chance(self, shown: float, true_ohm: float) -> float:
        """Chance that the display shows ``shown`` [Ω] (infinite: over-range) for a true value [Ω]."""
        half = self.step / 2.0
        if math.isinf(shown):
            return 1.0 if math.isinf(true_ohm) else 1.0 - self.below(self.top + half, true_ohm)
        low = 0.0 if shown < half else self.below(shown - half, true_ohm)
        return self.below(shown + half, true_ohm) - low

    def chance_with_offset(self, shown: float, true_ohm: float, offset: tuple[float, float]) -> float:
        """The same chance when the leads add something between ``offset[0]`` and ``offset[1]`` [Ω] to the true value."""
        low, high = offset
        if high == 0.0 or math.isinf(true_ohm):
            return self.chance(shown, true_ohm)
        # Half a digit apart at most, eight at least; the line conductor of R1+R2 is a lead of some tenths of an ohm.
        count = max(8, math.ceil(2.0 * (high - low) / self.step))
        total = 0.0
        for i in range(count):
            total += self.chance(shown, true_ohm + low + (high - low) * (i + 0.5) / count)
        return total / count

    def window(self, shown: float) -> tuple[float, float]:
        """True values [Ω] outside which the display cannot show ``shown``."""
        half, slack, scale = self.step / 2.0, self.digits * self.step, self.pct / 100.0
        if math.isinf(shown):
            return (self.top + half - slack) / (1.0 + scale), math.inf
        low = -1.0 if shown < half else (shown - half - slack) / (1.0 + scale)
        return low, (shown + half + slack) / (1.0 - scale)


class Chances:
    """:meth:`Display.chance_with_offset` as a function of the true value [Ω], tabulated where it is not zero.

    Linear between points 1/``count`` of the window apart, which is within 0.001 for 160; asked for thousands of times a
    bond. An over-range has no window to tabulate and is worked out each time.
    """

    def __init__(self, display: Display, shown: float, offset: tuple[float, float], count: int) -> None:
        low, high = display.window(shown)
        self._low, high = max(0.0, low - offset[1]), high - offset[0]
        self._exact: Callable[[float], float] = lambda true_ohm: display.chance_with_offset(shown, true_ohm, offset)
        self._count = 0 if math.isinf(high) else count
        if self._count:
            self._step = (high - self._low) / count
            wide = offset[1] - offset[0] > 4.0 * display.step
            one = _swept(display, shown, offset) if wide else self._exact
            at = [one(self._low + i * self._step) for i in range(count + 1)]
            # Of each cell the line through both its ends, by its value at the foot of the window and its rise a cell.
            self._rise = [b - a for a, b in pairwise([*at, 0.0])]
            self._foot = [a - i * rise for i, (a, rise) in enumerate(zip(at, self._rise, strict=True))]

    def __call__(self, true_ohm: float) -> float:
        """The chance for any true value."""
        if not self._count:
            return 0.0 if true_ohm < self._low else self._exact(true_ohm)
        place = (true_ohm - self._low) / self._step
        if not 0.0 <= place <= self._count:  # also an open conductor, which shows no digits
            return 0.0
        i = int(place)
        return self._foot[i] + place * self._rise[i]

    def weigh(self, weights: list[float], others: list[float], share: float, true_ohms: list[float]) -> list[float]:
        """Each weight times (other + share · chance), for true values that all lie in the window of the digits."""
        if not self._count:
            return [w * (f + share * self(t)) for w, f, t in zip(weights, others, true_ohms, strict=True)]
        low, step, foot, rise = self._low, self._step, self._foot, self._rise
        places = [(t - low) / step for t in true_ohms]
        every = zip(weights, others, places, map(int, places), strict=True)
        return [w * (f + share * (foot[i] + x * rise[i])) for w, f, x, i in every]


@lru_cache(maxsize=64)
def chances(display: Display, shown: float, offset: tuple[float, float], count: int = 160) -> Chances:
    """The chances of some digits, tabulated once."""
    return Chances(display, shown, offset, count)


def _swept(display: Display, shown: float, offset: tuple[float, float]) -> Callable[[float], float]:
    """The chance averaged over a wide offset, from one running sum over the window instead of a sum for every value.

    ``(1/(o₂ − o₁)) ∫ chance(t + o) do`` from o₁ to o₂: the difference of the running integral at both ends.
    """
    low, high = display.window(shown)
    low, count = max(0.0, low), 160
    width = (high - low) / count
    upto = [0.0]
    for i in range(count):
        upto.append(upto[-1] + display.chance(shown, low + (i + 0.5) * width) * width)

    def integral(value: float) -> float:
        place = min(float(count), max(0.0, (value - low) / width))
        i = min(count - 1, int(place))
        return upto[i] + (place - i) * (upto[i + 1] - upto[i])

    span = offset[1] - offset[0]
    return lambda true_ohm: (integral(true_ohm + offset[1]) - integral(true_ohm + offset[0])) / span


@lru_cache(maxsize=16)
def edges(display: Display) -> tuple[float, ...]:
    """Upper edges [Ω] of the display groups: single digits first, then groups about 4 % wide up to the range."""
    digit, found = 0, []
    last = round(display.top / display.step)
    while digit <= last:
        digit = min(last, digit + max(0, int(digit * 0.04) - 1)) if digit > 50 else digit
        found.append((digit + 0.5) * display.step)
        digit += 1
    return tuple(found)


class Groups(dict[int, tuple[tuple[int, float], ...]]):
    """Of each grid value the chance of each display group (its index, or :data:`OVER`); groups of no chance are left out."""

    def __init__(self, display: Display) -> None:
        self._display = display

    def __missing__(self, index: int) -> tuple[tuple[int, float], ...]:
        found = self[index] = tuple(self._found(index))
        return found

    def _found(self, index: int) -> Iterator[tuple[int, float]]:
        display, true_ohm = self._display, grid_value(index)
        spread = 0.0 if index == OPEN else true_ohm * display.pct / 100.0 + (display.digits + 1.0) * display.step
        upto, before = edges(display), 0.0
        for group in range(bisect_left(upto, true_ohm - spread), len(upto)):
            now = display.below(upto[group], true_ohm)
            if now > before:
                yield group, now - before
            before = now
            if now >= 1.0:
                break
        if before < 1.0:
            yield OVER, 1.0 - before


@lru_cache(maxsize=16)
def groups(display: Display) -> Groups:
    """The display groups of each grid value, worked out as they are asked for."""
    return Groups(display)


def shown_in(display: Display, group: int) -> float:
    """A shown value [Ω] of a group: its upper one; infinite for over-range."""
    return math.inf if group == OVER else edges(display)[group] - display.step / 2.0


def group_of(display: Display, shown: float) -> int:
    """Group that holds a shown value [Ω]."""
    if math.isinf(shown):
        return OVER
    for group, edge in enumerate(edges(display)):
        if shown <= edge:
            return group
    return OVER
