"""A value with its unit and the causes of its doubt; a band it may lie in; a limit it is held against.

First-order propagation (JCGM 100:2008, 5.1.2 and 5.2.2): causes that are the same cause are added with their sign
before they are squared, so correlation needs no table of coefficients. Checked with GUM H.1 and H.2, and against the
packages ``uncertainties`` and GTC in the tests.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from statistics import NormalDist

from attrs import field, frozen

from .errors import UnitError


@frozen
class Influence:
    """One cause of doubt and what it contributes.

    key    identity: two quantities that name the same key share one cause
    label  the cause in words
    u      signed contribution to the standard uncertainty, in the unit of the quantity
    dof    degrees of freedom of the estimate of ``u``; infinite for a stated limit
    """

    key: str
    label: str
    u: float
    dof: float = field(default=math.inf)

    @dof.validator
    def _above_nothing(self, _: object, dof: float) -> None:
        if not dof > 0:
            raise ValueError(f"degrees of freedom must be above 0, not {dof}")


def _has_unit(_: object, __: object, unit: str) -> None:
    if not unit:
        raise UnitError("a value needs a unit; write '1' for a pure number")


@frozen
class Quantity:
    """A value, its unit, and its labelled influences.

    >>> r = exact(0.05, "Ω").with_influence("display", "one digit", 0.01 / math.sqrt(3))
    >>> round(r.u, 4)
    0.0058
    """

    value: float
    unit: str = field(validator=_has_unit)
    influences: tuple[Influence, ...] = ()

    @property
    def u(self) -> float:
        """Combined standard uncertainty, ``u² = Σ over causes (Σ of signed contributions)²``."""
        return math.sqrt(math.fsum(c.u * c.u for c in self.influences))

    @property
    def dof(self) -> float:
        """Effective degrees of freedom, Welch–Satterthwaite: ``u⁴ / Σ(u_i⁴ / ν_i)`` (JCGM 100 G.4.1)."""
        weight = math.fsum(c.u**4 / c.dof for c in self.influences if math.isfinite(c.dof))
        return self.u**4 / weight if weight > 0 else math.inf

    def with_influence(self, key: str, label: str, u: float, dof: float = math.inf) -> Quantity:
        """The same value with one more cause of doubt (added to the cause of that key if it is there)."""
        return combine(
            self.value,
            self.unit,
            ((1.0, self), (1.0, Quantity(0.0, self.unit, (Influence(key, label, u, dof),)))),
        )

    def expanded(self, p: float = 0.95) -> float:
        """Half-width of the interval that holds a share ``p``: ``t(p, ν)·u``."""
        return t_factor(p, self.dof) * self.u if self.u else 0.0

    def interval(self, p: float = 0.95) -> Band:
        """Interval of coverage ``p`` round the value, as a band."""
        half = self.expanded(p)
        return Band(self.value - half, self.value + half, self.unit)

    def budget(self) -> tuple[Influence, ...]:
        """The influences, weightiest first."""
        return tuple(sorted(self.influences, key=lambda c: (-abs(c.u), c.key)))

    def __add__(self, other: Quantity) -> Quantity:
        return combine(self.value + other.value, _same_unit(self, other), ((1.0, self), (1.0, other)))

    def __sub__(self, other: Quantity) -> Quantity:
        return combine(self.value - other.value, _same_unit(self, other), ((1.0, self), (-1.0, other)))


def exact(value: float, unit: str) -> Quantity:
    """A value without doubt, e.g. a nominal voltage that a rule prescribes."""
    return Quantity(value, unit)


def rectangular(value: float, half_width: float, unit: str, key: str, label: str) -> Quantity:
    """A value known to lie within ± ``half_width``: standard uncertainty half-width/√3 (JCGM 100 4.3.7)."""
    return Quantity(value, unit, (Influence(key, label, half_width / math.sqrt(3.0)),))


def combine(value: float, unit: str, parts: Sequence[tuple[float, Quantity]]) -> Quantity:
    """A result of several quantities with the given sensitivities ∂y/∂x (JCGM 100 5.1.3).

    value  the result [unit];  parts  pairs (sensitivity, quantity)
    """
    merged: dict[str, Influence] = {}
    for sensitivity, quantity in parts:
        for cause in quantity.influences:
            before = merged.get(cause.key)
            u = sensitivity * cause.u + (before.u if before else 0.0)
            merged[cause.key] = Influence(cause.key, cause.label, u, cause.dof)
    return Quantity(value, unit, tuple(merged.values()))


def _same_unit(one: Quantity, other: Quantity) -> str:
    if one.unit != other.unit:
        raise UnitError(f"{one.unit} and {other.unit} cannot be added")
    return one.unit


@frozen
class Band:
    """Low and high edge of what a value may be, both included, and what was assumed in saying so."""

    low: float
    high: float
    unit: str = field(validator=_has_unit)
    assumed: tuple[str, ...] = ()

    def __attrs_post_init__(self) -> None:
        if not self.low <= self.high:
            raise ValueError(f"a band runs from low to high, not from {self.low} to {self.high}")

    def holds(self, value: float) -> bool:
        """Whether the value lies inside, edges included."""
        return self.low <= value <= self.high

    def touches(self, other: Band) -> bool:
        """Whether the two bands have a point in common."""
        if self.unit != other.unit:
            raise UnitError(f"{self.unit} and {other.unit} cannot be compared")
        return self.low <= other.high and other.low <= self.high


@frozen
class Limit:
    """A limit from a rule, with everything needed to print where it came from.

    side  ``max``: the value must not exceed it; ``min``: it must reach it
    rule  the table, or the name of the requirement, that it is from: to tell limits apart by, never printed or kept
    """

    value: float
    unit: str = field(validator=_has_unit)
    side: str
    what: str
    clause: str
    document: str
    edition: str
    confidence: str
    note: str = ""
    rule: str = field(default="", eq=False, metadata={"kept": False})

    def __attrs_post_init__(self) -> None:
        if self.side not in ("max", "min"):
            raise ValueError(f"side of a limit is 'max' or 'min', not {self.side!r}")
        if self.confidence not in ("read", "memory"):
            raise ValueError(f"confidence is 'read' or 'memory', not {self.confidence!r}")

    @property
    def figure(self) -> str:
        """As in a column, ``≤ 1.37 Ω``; of what is either there or not its name."""
        return self.what if self.unit == "1" else f"{'≤' if self.side == 'max' else '≥'} {self.value:.4g} {self.unit}"

    def source(self) -> str:
        """Document, edition and clause in one line; says so when the value is from memory."""
        memory = "; value from memory, check it against the document" if self.confidence == "memory" else ""
        return ", ".join(x for x in (self.document, self.edition, self.clause) if x) + memory


@lru_cache(maxsize=256)
def t_factor(p: float, dof: float) -> float:
    """Student's t for a two-sided share ``p`` and ``dof`` degrees of freedom (JCGM 100 table G.2).

    Solved by bisection on the incomplete beta function. Checked with table G.2.
    """
    if not 0.0 < p < 1.0:
        raise ValueError(f"coverage must lie between 0 and 1, not {p}")
    if dof <= 0:
        raise ValueError(f"degrees of freedom must be above 0, not {dof}")
    normal = NormalDist().inv_cdf(0.5 + p / 2.0)
    if dof > 1e6:
        return normal
    low, high = normal, normal
    while _inside(high, dof) < p:
        high *= 2.0
    for _ in range(100):
        middle = 0.5 * (low + high)
        if _inside(middle, dof) < p:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _inside(t: float, dof: float) -> float:
    """Share of Student's distribution between −t and +t."""
    return 1.0 - _beta_share(dof / (dof + t * t), dof / 2.0, 0.5)


def _beta_share(x: float, a: float, b: float) -> float:
    """Regularised incomplete beta function by its continued fraction (Lentz)."""
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - _beta_share(1.0 - x, b, a)
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x))
    c, d = 1.0, 1.0 / (1.0 - (a + b) * x / (a + 1.0))
    result, m = d, 0
    # Fewer than 100 steps are needed for every t and ν that t_factor asks about.
    while abs(c * d - 1.0) >= 1e-15 and m < 400:
        m += 1
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        for step in (even, odd):
            d = 1.0 / (1.0 + step * d)
            c = 1.0 + step / c
            result *= c * d
    return front * result / a
