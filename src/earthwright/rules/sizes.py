"""The chain of sizes: earthing conductor, main bond, supplementary bond, each step with clause and inputs."""

from __future__ import annotations

from decimal import Decimal

from attrs import evolve, frozen

from ..base.errors import NoRule
from ..base.quantity import Limit
from .model import Edition, RuleValue


@frozen
class SizeStep:
    """One link of a size chain.

    clause, inputs  in words;  value_mm2  what the step gives [mm²], None when something it needs is missing
    decided         whether this step's value is the one that counts
    by_table        whether a size was taken from the table of protective conductors, which a calculation may acquit
    """

    clause: str
    inputs: str
    value_mm2: float | None
    decided: bool
    why: str
    confidence: str
    by_table: bool = False


@frozen
class SizeChain:
    """The steps to a least cross-section.

    needed_mm2  the least cross-section [mm²] in copper, None when it cannot be said;  unknown  what is missing
    limit       the same as a limit to hold the fitted size against
    """

    steps: tuple[SizeStep, ...]
    needed_mm2: float | None
    limit: Limit | None
    unknown: tuple[str, ...] = ()


def standard_sizes(edition: Edition) -> tuple[float, ...]:
    """Standard cross-sections [mm²], ascending."""
    return tuple(float(r.value) for r in edition.table("sizes.standard").all())


def next_standard(edition: Edition, csa_mm2: float) -> float:
    """The next standard cross-section at or above a value [mm²]. Raises NoRule above the largest."""
    for size in standard_sizes(edition):
        if size >= csa_mm2 - 1e-9:
            return size
    raise NoRule(f"{csa_mm2:g} mm² is above the largest standard size in the data")


def earthing_conductor_min(edition: Edition, line_mm2: float) -> SizeStep:
    """Protective conductor of the line conductor's material, without a calculation (543.1.4, table 54.7)."""
    row = edition.table("earthing.conductor").look(line_mm2=line_mm2)
    raw = float(row.number("share")) * line_mm2 + float(row.number("fixed"))
    value = next_standard(edition, raw)
    rounded = "" if value == raw else f", next standard size above {raw:g}"
    return SizeStep(
        row.clause,
        f"line conductor {line_mm2:g} mm²",
        value,
        False,
        f"{value:g} mm²{rounded}",
        row.confidence,
        by_table=True,
    )


def earthing_conductor_chain(
    edition: Edition,
    *,
    line_mm2: float | None,
    calculated_mm2: float | None = None,
    pme: bool = False,
    neutral_mm2: float | None = None,
    buried: tuple[str, str] | None = None,
) -> SizeChain:
    """Least earthing conductor in copper (542.3.1, 543.1): the largest of what each rule asks for.

    line_mm2        line conductor [mm²] for table 54.7, used when nothing was calculated
    calculated_mm2  by the adiabatic equation (543.1.3) [mm²], rounded up to a standard size
    pme, neutral_mm2  under PME not less than table 54.8 by the supply neutral [mm²]
    buried          corrosion and mechanical protection, each ``protected`` or ``not protected`` (table 54.1)
    """
    steps: list[SizeStep] = []
    limits: list[Limit] = []
    unknown: list[str] = []
    if calculated_mm2 is not None:
        size = next_standard(edition, calculated_mm2)
        clause, what = edition.clause("adiabatic"), "earthing conductor"
        steps.append(SizeStep(clause, f"calculated {calculated_mm2:g} mm²", size, False, f"{size:g} mm²", "read"))
        title = edition.table("earthing.conductor").look(line_mm2=1)
        limits.append(evolve(_limit(title, size, what), clause=clause, note="calculated by the adiabatic equation"))
    elif line_mm2 is not None:
        steps.append(earthing_conductor_min(edition, line_mm2))
        row = edition.table("earthing.conductor").look(line_mm2=line_mm2)
        limits.append(_limit(row, steps[-1].value_mm2 or 0.0, "earthing conductor"))
    else:
        unknown.append("a calculated size, or the line conductors")
    if buried is not None:
        corrosion, mechanical = buried
        row = edition.table("earthing.buried").look(
            material="copper", corrosion=corrosion, mechanical=mechanical if corrosion == "protected" else "any"
        )
        inputs = f"buried, corrosion {corrosion}, mechanically {mechanical}"
        steps.append(SizeStep(row.clause, inputs, float(row.value), False, f"{row.value} mm²", row.confidence))
        limits.append(row.as_limit("min", "earthing conductor"))
    if pme and neutral_mm2 is None:
        unknown.append("the copper-equivalent size of the supply neutral")
    elif pme and neutral_mm2 is not None:
        row = edition.table("bond.main.pme").look(neutral_mm2=neutral_mm2)
        inputs = f"PME, supply neutral {neutral_mm2:g} mm² copper-equivalent"
        steps.append(
            SizeStep(row.clause, inputs, float(row.value), False, "not less than the main bond", row.confidence)
        )
        limits.append(row.as_limit("min", "earthing conductor"))
    if unknown:
        return SizeChain(tuple(steps), None, None, tuple(unknown))
    decides = max(range(len(steps)), key=lambda i: limits[i].value)
    told = tuple(evolve(s, decided=i == decides) for i, s in enumerate(steps))
    return SizeChain(told, limits[decides].value, limits[decides])


