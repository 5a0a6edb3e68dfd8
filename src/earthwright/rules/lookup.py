"""Single figures by name, each with its source. The door to all helpers of this package: take them from here."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

from ..base.errors import NoRule
from ..base.quantity import Limit
from .capacity import (
    Capacity,
    ambient_factor,
    carrying_capacity,
    grouping_factor,
    insulation_factor,
    overload_ring,
    overload_share,
    power_direction,
    rcd_general,
)
from .circuits import (
    FIXED,
    SOCKETS,
    RcdLimit,
    armour_mohm_per_m,
    cable_kinds,
    cable_voltage_drop,
    declared_supply,
    disconnection_time,
    flat_cable_cpc,
    insulation_enquire,
    insulation_minimum,
    loop_factor,
    loop_uplift,
    nominal_voltage,
    ra_max,
    ra_stable,
    rcd_limits,
    rcd_required,
    ring_agreement,
    special_location,
    special_sections,
    supplementary_resistance_max,
    touch_limit,
    voltage_drop_limit,
    zs_cold_factor,
)
from .devices import (
    DeviceCurve,
    breaking_capacities,
    breaking_capacity,
    c_min,
    combined_rating,
    conventional_currents,
    device_curve,
    device_family,
    let_through_a2s,
    max_zs,
    operating_current,
)
from .documents import (
    Deadline,
    Proposal,
    deadline,
    deadlines,
    inspection_interval,
    next_inspection_by,
    observation_code,
    observation_codes,
    other_duties,
    overall_assessment,
    rented_edition,
    retention,
)
from .load import WIRING, RuleBook
from .model import Edition, RuleValue
from .sizes import (
    SizeChain,
    SizeStep,
    conducts_like_copper,
    earthing_conductor_chain,
    earthing_conductor_min,
    main_bond_min,
    next_standard,
    standard_sizes,
    supplementary_bond_min,
)

CONDUCTORS = "IEC 60228"
BODY = "IEC 60479-1"
EARTHING = "BS 7430"

__all__ = [
    "BODY",
    "CONDUCTORS",
    "EARTHING",
    "FIXED",
    "SOCKETS",
    "WIRING",
    "Capacity",
    "Deadline",
    "DeviceCurve",
    "Proposal",
    "RcdLimit",
    "SizeChain",
    "SizeStep",
    "ambient_factor",
    "armour_mohm_per_m",
    "body_impedance",
    "bond_position",
    "breaking_capacities",
    "breaking_capacity",
    "c_min",
    "cable_kinds",
    "cable_voltage_drop",
    "carrying_capacity",
    "combined_rating",
    "conductor_mohm_per_m",
    "conducts_like_copper",
    "continuity_guidance",
    "conventional_currents",
    "copper_equivalent",
    "deadline",
    "deadlines",
    "declared_supply",
    "device_curve",
    "device_family",
    "disconnection_time",
    "earthing_conductor_chain",
    "earthing_conductor_min",
    "extraneous_thresholds",
    "flat_cable_cpc",
    "grouping_factor",
    "inspection_interval",
    "insulation_enquire",
    "insulation_factor",
    "insulation_minimum",
    "joint_guidance",
    "k_material",
    "k_value",
    "let_through_a2s",
    "loop_factor",
    "loop_uplift",
    "main_bond_min",
    "max_zs",
    "next_inspection_by",
    "next_standard",
    "nominal_voltage",
    "observation_code",
    "observation_codes",
    "operating_current",
    "other_duties",
    "overall_assessment",
    "overload_ring",
    "overload_share",
    "pipe_resistance",
    "plastic_section",
    "power_direction",
    "ra_max",
    "ra_stable",
    "rcd_general",
    "rcd_limits",
    "rcd_required",
    "rented_edition",
    "retention",
    "ring_agreement",
    "soil_resistivity",
    "special_location",
    "special_sections",
    "standard_sizes",
    "supplementary_bond_min",
    "supplementary_resistance_max",
    "temperature_law",
    "temperature_multiplier",
    "touch_limit",
    "voltage_drop_limit",
    "zs_cold_factor",
]


def conductor_mohm_per_m(book: RuleBook, on: dt.date, material: str, iec_class: int, csa_mm2: float) -> RuleValue:
    """Largest resistance at 20 °C [mΩ/m] of a conductor (IEC 60228). Raises NoRule for a size that is not standard."""
    edition = book.edition_for(CONDUCTORS, on)
    return edition.table("conductor.resistance").look(
        material=material, iec_class=Decimal(iec_class), csa_mm2=Decimal(str(csa_mm2))
    )


def temperature_law(edition: Edition, material: str) -> RuleValue:
    """The temperature law of a rule set for a material: column ``law`` (``alpha``, ``beta``, ``flat``), ``per_k`` [1/K].

    The wiring rules follow the trade's flat law, the conductor standard its own; pass the edition whose law is wanted.
    """
    return edition.table("temperature.law").look(material=material)


def temperature_multiplier(edition: Edition, temp_c: float, use: str = "core in a cable") -> RuleValue:
    """Multiplier on the resistance at 20 °C [1]; use ``core in a cable`` or ``ambient``. Printed temperatures only."""
    return edition.table("temperature.multipliers").look(use=use, temp_c=temp_c)


def k_value(edition: Edition, use: str, material: str, insulation: str) -> RuleValue:
    """k of the adiabatic equation [A·s^½/mm²] (tables 54.2 to 54.6)."""
    return edition.table("k.values").look(use=use, material=material, insulation=insulation)


def k_material(edition: Edition, material: str) -> RuleValue:
    """Material constants behind k: ``beta_c`` [°C], ``heat`` [J/(K·mm³)], ``rho20`` [Ω·mm]."""
    return edition.table("k.material").look(material=material)


def copper_equivalent(edition: Edition, material: str) -> RuleValue:
    """Cross-section of the material that conducts like 1 mm² of copper [1]."""
    return edition.table("copper.equivalent").look(material=material)


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


def bond_position(edition: Edition) -> RuleValue:
    """Distance from the meter outlet union to the clamp [m], where practicable (544.1.2)."""
    return edition.table("bond.position").look()


def extraneous_thresholds(edition: Edition) -> tuple[RuleValue, ...]:
    """The customary thresholds [Ω] between part and MET, with the body current behind each."""
    return edition.table("extraneous.thresholds").all()


def plastic_section(edition: Edition) -> tuple[RuleValue, ...]:
    """What plastic in a pipe does: least length of an insulating section [m], water column [kΩ/m]."""
    return edition.table("extraneous.plastic").all()


def pipe_resistance(edition: Edition, pipe: str) -> RuleValue:
    """Resistance of copper water pipe [mΩ/m], e.g. ``15 mm copper``."""
    return edition.table("pipe.resistance").look(pipe=pipe)


def body_impedance(book: RuleBook, on: dt.date, u_v: float, skin: str = "dry", text: str = "present") -> RuleValue:
    """Total body impedance hand to hand [Ω] at a printed voltage: ``five_percent``, ``half``, ``ninety_five_percent``.

    skin  ``dry``, ``water-wet``, ``saltwater-wet``;  text  ``present`` or ``1984``. Raises NoRule between the voltages.
    """
    return book.edition_for(BODY, on).table("body.impedance").look(text=text, skin=skin, u_v=u_v)


def soil_resistivity(book: RuleBook, on: dt.date) -> tuple[RuleValue, ...]:
    """Typical resistivities of soils: key ``soil``, columns ``low`` and ``high`` [Ω·m]; for planning only."""
    return book.edition_for(EARTHING, on).table("soil.resistivity").all()
