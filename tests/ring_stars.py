"""The stars of a ring: what every dead test should read at every socket, whole or with one fault.

An independent way to the readings of a ring, against which the weighing of rings is held.

Any ring, seen from one socket, is a star per conductor: an arm to leg 1, an arm to leg 2, and a stem that
only the socket itself uses. Arms and stems are metres of the same cable for line, neutral and protective
conductor, so one geometry serves all three; a broken conductor has an infinite arm. Joining the legs
crosswise leaves two branches side by side. All lengths are metres of cable from leg 1; ohms come in only
with the conductor's mΩ/m.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from earthwright.physics.domain import MOST, OutOfDomain, not_negative, positive
from earthwright.physics.ring import quarter_ohm as quarter_ohm

Conductor = Literal["line", "neutral", "cpc"]


class Star(NamedTuple):
    """One conductor seen from a socket: metres to leg 1, to leg 2, and of the stem; infinite if broken."""

    arm1_m: float
    arm2_m: float
    stem_m: float


@dataclass(frozen=True, slots=True)
class Cable:
    """Resistance per metre of the three conductors, at the temperature of the test [mΩ/m]."""

    line_mohm_per_m: float
    neutral_mohm_per_m: float
    cpc_mohm_per_m: float

    def __post_init__(self) -> None:
        """Raise OutOfDomain unless all three are positive and finite."""
        for name in ("line_mohm_per_m", "neutral_mohm_per_m", "cpc_mohm_per_m"):
            positive(name, getattr(self, name))


@dataclass(frozen=True, slots=True)
class RingReadings:
    """Expected readings of a ring [Ω], infinite where the instrument should show over-range.

    r1_ohm, rn_ohm, r2_ohm  end to end of line, neutral, protective conductor
    ln_ohm                  line to neutral at every socket, legs cross-connected, in the order given
    le_ohm                  line to protective conductor likewise
    in_service_ohm          R1+R2 at every socket with the ring connected as used, as Zs - Ze sees it
    """

    r1_ohm: float
    rn_ohm: float
    r2_ohm: float
    ln_ohm: tuple[float, ...]
    le_ohm: tuple[float, ...]
    in_service_ohm: tuple[float, ...]


def _beside(x: float, y: float) -> float:
    """Two lengths of cable side by side; either may be zero or infinite."""
    if x == math.inf or y == math.inf:
        return min(x, y)
    return x * y / (x + y) if x + y else 0.0


def _on_ring(length_m: float, *places: tuple[str, float]) -> None:
    positive("length_m", length_m)
    for name, place in places:
        _within(name, place, length_m)


def _within(name: str, place: float, length_m: float) -> None:
    if not_negative(name, place) > length_m:
        raise OutOfDomain(f"{name}: expected 0 … {length_m:g} m, found {place!r}")


def _checked(*stars: Star) -> None:
    """Raise OutOfDomain unless every length is a finite one or that of a broken arm; NaN fails every comparison."""
    for star in stars:
        for length in star:
            if not (0 <= length <= MOST or length == math.inf):
                raise OutOfDomain(f"star: expected lengths of 0 … {MOST:g} m or infinity, found {tuple(star)!r}")


def whole(length_m: float, x_m: float, spur_m: float = 0.0) -> Star:
    """Star of an unbroken ring: x to leg 1, L - x to leg 2, a spur as stem.

    length_m [m] > 0; x_m [m] 0 … L; spur_m [m] >= 0 of spur cable to the socket. Raises OutOfDomain.
    Source: geometry.
    """
    _on_ring(length_m, ("x_m", x_m))
    not_negative("spur_m", spur_m)
    return Star(x_m, length_m - x_m, spur_m)


def broken(length_m: float, x_m: float, break_m: float, spur_m: float = 0.0) -> Star:
    """Star of a conductor broken at one point: the arm across the break is infinite.

    break_m [m] 0 … L; a socket exactly at the break is taken to hang on the side of leg 1. Others as whole.
    Raises OutOfDomain. Source: geometry. Checked with the profile of an 84 m ring broken after 50 m.
    """
    _on_ring(length_m, ("x_m", x_m), ("break_m", break_m))
    not_negative("spur_m", spur_m)
    return Star(x_m, math.inf, spur_m) if x_m <= break_m else Star(math.inf, length_m - x_m, spur_m)


def bridged(length_m: float, x_m: float, from_m: float, to_m: float, via_m: float, spur_m: float = 0.0) -> Star:
    """Star of a ring within a ring: a cable of via_m joins the points from_m and to_m as well.

    0 <= from_m < to_m <= L [m]; via_m [m] >= 0; others as whole. Outside the bridge its two ways lie side
    by side in one arm; inside it, the triangle p = x - from, q = to - x, via becomes a star of p·via/s,
    q·via/s, p·q/s, s = p + q + via. Raises OutOfDomain. Source: delta-star change. Checked with nodal
    analysis and an 84 m ring bridged 20 to 60 m by 6 m.
    """
    _bridge(length_m, x_m, from_m, to_m, via_m, spur_m)
    if x_m <= from_m:
        return Star(x_m, from_m - x_m + _beside(to_m - from_m, via_m) + length_m - to_m, spur_m)
    if x_m >= to_m:
        return Star(from_m + _beside(to_m - from_m, via_m) + x_m - to_m, length_m - x_m, spur_m)
    return _inside(from_m, length_m - to_m, x_m - from_m, to_m - x_m, via_m, spur_m)


def on_bridge(length_m: float, y_m: float, from_m: float, to_m: float, via_m: float, spur_m: float = 0.0) -> Star:
    """Star of a socket on the bridging cable itself, y_m from its end at from_m.

    y_m [m] 0 … via_m; others as bridged. Raises OutOfDomain. Source: as bridged, the two ways changed over.
    """
    _bridge(length_m, from_m, from_m, to_m, via_m, spur_m)
    _within("y_m", y_m, via_m)
    return _inside(from_m, length_m - to_m, y_m, via_m - y_m, to_m - from_m, spur_m)


def _bridge(length_m: float, x_m: float, from_m: float, to_m: float, via_m: float, spur_m: float) -> None:
    _on_ring(length_m, ("x_m", x_m), ("from_m", from_m), ("to_m", to_m))
    not_negative("via_m", via_m)
    not_negative("spur_m", spur_m)
    if not from_m < to_m:
        raise OutOfDomain(f"from_m: expected less than to_m {to_m:g} m, found {from_m!r}")


def _inside(before: float, after: float, p: float, q: float, other: float, spur: float) -> Star:
    """Star of a socket inside a loop of p, q and the other way round."""
    s = p + q + other
    return Star(before + p * other / s, after + q * other / s, p * q / s + spur)


def linked(
    length_m: float,
    link_m: float,
    via_m: float,
    other_length_m: float,
    other_link_m: float,
    y_m: float,
    other_joined: bool,
) -> Star:
    """Star of a socket of *another* ring that a stray cable joins to this one; sound, it reads over-range.

    length_m [m] of this ring, the cable of via_m [m] leaves it at link_m and meets the other ring, of
    other_length_m, at other_link_m; the socket is y_m along that ring; other_joined: whether the other
    ring's legs are joined to each other. Arms end at link_m, all the rest is stem. Raises OutOfDomain.
    Source: geometry. Checked with nodal analysis.
    """
    _on_ring(length_m, ("link_m", link_m))
    _on_ring(other_length_m, ("other_link_m", other_link_m), ("y_m", y_m))
    not_negative("via_m", via_m)
    apart = abs(y_m - other_link_m)
    way = _beside(apart, other_length_m - apart) if other_joined else apart
    return Star(link_m, length_m - link_m, via_m + way)


def end_to_end_ohm(star: Star, mohm_per_m: float) -> float:
    """Resistance leg to leg of one conductor: r·(arm1 + arm2), the stem carries nothing.

    star from any socket of the ring; mohm_per_m [mΩ/m] > 0. Returns [Ω]. Raises OutOfDomain. Source:
    geometry.
    """
    _checked(star)
    return (star.arm1_m + star.arm2_m) * positive("mohm_per_m", mohm_per_m) / 1000


def crossed_ohm(first: Star, second: Star, first_mohm_per_m: float, second_mohm_per_m: float) -> float:
    """Between two conductors at a socket, leg 1 of one joined to leg 2 of the other and the other way round.

    R = a·stem + b·stem' + (a·arm1 + b·arm2') ‖ (a·arm2 + b·arm1'). first, second: the stars; a, b [mΩ/m] >
    0. Returns [Ω]. Raises OutOfDomain. Source: two-branch network. Checked with (r1+rn)/4 of a whole ring,
    nodal analysis.
    """
    _checked(first, second)
    a, b = positive("first_mohm_per_m", first_mohm_per_m), positive("second_mohm_per_m", second_mohm_per_m)
    return _crossed(first, second, a, b)


def uncrossed_ohm(first: Star, second: Star, first_mohm_per_m: float, second_mohm_per_m: float) -> float:
    """Between two conductors at a socket when each leg was joined to its own fellow instead of crosswise.

    R = a·stem + b·stem' + (a·arm1 + b·arm1') ‖ (a·arm2 + b·arm2'); rises to the middle of the ring, falls
    again. Arguments and raises as crossed_ohm. Returns [Ω]. Source: two-branch network. Checked with nodal
    analysis.
    """
    _checked(first, second)
    a, b = positive("first_mohm_per_m", first_mohm_per_m), positive("second_mohm_per_m", second_mohm_per_m)
    return _uncrossed(first, second, a, b)


def _crossed(first: Star, second: Star, a: float, b: float) -> float:
    return _branches(first, second.arm2_m, second.arm1_m, second.stem_m, a, b)


def _uncrossed(first: Star, second: Star, a: float, b: float) -> float:
    return _branches(first, second.arm1_m, second.arm2_m, second.stem_m, a, b)


def _branches(first: Star, with_arm1: float, with_arm2: float, stem: float, a: float, b: float) -> float:
    two = _beside(a * first.arm1_m + b * with_arm1, a * first.arm2_m + b * with_arm2)
    return (a * first.stem_m + b * stem + two) / 1000


def in_service_ohm(line: Star, cpc: Star, line_mohm_per_m: float, cpc_mohm_per_m: float) -> float:
    """R1+R2 of a socket with both legs connected at the board.

    R = a·(stem + arm1 ‖ arm2) + b·(stem' + arm1' ‖ arm2').
    line, cpc: the stars; line_mohm_per_m, cpc_mohm_per_m [mΩ/m] > 0. Returns [Ω]. Raises OutOfDomain.
    Source: two-branch network. Checked with the 84 m ring broken after 50 m: 0.150 + 0.605 Ω.
    """
    _checked(line, cpc)
    a, b = positive("line_mohm_per_m", line_mohm_per_m), positive("cpc_mohm_per_m", cpc_mohm_per_m)
    return _in_service(line, cpc, a, b)


def _in_service(line: Star, cpc: Star, a: float, b: float) -> float:
    line_m, cpc_m = (
        _beside(line.arm1_m, line.arm2_m) + line.stem_m,
        _beside(cpc.arm1_m, cpc.arm2_m) + cpc.stem_m,
    )
    return (a * line_m + b * cpc_m) / 1000


def readings(
    cable: Cable, line: Sequence[Star], neutral: Sequence[Star], cpc: Sequence[Star], crossed: bool = True
) -> RingReadings:
    """All readings from the stars of the three conductors at every socket; the other functions end here.

    cable [mΩ/m]; line, neutral, cpc: one star [m] a socket each, at least one socket; crossed: whether the
    legs were crossed over. Returns RingReadings [Ω]. Raises OutOfDomain when the three lists differ in
    length or are empty, or a star is none. Source: two-branch network. Checked with nodal analysis.
    """
    if not len(line) == len(neutral) == len(cpc) > 0:
        raise OutOfDomain(
            f"sockets: expected as many for each conductor, found {len(line)}, {len(neutral)}, {len(cpc)}"
        )
    _checked(*line, *neutral, *cpc)
    return _readings(cable, line, neutral, cpc, crossed)


def _readings(
    cable: Cable, line: Sequence[Star], neutral: Sequence[Star], cpc: Sequence[Star], crossed: bool
) -> RingReadings:
    """As readings, for stars made here, which need no second look: many rings are tried to fit one."""
    if not line:
        raise OutOfDomain("sockets: expected at least one, found none")
    between = _crossed if crossed else _uncrossed
    a, n, e = cable.line_mohm_per_m, cable.neutral_mohm_per_m, cable.cpc_mohm_per_m
    return RingReadings(
        (line[0].arm1_m + line[0].arm2_m) * a / 1000,
        (neutral[0].arm1_m + neutral[0].arm2_m) * n / 1000,
        (cpc[0].arm1_m + cpc[0].arm2_m) * e / 1000,
        tuple([between(one, two, a, n) for one, two in zip(line, neutral, strict=True)]),
        tuple([between(one, two, a, e) for one, two in zip(line, cpc, strict=True)]),
        tuple([_in_service(one, two, a, e) for one, two in zip(line, cpc, strict=True)]),
    )


def _spurs(sockets_m: Sequence[float], spurs_m: Sequence[float]) -> Sequence[float]:
    if spurs_m and len(spurs_m) != len(sockets_m):
        raise OutOfDomain(f"spurs_m: expected none or {len(sockets_m)}, one a socket, found {len(spurs_m)}")
    return spurs_m or [0.0] * len(sockets_m)


def whole_ring(
    cable: Cable,
    length_m: float,
    sockets_m: Sequence[float],
    spurs_m: Sequence[float] = (),
    crossed: bool = True,
) -> RingReadings:
    """A sound ring, with spurs if any, legs crossed over or not.

    length_m [m] > 0; sockets_m [m] places along the ring; spurs_m [m] spur cable to each socket, 0 for
    none, or empty. Returns RingReadings. Raises OutOfDomain. Source: geometry. Checked with
    published (r1+rn)/4 and nodal analysis.
    """
    stars = [whole(length_m, x, s) for x, s in zip(sockets_m, _spurs(sockets_m, spurs_m), strict=True)]
    return _readings(cable, stars, stars, stars, crossed)


def broken_ring(
    cable: Cable,
    length_m: float,
    sockets_m: Sequence[float],
    break_m: float,
    conductors: Sequence[Conductor],
    spurs_m: Sequence[float] = (),
    crossed: bool = True,
) -> RingReadings:
    """A ring with one or more conductors broken at one place.

    break_m [m] 0 … L; conductors: which of line, neutral, cpc. Others as whole_ring. Raises OutOfDomain.
    Source: geometry. Checked with the 84 m ring whose cpc is broken after 50 m, and nodal analysis.
    """
    if unknown := set(conductors) - {"line", "neutral", "cpc"}:
        raise OutOfDomain(f"conductors: expected line, neutral or cpc, found {', '.join(sorted(map(str, unknown)))}")
    spurs = _spurs(sockets_m, spurs_m)
    sound = [whole(length_m, x, s) for x, s in zip(sockets_m, spurs, strict=True)]
    cut = [broken(length_m, x, break_m, s) for x, s in zip(sockets_m, spurs, strict=True)]
    line, neutral, cpc = (cut if name in conductors else sound for name in ("line", "neutral", "cpc"))
    return _readings(cable, line, neutral, cpc, crossed)


def bridged_ring(
    cable: Cable,
    length_m: float,
    sockets_m: Sequence[float],
    from_m: float,
    to_m: float,
    via_m: float,
    spurs_m: Sequence[float] = (),
    crossed: bool = True,
) -> RingReadings:
    """A ring with a cable of via_m joining two of its points, all three conductors: a ring within a ring.

    0 <= from_m < to_m <= L [m]; via_m [m] >= 0. Others as whole_ring. Raises OutOfDomain.
    Source: geometry. Checked with the 84 m ring bridged from 20 to 60 m by 6 m, and nodal analysis.
    """
    stars = [
        bridged(length_m, x, from_m, to_m, via_m, s) for x, s in zip(sockets_m, _spurs(sockets_m, spurs_m), strict=True)
    ]
    return _readings(cable, stars, stars, stars, crossed)


def swapped_legs(cable: Cable, length_m: float, sockets_m: Sequence[float]) -> RingReadings:
    """Two rings whose second legs were changed over at the board, each pair tested as if it were one ring.

    Leg 1 of this ring and leg 2 of the other have no common conductor: end to end is open, and crosswise
    joining closes no path at any socket; the other ring's test is its mirror. In service, both circuits on,
    the socket is fed from both pairs of terminals, so in_service_ohm is that of the whole ring. length_m
    [m], sockets_m [m] as whole_ring. Raises OutOfDomain. Source: geometry. Checked with nodal analysis of
    both rings.
    """
    sound = whole_ring(cable, length_m, sockets_m)
    opened = (math.inf,) * len(sound.ln_ohm)
    return RingReadings(math.inf, math.inf, math.inf, opened, opened, sound.in_service_ohm)