def by_k(edition: Edition, material: str) -> float:
    """What a protective conductor of another material than the copper line needs for each mm² (543.1.4, table 54.7): k1/k2.

    k1 of a copper core, k2 of a separate conductor, both with 70 °C thermoplastic; 1 for copper itself. Raises NoRule.
    """
    if material.startswith("copper"):
        return 1.0
    table, insulation = edition.table("k.values"), "70 °C thermoplastic"
    own = table.look(use="separate", material=material, insulation=insulation)
    return float(table.look(use="core", material="copper", insulation=insulation).value / own.value)


def as_conductance(edition: Edition, material: str) -> float:
    """mm² of a material that conduct like 1 mm² of copper (544.1.1). Raises NoRule."""
    return float(edition.table("copper.equivalent").look(material=material).value)


def pme_least(edition: Edition, neutral_mm2: float | None) -> tuple[RuleValue, RuleValue]:
    """The least and the most that table 54.8 may ask for: twice the same where the supply neutral is known. Raises NoRule."""
    table = edition.table("bond.main.pme")
    if neutral_mm2 is not None:
        row = table.look(neutral_mm2=neutral_mm2)
        return row, row
    rows = sorted(table.all(), key=lambda r: r.value)
    return rows[0], rows[-1]


def main_bond_min(
    edition: Edition,
    *,
    system: str | None,
    pme: bool | None,
    earthing_needed_mm2: float | None,
    line_csa_mm2: float | None,
    neutral_csa_mm2: float | None,
    neutral_at_most: bool,
) -> SizeChain:
    """Least main bonding conductor (544.1.1), in copper.

    PME (or a TN-C-S supply for which nobody has said otherwise): table 54.8 by the supply neutral. Otherwise half of
    the earthing conductor that is *required*, at least 6 mm², not more than 25 mm² asked for.
    """
    if system is None and pme is None:
        return SizeChain((), None, None, ("the earthing arrangement (TN-S, TN-C-S, TT) and whether PME applies",))
    presumed = pme is None and system == "TN-C-S"
    if pme or presumed:
        return _by_pme(edition, neutral_csa_mm2, neutral_at_most, presumed)
    return _by_earthing(edition, earthing_needed_mm2, line_csa_mm2)


