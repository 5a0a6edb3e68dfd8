"""What goes into the evidence of a whole site and what comes out of it. Frozen; no arithmetic.

A site is the bonds with the metal between them: each bond is whole, impaired or open; a stray link may join any two
parts and any part and the main earthing terminal; known links have a range. A reading belongs to one bond and to the
state it was taken in, that is, what else was off.
"""

from __future__ import annotations

from attrs import field, frozen

from ...base.display import Display
from ...base.quantity import Band
from ...base.same import band, figure, figures, in_bits
from ..bond import DEFAULT_DISPLAY, IMPAIRED, OPEN, Copper, Evidence, Model, Observed
from ..worth import Worth

QUADRATURE, SAMPLED = "single-bond quadrature", "sampled"


@frozen
class SiteModel:
    """The constants of the site model, beside those of one bond. Named, printed, and kept with every record.

    bond      the constants of one bond (:class:`earthwright.evidence.bond.Model`)
    between   stray links to other parts that a part has on average, at most the chance that one bond's path has:
              any two of n parts are joined with chance min(1 − path_absent, between/(n − 1))
    level     a reading fits nothing when digits as unlikely as its own come up less often than this, divided by the
              number of readings looked at
    alike     two hypotheses that no available reading parts by this many bits cannot be told apart
    weight    a hypothesis counts as still possible from this weight on
    seed      of the generator;  batches  independent ones, whose spread is the stated error
    draws     networks drawn in each batch for a site of six bonds, in proportion more for fewer (at most six times)
    followed  how many of them are gone on with, likewise, for how many ``rounds``
    """

    bond: Model = field(factory=Model)
    between: float = 0.70
    level: float = 0.001
    alike: float = 0.05
    weight: float = 0.01
    seed: int = 20261125
    batches: int = 8
    draws: int = 60
    followed: int = 8
    rounds: int = 1

    def effort(self, bonds: int) -> tuple[int, int]:
        """Networks drawn in each batch and how many of them are followed: small sites cost less, so they get more."""
        times = max(1.0, 6.0 / bonds)
        return round(self.draws * times), round(self.followed * times)


@frozen
class SiteBond:
    """One conductor from the MET to a part, or to a point of a circuit, with what is known of its copper.

    title  the name in words of what it leads to;  circuit  set for the protective conductor of a circuit
    """

    id: str
    part: str
    copper: Copper
    title: str = ""
    circuit: str = ""

    @property
    def leads_to(self) -> str:
        """Where it leads, in words."""
        return self.title or self.part if self.circuit else f"the {self.title or self.part}"

    @property
    def said(self) -> str:
        """Its name in words: ``bond to the water pipe``, ``protective conductor to c2 at the boiler``."""
        return f"{'protective conductor' if self.circuit else 'bond'} to {self.leads_to}"

    @property
    def near_end(self) -> str:
        """Which of its ends is taken off."""
        return "board end" if self.circuit else "MET end"


@frozen
class SiteLink:
    """Metal that is known to join two nodes, its resistance log-uniform between two values [Ω]."""

    id: str
    a: str
    b: str
    r_low_ohm: float
    r_high_ohm: float


@frozen
class SiteReading:
    """One reading: which bond, what it showed, and the ids of the other bonds and links that were off."""

    id: str
    bond: str
    observed: Observed
    off: frozenset[str] = frozenset()


@frozen
class Option:
    """A reading that could be taken next: at which bond, of which kind, with which display.

    opens  terminals that have to be moved for it: an end taken off, something put back first
    """

    bond: str
    test: str
    display: Display = DEFAULT_DISPLAY
    opens: int = 0


