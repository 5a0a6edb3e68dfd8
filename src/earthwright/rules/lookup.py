"""Single figures by name, each with its source."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from ..errors import NoRule
from ..quantity import Limit
from .load import RuleBook
from .model import Edition, RuleValue

WIRING = "BS 7671"
CONDUCTORS = "IEC 60228"


def conductor_mohm_per_m(book: RuleBook, on: dt.date, material: str, iec_class: int, csa_mm2: float) -> RuleValue:
    """Largest resistance at 20 °C [mΩ/m] of a conductor (IEC 60228). Raises NoRule for a size that is not standard."""
    edition = book.edition_for(CONDUCTORS, on)
    return edition.table("conductor.resistance").look(
        material=material, iec_class=Decimal(iec_class), csa_mm2=Decimal(str(csa_mm2))
    )


def k_value(edition: Edition, use: str, material: str, insulation: str) -> RuleValue:
    """k of the adiabatic equation [A·s^½/mm²] (tables 54.2 to 54.6)."""
    return edition.table("k.values").look(use=use, material=material, insulation=insulation)


def joint_guidance(edition: Edition) -> Limit:
    """Guidance figure for a joint between clamp and part [Ω]; not a limit of the standard."""
    return edition.table("joint.guidance").look().as_limit("max", "joint")


def continuity_guidance(edition: Edition, expected_ohm: float) -> Limit | None:
    """Guidance figure for a bond end to end [Ω], given only where less than 0.1 Ω is expected; else None."""
    try:
        row = edition.table("continuity.guidance").look(expected_ohm=expected_ohm)
    except NoRule:
        return None
    return row.as_limit("max", "bond end to end")


def extraneous_thresholds(edition: Edition) -> tuple[RuleValue, ...]:
    """The customary thresholds [Ω] between part and MET, with the body current behind each."""
    return edition.table("extraneous.thresholds").all()