def _by_pme(edition: Edition, neutral_mm2: float | None, at_most: bool, presumed: bool) -> SizeChain:
    table = edition.table("bond.main.pme")
    first = SizeStep(
        edition.clause("bond.size"),
        "TN-C-S, nobody has said that PME does not apply" if presumed else "PME conditions apply",
        None,
        False,
        "the supply neutral decides",
        table.source.confidence,
    )
    if neutral_mm2 is None:
        return SizeChain((first,), None, None, ("the copper-equivalent size of the supply neutral",))
    row = table.look(neutral_mm2=neutral_mm2)
    edge = "at most " if at_most else ""
    step = SizeStep(
        row.clause,
        f"supply neutral {edge}{neutral_mm2:g} mm² copper-equivalent",
        float(row.value),
        True,
        "the distributor may ask for more",
        row.confidence,
    )
    return SizeChain((first, step), float(row.value), row.as_limit("min", "main bonding conductor"))


def _by_earthing(edition: Edition, earthing_needed_mm2: float | None, line_csa_mm2: float | None) -> SizeChain:
    row = edition.table("bond.main.other").look()
    steps: list[SizeStep] = []
    if earthing_needed_mm2 is None and line_csa_mm2 is not None:
        from_line = earthing_conductor_min(edition, line_csa_mm2)
        steps.append(from_line)
        earthing_needed_mm2 = from_line.value_mm2
    if earthing_needed_mm2 is None:
        missing = "the cross-section that the earthing conductor is required to have (calculated, or from the line conductors)"
        return SizeChain((), None, None, (missing,))
    half = float(row.number("share")) * earthing_needed_mm2
    least, most = float(row.number("least")), float(row.number("need_not_exceed"))
    wanted = min(max(half, least), most)
    value = next_standard(edition, wanted)
    if half < least:
        why = f"half is {half:g}, but at least {least:g} mm²"
    elif half > most:
        why = f"half is {half:g}, but no more than {most:g} mm² is asked for"
    else:
        why = f"half is {half:g}" + ("" if value == half else f", next standard size {value:g}")
    steps.append(
        SizeStep(
            row.clause,
            f"earthing conductor required {earthing_needed_mm2:g} mm²",
            value,
            True,
            why,
            row.confidence,
        )
    )
    return SizeChain(tuple(steps), value, _limit(row, value, "main bonding conductor"))


def supplementary_bond_min(
    edition: Edition, *, between: str, protected: bool, smaller_cpc_mm2: float | None = None
) -> SizeChain:
    """Least supplementary bonding conductor (544.2).

    between  ``extraneous and extraneous``, ``exposed and exposed`` or ``exposed and extraneous``
    protected  sheathed or otherwise mechanically protected;  smaller_cpc_mm2  the smaller cpc of the exposed parts [mm²]
    """
    row = edition.table("bond.supplementary").look(between=between, protected=protected)
    share = float(row.number("share"))
    if share and smaller_cpc_mm2 is None:
        return SizeChain((), None, None, ("the cross-section of the smaller circuit protective conductor",))
    wanted = max(share * (smaller_cpc_mm2 or 0.0), float(row.number("least")))
    value = next_standard(edition, wanted)
    inputs = f"{between}, {'' if protected else 'not '}mechanically protected"
    step = SizeStep(row.clause, inputs, value, True, f"at least {wanted:g} mm²", row.confidence)
    return SizeChain((step,), value, _limit(row, value, "supplementary bonding conductor"))


def _limit(row: RuleValue, value: float, what: str) -> Limit:
    return Limit(
        value,
        "mm²",
        "min",
        what,
        row.clause,
        row.document,
        f"{row.standard}:{row.edition}",
        row.confidence,
        row.note,
    )


def conducts_like_copper(csa_mm2: float, r_mohm_per_m: float, r_copper_mohm_per_m: float) -> Decimal:
    """Cross-section of copper that conducts as well [mm²]: ``S · r_copper / r``."""
    return Decimal(str(round(csa_mm2 * r_copper_mohm_per_m / r_mohm_per_m, 4)))
