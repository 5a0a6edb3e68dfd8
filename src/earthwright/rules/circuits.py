"""Rules for circuits: disconnection times, loop factors, residual current devices, insulation, voltage drop, TT."""

from __future__ import annotations

from attrs import frozen

from ..base.errors import NoRule
from .model import Edition, RuleValue, Worked

SOCKETS, FIXED = "socket-outlets", "fixed equipment only"


def _earthing(system: str) -> str:
    """TN-S, TN-C-S and TN-C share the rows of TN."""
    return "TN" if system.startswith("TN") else system


def disconnection_time(
    edition: Edition,
    *,
    system: str,
    u0_v: float,
    ac: bool = True,
    distribution: bool = False,
    rated_a: float | None = None,
    sockets: bool | None = None,
    tt_by_overcurrent: bool = False,
) -> RuleValue:
    """Longest disconnection time [s] (411.3.2.2 to 411.3.2.4).

    system       TN-S, TN-C-S, TN-C or TT;  u0_v  nominal voltage to earth [V]
    distribution True for a distribution circuit
    rated_a, sockets  rated current [A] and whether there are socket-outlets; a final circuit above 63 A (with
                 socket-outlets) or 32 A (fixed equipment only) has the time of a distribution circuit. Without both,
                 table 41.1 counts, the strict choice.
    tt_by_overcurrent  a TT system in which an overcurrent device disconnects and all extraneous parts have main bonds
    Raises NoRule, also for IT systems and for voltages up to 50 V.
    """
    family = _earthing(system)
    if distribution or _above_scope(edition, rated_a, sockets):
        return edition.table("disconnection.distribution").look(system=family)
    row = "TN" if family == "TT" and tt_by_overcurrent else family
    return edition.table("disconnection.times").look(system=row, current="AC" if ac else "DC", u0_v=u0_v)


def _above_scope(edition: Edition, rated_a: float | None, sockets: bool | None) -> bool:
    if rated_a is None:
        return False
    # Unknown outlets: the larger limit, so that the short time is given up only where it is certain.
    scope = edition.table("disconnection.scope").look(outlets=FIXED if sockets is False else SOCKETS)
    return rated_a > float(scope.value)


def loop_factor(edition: Edition, name: str) -> RuleValue:
    """A factor of loop limits [1]: ``c_min``, ``c_max``, ``cold``, ``cold, international``, ``three-phase from single``."""
    return edition.table("loop.factors").look(name=name)


def zs_cold_factor(edition: Edition) -> RuleValue:
    """Share of a loop limit that a value measured cold is compared with [1]; customary, 0.8."""
    return loop_factor(edition, "cold")


def loop_uplift(edition: Edition) -> RuleValue:
    """What a device's coil may add to a no-trip loop reading [Ω]; guidance."""
    return edition.table("loop.uplift").look()


def declared_supply(edition: Edition, system: str) -> RuleValue:
    """Values distributors declare: columns ``ze_ohm`` [Ω] and ``ipf_ka`` [kA]."""
    return edition.table("supply.declared").look(system=system)


def nominal_voltage(edition: Edition, between: str = "line and neutral") -> RuleValue:
    """Nominal voltage [V] with its permitted range in ``low`` and ``high``; between ``line and neutral`` or ``lines``."""
    return edition.table("supply.voltage").look(between=between)


@frozen
class RcdLimit:
    """One test of a residual current device.

    multiple  of IΔn;  must  ``trip``: opens between min_ms and max_ms;  ``hold``: stays closed for at least min_ms
    """

    multiple: float
    must: str
    min_ms: float
    max_ms: float
    rule: RuleValue


def rcd_limits(edition: Edition, kind: str, idn_ma: float, test_set: str | None = None) -> tuple[RcdLimit, ...]:
    """The tests of a residual current device and their times [ms] (643.7.1, 643.8).

    kind      ``general``, ``S`` or ``BS 4293``;  idn_ma  rated residual current [mA]
    test_set  ``single`` or ``half, one, five``; None: the set the edition asks for
    Five times the rated current belongs to devices of at most 30 mA. Raises NoRule when the set knows no such kind.
    """
    wanted = test_set or edition.table("rcd.set").look().text("set")
    rows = edition.table("rcd.times").where(set=wanted, kind=kind)
    found = tuple(
        RcdLimit(
            float(str(r.keys["multiple"])),
            r.text("must"),
            float(r.number("min_ms")),
            float(r.number("max_ms")),
            r,
        )
        for r in rows
        if idn_ma <= float(r.number("idn_max_ma"))
    )
    if not found:
        raise NoRule(f"{edition.standard}:{edition.edition}: no '{wanted}' test for a {kind} device of {idn_ma:g} mA")
    return found


def rcd_required(edition: Edition) -> tuple[RuleValue, ...]:
    """Cases in which a residual current device is asked for: ``value`` [mA], ``rated_to_a`` [A], key ``case``."""
    return edition.table("rcd.required").all()


def insulation_minimum(edition: Edition, circuit: str = "up to 500 V", method: str = "standard") -> RuleValue:
    """Least insulation resistance [MΩ], test voltage in the column ``test_v`` [V] (table 64).

    circuit  ``SELV or PELV``, ``up to 500 V``, ``above 500 V``
    method   ``standard``, ``equipment connected`` (250 V), ``16th edition`` (outdated, to recognise it)
    """
    return edition.table("insulation.minimum").look(circuit=circuit, method=method)


