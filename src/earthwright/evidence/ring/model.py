"""What goes into the weighing of a ring, its stated priors, and what comes out. Frozen; no arithmetic."""

from __future__ import annotations

from attrs import field, frozen

from ...base.quantity import Band
from ...base.same import band, bands, edges, figure
from ...base.same import scores as scored
from ...site.assumptions import USUAL, Assumptions
from ..bond import Model, Observed
from ..priors import MOST_OHM

WHOLE, BRIDGE, UNEXPLAINED = "whole", "bridge", "none of these"
NOT_CROSSED = "legs not crossed"
TOO_SHORT = "shorter than the estimate"
UNSEEN = "a bridge would not have shown"
LEADS = "the leads were not shorted afterwards"
OPEN_OR_LINKED = "break in every conductor or cross-linked rings"
CONDUCTORS = ("line", "neutral", "cpc")


@frozen
class Priors:
    """The constants of the weighing; every hypothesis is as likely as any other before the readings.

    make, core      a ring's conductors as a share of the maximum of IEC 60228, rectangular; line and neutral differ by
                    at most ± ``core``
    ratio_tail      chance that r2/r1 is not that of the stated sizes (other size, metal beside the cpc)
    spurs, spur_m   spurs that a ring has on average, at most 0.4 a socket; length of one, log-uniform [m]
    extra_ohm       added resistance of a poor joint, log-uniform [Ω]; below the first it is not told from a sound ring
    via_m           cable of a bridge, log-uniform [m]
    inside, bump_ohm  only a bridge that lifts so many sockets by so much [Ω] is told: round one socket it reads like a spur
    contact_ohm     contact at a socket, rectangular from 0 [Ω]
    place_tol_m     places along the ring are known within ± this [m]
    wrong_estimate  what remains of the weight when the length contradicts the estimate, or a place lies beyond the end
    loose, diffuse  of the check "none of these": share of readings that follow nothing, and their chance of a digit
    length_m        range of lengths, log-uniform [m]
    readings        display noise and human error, as for bonds
    """

    make: tuple[float, float] = USUAL.make
    core: float = 0.02
    ratio_tail: float = 0.03
    spurs: float = 1.5
    spur_m: tuple[float, float] = (1.0, 16.0)
    extra_ohm: tuple[float, float] = (USUAL.poor_cpc_ohm, MOST_OHM)
    via_m: tuple[float, float] = (1.0, 40.0)
    bump_ohm: float = 0.05
    inside: int = 2
    contact_ohm: float = 0.01
    place_tol_m: float = 1.0
    wrong_estimate: float = 0.05
    loose: float = 0.2
    diffuse: float = 0.01
    length_m: tuple[float, float] = (8.0, 250.0)
    readings: Model = field(factory=Model)

    @classmethod
    def of(cls, a: Assumptions) -> Priors:
        """The constants for a visit that assumes these."""
        return cls(make=a.make, extra_ohm=(a.poor_cpc_ohm, MOST_OHM), readings=Model.of(a))


@frozen
class SocketRead:
    """One socket: its name, its place along the ring from leg 1 [m] if known, and both crossed readings if taken."""

    point: str
    place_m: float | None
    ln: Observed | None
    le: Observed | None


@frozen
class RingTest:
    """Everything read on one ring.

    line_mohm_per_m, neutral_mohm_per_m, cpc_mohm_per_m  largest resistances at the temperature of the test [mΩ/m]
    r1, rn, r2   end to end, None when not read;  sockets  in their order along the ring from leg 1
    length_m, length_tol_m  estimate of the cable [m], None when there is none
    counted      the number of sockets is stated, so ``sockets`` are all there are
    cpc_known    False when the size of the cpc is assumed, so its ratio to the line is left wide
    """

    line_mohm_per_m: float
    neutral_mohm_per_m: float
    cpc_mohm_per_m: float
    r1: Observed | None
    rn: Observed | None
    r2: Observed | None
    sockets: tuple[SocketRead, ...] = ()
    length_m: float | None = None
    length_tol_m: float | None = None
    cpc_known: bool = True
    counted: bool = False


@frozen
class SpurFound:
    """A socket that reads like one on a spur: how sure [1], and the length of the spur [m]."""

    point: str
    chance: float = field(converter=figure)
    length_m: Band = field(converter=edges)


@frozen
class RingFit:
    """The outcome.

    verdict      proved, disproved or not shown: *the ring is whole*
    named        the hypothesis that the digits single out, empty when they do not;  rivals  those within the threshold of it
    scores       log10 weight of each hypothesis against the best, best first; none below ``-6``
    where_m      95 % band of the place of a break or joint, or from end to end of a bridge [m]
    between      names of the sockets on either side of it, or nearest to a bridge's ends
    ends_m, via_m  95 % bands of a bridge's two ends and of its cable [m]
    implied_m    length that r1 and rn stand for [m]
    spurs        sockets that read like spurs;  ln_expected, le_expected  95 % bands of a whole ring, one a socket [Ω]
    assumed      what was assumed, in words
    """

    verdict: str
    named: str
    rivals: tuple[str, ...]
    scores: tuple[tuple[str, float], ...] = field(converter=scored)
    where_m: Band | None = field(converter=band)
    between: tuple[str, ...]
    ends_m: tuple[Band, ...] = field(converter=bands)
    via_m: Band | None = field(converter=band)
    implied_m: Band | None = field(converter=band)
    spurs: tuple[SpurFound, ...]
    ln_expected: tuple[Band | None, ...] = field(converter=bands)
    le_expected: tuple[Band | None, ...] = field(converter=bands)
    assumed: tuple[str, ...]
    why: str = ""
