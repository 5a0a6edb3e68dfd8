"""The rules of one visit: edition chosen once, look-ups that turn a missing rule into words instead of a guess."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from functools import lru_cache

from attrs import evolve

from ..base.errors import Finding, NoRule
from ..base.quantity import Limit, exact
from ..outcomes.assessment import EditionUsed, SizeJudged, SizeStepTaken
from ..outcomes.verdict import FAILS, judge, no_rule, not_decided
from ..physics.conductor import factor_of
from ..rules import Edition, RuleBook, cited
from ..rules.lookup import CONDUCTORS, conductor_mohm_per_m, continuity_guidance, joint_guidance
from ..rules.sizes import as_conductance, main_bond_min, standard_sizes, supplementary_bond_min
from ..site.installation import Bond
from ..site.visit import Visit

_MAY_ACQUIT = (
    "The earthing conductor is required {needed} by the table. Worked out by the adiabatic equation{cited} at {twice:g} mm² "
    "or less, the bond would be large enough"
)


def _of_dates(visit: Visit) -> Iterator[Finding]:
    """A day of design that decides nothing is told."""
    if visit.designed is not None and visit.rules_on != visit.designed:
        yield Finding.of(
            "rules.designed",
            "visit: designed",
            "A condition is judged by the edition of the day of the inspection; the day of the design decides nothing here.",
            "",
            "a day of design for an initial verification or minor works",
            str(visit.designed),
        )


@lru_cache(maxsize=512)
def resistance(
    book: RuleBook, on: dt.date, material: str, csa_mm2: float, temp_c: float, iec_class: int
) -> float | str:
    """Largest resistance of a conductor on a day [mΩ/m]; why there is none, in words."""
    try:
        row = conductor_mohm_per_m(book, on, material, iec_class, csa_mm2)
    except NoRule as error:
        return str(error)
    return float(row.value) * factor_of(material, temp_c)


class Rulings:
    """What the rules say for one visit.

    ``findings`` holds what must be said about the rules themselves (an edition that is not open, a missing size).
    """

    def __init__(self, visit: Visit, book: RuleBook | None = None) -> None:
        self._visit = visit
        self._book = book or RuleBook.load()
        self.findings: list[Finding] = []
        self._wiring: Edition | None = None
        self._why_none = ""
        try:
            self._wiring = self._book.wiring_for(visit.rules_on, visit.choices.edition)
        except NoRule as error:
            self._why_none = str(error)
            self.findings.append(
                Finding.of(
                    "rules.edition",
                    "visit: date",
                    "No edition of the wiring rules is known for this visit.",
                    "",
                    "a date and an edition that the data know",
                    f"{visit.rules_on} {visit.choices.edition}".strip(),
                    "What rests on rules is shown as 'no rule'; what rests on physics is judged all the same.",
                    f"{error}.",
                )
            )
        else:
            self.findings += _of_dates(visit)

    @property
    def editions(self) -> tuple[EditionUsed, ...]:
        """The editions used, with the reason."""
        used = []
        if self._wiring is not None:
            last = self._wiring.reviewed_until.isoformat()
            since = "" if self._wiring.reviewed(self._visit.rules_on) else last
            used.append(
                EditionUsed(self._wiring.standard, self._wiring.edition, self._wiring.title, self._why(), last, since)
            )
        try:
            conductors = self._book.edition_for(CONDUCTORS, self._visit.date)
            used.append(EditionUsed(CONDUCTORS, conductors.edition, conductors.title, "resistance of conductors"))
        except NoRule:
            pass
        return tuple(used)

    def _why(self) -> str:
        """Why this edition and no other."""
        assert self._wiring is not None  # asked for under an edition only
        day = self._visit.rules_on
        other = ", ".join(
            e.edition for e in self._book.editions_open(self._wiring.standard, day) if e is not self._wiring
        )
        if self._visit.choices.edition:
            return "chosen for this visit"
        if not self._wiring.reviewed(day):
            return f"the newest that is known; not reviewed since {self._wiring.reviewed_until}"
        when = f"in force on {day}" if day == self._visit.date else f"in force on {day}, the day of the design"
        return f"{when}; {other} could have been chosen too" if other else when

    @property
    def wiring(self) -> Edition | None:
        """The edition of the wiring rules of this visit; None when there is none (``why_none`` says why)."""
        return self._wiring

    @property
    def book(self) -> RuleBook:
        """All rule data."""
        return self._book

    def mohm_per_m(self, bond: Bond, temp_c: float) -> float | None:
        """Largest resistance of the bond's conductor at a temperature [mΩ/m]; None, with a finding, when it is not known."""
        where = f"bond {bond.id}: csa_mm2"
        return self.conductor(bond.material, bond.csa_mm2, temp_c, where, bond.id, bond.iec_class)

    def conductor(
        self, material: str, csa_mm2: float, temp_c: float, where: str, entry: str, iec_class: int = 2
    ) -> float | None:
        """Largest resistance of a conductor at a temperature [mΩ/m]; None, with a finding that names ``where``, if unknown."""
        known = self._resistance(material, csa_mm2, temp_c, iec_class)
        if isinstance(known, float):
            return known
        self._say(  # a note: imperial sizes are sound cable; what is not judged says so itself
            Finding.of(
                "rules.conductor",
                where,
                "The resistance of this conductor is not in the data, so its readings are not judged by its length.",
                entry,
                "a standard size, material and class",
                f"{csa_mm2:g} mm² {material}, class {iec_class}",
                "Check size and material; imperial and other old sizes are rightly entered so.",
                known,
            )
        )
        return None

    def per_metre(self, material: str, csa_mm2: float, iec_class: int) -> float | None:
        """The same at the temperature of the visit [mΩ/m], without a finding: for the network, which asks of everything."""
        known = self._resistance(material, csa_mm2, self._visit.temp_c, iec_class)
        return known if isinstance(known, float) else None

    def _resistance(self, material: str, csa_mm2: float, temp_c: float, iec_class: int) -> float | str:
        return resistance(self._book, self._visit.date, material, csa_mm2, temp_c, iec_class)

    def _say(self, finding: Finding) -> None:
        if finding not in self.findings:
            self.findings.append(finding)

    def joint(self) -> Limit | None:
        """Guidance figure for a joint; None when there is none (``why_no_joint`` says why)."""
        try:
            return None if self._wiring is None else joint_guidance(self._wiring)
        except NoRule:
            return None

    @property
    def why_no_joint(self) -> str:
        """Why there is no guidance figure for a joint; empty when there is one."""
        if self._wiring is None:
            return self._why_none
        try:
            joint_guidance(self._wiring)
        except NoRule as error:
            return str(error)
        return ""

    def continuity(self, expected_ohm: float) -> Limit | None:
        """Guidance figure for the whole run, where there is one."""
        return None if self._wiring is None else continuity_guidance(self._wiring, expected_ohm)

    @property
    def why_none(self) -> str:
        """Why there is no edition; empty when there is one."""
        return self._why_none

    def smaller_sizes(self, bond: Bond) -> list[float]:
        """Standard sizes below the bond's, largest first, for which a resistance is known."""
        if self._wiring is None or not self._wiring.has("sizes.standard"):
            return []
        return [s for s in reversed(standard_sizes(self._wiring)) if s < bond.csa_mm2 and self._known(bond, s)]

    def _known(self, bond: Bond, csa_mm2: float) -> bool:
        try:
            conductor_mohm_per_m(self._book, self._visit.date, bond.material, bond.iec_class, csa_mm2)
        except NoRule:
            return False
        return True

    def size(self, bond: Bond) -> SizeJudged:
        """The fitted size against the clause chain."""
        if self._wiring is None:
            return SizeJudged(no_rule(self._why_none), None, ())
        s = self._visit.site.supply
        try:
            if bond.supplementary:
                chain = supplementary_bond_min(self._wiring, between="extraneous and extraneous", protected=False)
            else:
                chain = main_bond_min(
                    self._wiring,
                    system=s.system,
                    pme=s.pme,
                    earthing_needed_mm2=s.earthing_needed_mm2,
                    line_csa_mm2=s.line_csa_mm2,
                    neutral_csa_mm2=s.neutral_csa_mm2,
                    neutral_at_most=s.neutral_at_most,
                )
        except NoRule as error:
            return SizeJudged(no_rule(str(error)), None, ())
        steps = tuple(
            SizeStepTaken(x.clause, x.inputs, x.value_mm2, x.decided, x.why, x.confidence) for x in chain.steps
        )
        if chain.limit is None:
            missing = "; ".join(chain.unknown)
            return SizeJudged(not_decided(None, f"not known: {missing}"), None, steps, chain.unknown)
        fitted = self._copper_equivalent(bond)
        if fitted is None:
            return SizeJudged(
                not_decided(chain.limit, "the conductance of this material and size is not in the data"),
                chain.needed_mm2,
                steps,
            )
        judged = judge(exact(fitted, "mm²"), chain.limit)
        may_acquit = bond.material == "copper" and judged.outcome == FAILS and any(x.by_table for x in chain.steps)
        if may_acquit:
            judged = evolve(
                judged,
                why=_MAY_ACQUIT.format(
                    cited=cited(self._wiring, "adiabatic"), needed=f"{steps[0].value_mm2:g} mm²", twice=2 * fitted
                ),
            )
        if bond.material != "copper":
            judged = evolve(
                judged,
                why=f"{bond.csa_mm2:g} mm² of {bond.material} conducts like {fitted:.1f} mm² of copper",
            )
        return SizeJudged(judged, chain.needed_mm2, steps, fitted_mm2=fitted, may_acquit=may_acquit)

    def _copper_equivalent(self, bond: Bond) -> float | None:
        if bond.material == "copper":
            return bond.csa_mm2
        try:
            own = conductor_mohm_per_m(self._book, self._visit.date, bond.material, bond.iec_class, bond.csa_mm2).value
            copper = conductor_mohm_per_m(self._book, self._visit.date, "copper", 2, bond.csa_mm2).value
        except NoRule:
            return self._by_resistivity(bond)
        return bond.csa_mm2 * float(copper / own)

    def _by_resistivity(self, bond: Bond) -> float | None:
        """Copper that conducts like a material for which no conductor standard has a size (steel), by its resistivity [mm²]."""
        assert self._wiring is not None  # a size is only asked for under an edition
        try:
            return bond.csa_mm2 / as_conductance(self._wiring, bond.material)
        except NoRule:
            return None