def insulation_enquire(edition: Edition) -> RuleValue:
    """Insulation resistance below which the cause is looked for [MΩ]; guidance."""
    return edition.table("insulation.enquire").look()


def ring_agreement(edition: Edition) -> RuleValue:
    """Within how much r1 and rn of a ring agree [Ω]; guidance."""
    return edition.table("ring.guidance").look()


def touch_limit(edition: Edition, use: str = "AC") -> RuleValue:
    """Touch voltage used as a limit [V]: ``AC``, ``DC``, ``charging point on PME``."""
    return edition.table("touch.limits").look(use=use)


def ra_stable(edition: Edition) -> RuleValue:
    """Electrode resistance above which it may not be stable [Ω]; a note, not a limit."""
    return edition.table("tt.limits").look()


def ra_max(edition: Edition, idn_ma: float) -> Worked:
    """Highest electrode (or loop) resistance in a TT system [Ω]: as printed, else 50 V / IΔn (411.5.3).

    idn_ma [mA] > 0. Checked with 30 mA: 1667 Ω and 100 mA: 500 Ω.
    """
    try:
        row = edition.table("tt.residual").look(idn_ma=idn_ma)
        return Worked(float(row.value), "Ω", f"{row.value} Ω as printed", (row,))
    except NoRule:
        if idn_ma <= 0:
            raise
    touch = touch_limit(edition)
    ra = float(touch.value) / (idn_ma / 1000.0)
    return Worked(ra, "Ω", f"{touch.value} V / {idn_ma:g} mA = {ra:.4g} Ω", (touch,))


def supplementary_resistance_max(edition: Edition, ia_a: float, ac: bool = True) -> Worked:
    """Highest resistance between parts joined by supplementary bonding [Ω]: 50 V / Ia, DC 120 V / Ia (415.2.2).

    ia_a  operating current [A] > 0: IΔn, or the current of an overcurrent device for 5 s; never its rated current.
    Checked with B 32 A (160 A): 0.3125 Ω. Raises ValueError.
    """
    if not ia_a > 0:
        raise ValueError(f"ia_a: expected a current above 0 A, found {ia_a!r}")
    touch = touch_limit(edition, "AC" if ac else "DC")
    r = float(touch.value) / ia_a
    return Worked(r, "Ω", f"{touch.value} V / {ia_a:g} A = {r:.4g} Ω", (touch,))


def voltage_drop_limit(edition: Edition, use: str, supply: str = "public", length_m: float = 0.0) -> Worked:
    """Highest voltage drop between origin and equipment [%] (525.202, table 4Ab).

    use  ``lighting`` or ``other``;  supply  ``public`` or ``private``;  length_m  of the wiring [m]: beyond 100 m
    0.005 % a metre may be added, at most 0.5 %.
    """
    row = edition.table("voltdrop.limits").look(supply=supply, use=use)
    long = edition.table("voltdrop.long").look()
    beyond = length_m - float(long.number("from_m"))
    if beyond <= 0:
        return Worked(float(row.value), "%", f"{row.value} %", (row,))
    more = min(beyond * float(long.number("per_m")), float(long.number("at_most")))
    total = float(row.value) + more
    return Worked(total, "%", f"{row.value} % + {more:.3g} % for {length_m:g} m = {total:.3g} %", (row, long))


def cable_voltage_drop(edition: Edition, cable: str, csa_mm2: float) -> RuleValue:
    """Voltage drop for each ampere and metre [mV/(A·m)] at working temperature; parts in ``r`` and ``x`` (appendix 4)."""
    return edition.table("cable.voltdrop").look(cable=cable, csa_mm2=csa_mm2)


def cable_kinds(edition: Edition) -> tuple[str, ...]:
    """The kinds of cable for which cable_voltage_drop has figures."""
    return tuple(str(k) for k in edition.table("cable.voltdrop").keys_of("cable"))


def flat_cable_cpc(edition: Edition, line_mm2: float, age: str = "present") -> RuleValue:
    """Protective conductor in flat twin cable [mm²] (BS 6004); age ``present`` or ``older``."""
    return edition.table("cable.flat").look(line_mm2=line_mm2, age=age)


def armour_mohm_per_m(edition: Edition, csa_mm2: float, cores: int) -> RuleValue:
    """Resistance of steel wire armour at 20 °C [mΩ/m]. Raises NoRule above 6 mm², where no figure was read."""
    return edition.table("armour.resistance").look(csa_mm2=csa_mm2, cores=cores)


def special_location(edition: Edition, section: str) -> dict[str, tuple[RuleValue, ...]]:
    """Everything the data hold for a special location, by table: ``rules``, ``rcd`` [mA], ``zones`` [m], ``electrode`` [Ω],
    ``types`` of residual current devices, ``pme`` what a PME earth asks for there.

    section  ``701``, ``702``, ``704``, ``705``, ``708``, ``709``, ``721``, ``722``, ``outdoors``, ``outbuilding``
    Raises NoRule when there is nothing: silence would read as "no extra rule".
    """
    names = ("rules", "rcd", "zones", "electrode", "types", "pme")
    held = [name for name in names if edition.has(f"special.{name}")]
    found = dict.fromkeys(names, ()) | {n: edition.table(f"special.{n}").where(section=section) for n in held}
    if not any(found.values()):
        raise NoRule(f"{edition.standard}:{edition.edition}: no data for the special location '{section}'")
    return found


def special_sections(edition: Edition) -> tuple[str, ...]:
    """The special locations for which the data hold rules."""
    return tuple(str(k) for k in edition.table("special.rules").keys_of("section"))