@frozen
class SiteData:
    """All that is weighed together.

    withheld  bonds of which a reading could not be read, or that were read open with no repair noted: no verdict;  left_out  circuits whose protective
              conductors are tied to them as well, left out because there are too many
    gone      conductors and links as they were before they were put right: part of the network for the readings of then,
              off in every other; nothing more is asked of them
    """

    bonds: tuple[SiteBond, ...]
    readings: tuple[SiteReading, ...]
    links: tuple[SiteLink, ...] = ()
    model: SiteModel = field(factory=SiteModel)
    withheld: frozenset[str] = frozenset()
    left_out: tuple[str, ...] = ()
    gone: frozenset[str] = frozenset()


@frozen
class BondWeighed:
    """One bond in the light of all readings of the site.

    evidence   posterior weights, Bayes factors and verdict, as for one bond; the verdict allows for the error
    error      standard error of log10 whole/impaired and whole/open, from the sampling; 0 where nothing was sampled
    alone      the same from the bond's own readings by quadrature;  withheld  a reading of it could not be read
    said       its name in words;  circuit  set for the protective conductor of a circuit, whose id ``bond`` then holds
               as the ledger has it (``c2:cpc``)
    """

    bond: str
    evidence: Evidence
    alone: Evidence
    error: dict[str, float] = field(factory=dict, converter=figures)
    withheld: bool = False
    said: str = ""
    circuit: str = ""

    def near(self, hypothesis: str) -> bool:
        """Whether a Bayes factor lies within a power of ten of a verdict, so that its error matters."""
        return abs(self._factors[hypothesis]) < self.evidence.model.decide + 1.0

    @property
    def _factors(self) -> dict[str, float]:
        return {IMPAIRED: self.evidence.whole_over_impaired, OPEN: self.evidence.whole_over_open}

    @property
    def weaker(self) -> bool:
        """Whether one Bayes factor lies below the threshold by more than two of its standard errors."""
        return any(self._factors[h] + 2.0 * e < self.evidence.model.decide for h, e in self.error.items())

    @property
    def moved(self) -> bool:
        """Whether the whole network says something else than the bond's own readings."""
        return (self.evidence.verdict, self.evidence.named) != (self.alone.verdict, self.alone.named)


@frozen
class StrayLink:
    """A link between two nodes that is no bond, after the readings.

    present  chance that it is there;  band  95 % band of its resistance where it is [Ω]
    known    it was entered, so its presence was never in doubt
    """

    a: str
    b: str
    present: float = field(converter=figure)
    band: Band | None = field(converter=band)
    known: str = ""


@frozen
class Misfit:
    """A reading that fits nothing.

    chance  how often digits as unlikely would come up, all other readings given, if it was taken as stated
    level   below which that is said
    """

    reading: str
    bond: str
    chance: float = field(converter=figure)
    level: float


@frozen
class Alike:
    """Two hypotheses on one bond that no available reading can tell apart; ``bits`` is the most that one could bring."""

    bond: str
    hypotheses: tuple[str, str]
    bits: float = field(converter=in_bits)
    why: str = ""


@frozen
class SiteWorth:
    """What one more reading would be worth for the whole site.

    own   what it would be worth for its own bond;  bits  expected information, summed over all bonds
    """

    option: Option
    own: Worth
    bits: float = field(converter=in_bits)


@frozen
class SiteEvidence:
    """The whole network at once.

    method   how it was worked out;  rounds  draws kept;  error  largest standard error of a log10 Bayes factor that
             is within a power of ten of a verdict
    worths   every available reading, best first;  next  the one to make, None when nothing is worth its trouble
    """

    bonds: tuple[BondWeighed, ...]
    strays: tuple[StrayLink, ...]
    misfits: tuple[Misfit, ...]
    alike: tuple[Alike, ...]
    worths: tuple[SiteWorth, ...]
    next: SiteWorth | None
    method: str
    rounds: int
    error: float = field(converter=figure)
    model: SiteModel
    words: str = ""

    def of(self, bond: str) -> BondWeighed:
        """What was found for one bond. Raises KeyError."""
        for found in self.bonds:
            if found.bond == bond:
                return found
        raise KeyError(bond)
