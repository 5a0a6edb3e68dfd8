"""What a test should show: from the bond, its surroundings and the state, the band a reading should fall in."""

from __future__ import annotations

import math

from attrs import frozen

from ..base.display import Display
from ..base.quantity import Band, Quantity, combine
from ..physics.conductor import band_ohm
from ..site.events import CLAMP_BODY, CONDUCTOR, JOINT, PATH, TOGETHER
from ..site.installation import Bond


@frozen
class Expectation:
    """What a reading of one kind should be.

    band      true value [Ω]; None where nothing can be said (a path through unknown metal)
    shown     lowest and highest digits the display may show for it [Ω]
    copper    the conductor alone [Ω], below which other metal must be helping
    assumed   what was assumed, each in words
    """

    test: str
    band: Band | None
    shown: Band | None
    copper: Band
    assumed: tuple[str, ...]


def copper_band(bond: Bond, r_mohm_per_m: float, make: tuple[float, float], joint_ohm: float) -> Band:
    """Conductor end to end with a good joint: ``L·r·m`` to ``L·r·m + j`` at the edges of each [Ω].

    r_mohm_per_m  resistance per length at the temperature of the visit [mΩ/m]
    """
    shortest, longest = max(0.0, bond.length_m - bond.length_tol_m), bond.length_m + bond.length_tol_m
    return Band(
        *band_ohm(shortest, longest, r_mohm_per_m, make, joint_ohm),
        "Ω",
        (
            f"{bond.length_m:g} ± {bond.length_tol_m:g} m of {bond.csa_mm2:g} mm² at {r_mohm_per_m:.3g} mΩ/m",
            f"real conductors {make[0]:g} to {make[1]:g} of the maximum",
            f"joint 0 to {joint_ohm:g} Ω",
        ),
    )


def expect(test: str, copper: Band, path: Band | None, display: Display, joint_ohm: float) -> Expectation:
    """The band that a test of a whole bond should show.

    copper  the conductor alone;  path  known parallel metal, None when only unknown metal may be there
    Unknown metal can only lower *together* and can make *path* anything, so their lower edge is zero.
    """
    unknown = "unknown metal may join MET and the part"
    if test == CONDUCTOR:
        band: Band | None = copper
        assumed = (*copper.assumed, "its MET end off, so nothing else can answer")
    elif test == CLAMP_BODY:
        band = Band(copper.low, max(copper.low, copper.high - joint_ohm), "Ω")
        assumed = (*copper.assumed[:2], "joint left out")
    elif test == TOGETHER:
        high = copper.high if path is None else copper.high * path.high / (copper.high + path.high)
        band = Band(0.0, high, "Ω")
        assumed = (*copper.assumed, unknown)
    elif test == PATH:
        band = None if path is None else Band(0.0, path.high, "Ω")
        assumed = (unknown, "the bond itself is off")
    elif test == JOINT:
        band = Band(0.0, joint_ohm, "Ω")
        assumed = (f"a clean, tight joint is 0 to {joint_ohm:g} Ω",)
    else:
        raise ValueError(f"no expectation is known for the test {test!r}")
    return Expectation(test, band, None if band is None else on_display(band, display), copper, assumed)


def on_display(band: Band, display: Display) -> Band:
    """The digits a display may show for true values in a band, limits of error and rounding included."""
    scale, slack = display.pct / 100.0, display.digits * display.step
    low = math.floor((band.low * (1.0 - scale) - slack) / display.step + 0.5) * display.step
    high = band.high
    if not math.isinf(high):
        high = math.floor((high * (1.0 + scale) + slack) / display.step + 0.5) * display.step
    return Band(max(0.0, low), max(0.0, high), band.unit, band.assumed)


@frozen
class Closure:
    """Whether three readings of one bond hang together: ``1/together = 1/conductor + 1/path``.

    predicted   together, worked out from the other two [Ω]
    difference  measured minus predicted, with the uncertainty of all three
    closes      whether zero lies in its 95 % interval
    """

    predicted: float
    difference: Quantity
    closes: bool


def close(conductor: Quantity, path: Quantity | None, together: Quantity) -> Closure:
    """Check three readings against each other; ``path`` None means over-range, no parallel path.

    Sensitivities of ``t = c·p/(c + p)``: ∂t/∂c = (p/(c+p))², ∂t/∂p = (c/(c+p))².
    """
    c = max(conductor.value, 0.0)
    parts: tuple[tuple[float, Quantity], ...]
    if path is None:
        predicted, parts = c, ((1.0, conductor),)
    else:
        p = max(path.value, 0.0)
        total = c + p
        share_c, share_p = (p / total, c / total) if total else (0.5, 0.5)
        predicted = c * p / total if total else 0.0
        parts = ((share_c**2, conductor), (share_p**2, path))
    difference = combine(together.value - predicted, together.unit, ((1.0, together), *((-s, q) for s, q in parts)))
    return Closure(predicted, difference, abs(difference.value) <= difference.expanded())
