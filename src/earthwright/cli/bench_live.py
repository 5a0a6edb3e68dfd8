"""Single sums on loops, devices and voltage drop: each with its formula, its source and the date of the rule it rests on."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable
from typing import Any, TypeVar

import click

from ..physics import adiabatic, conductor, loop, voltdrop
from ..rules import Edition, RuleBook, RuleValue, Worked
from ..rules.lookup import (
    CONDUCTORS,
    c_min,
    cable_voltage_drop,
    conductor_mohm_per_m,
    disconnection_time,
    max_zs,
    operating_current,
    rcd_limits,
    voltage_drop_limit,
    zs_cold_factor,
)
from .bench import ON, Sum, bench, worked_out

F = TypeVar("F", bound=Callable[..., Any])

STANDARD = click.option("--device", "standard", required=True, help="Standard, e.g. 'BS EN 60898', 'BS 3036'.")
TYPE = click.option("--type", "type_", default="", help="Type, e.g. B, C, D, gG.")
RATING = click.option(
    "--rating", "rating_a", type=click.FloatRange(min=0, min_open=True), required=True, help="Rated current, A."
)
U0 = click.option("--u0", "u0_v", type=float, default=230.0, show_default=True, help="Line to earth, V.")
SYSTEM = click.option("--system", type=click.Choice(["TN-S", "TN-C-S", "TN-C", "TT"]), required=True)


def device_options(command: F) -> F:
    """Standard, type and rating of a device."""
    return STANDARD(TYPE(RATING(command)))


def edition_of(on: dt.datetime) -> Edition:
    """The wiring rules of a day."""
    return RuleBook.load().wiring_for(on.date())


def source_of(found: RuleValue | Worked, on: dt.datetime) -> str:
    """Where a figure is from: edition, clause, whether from memory, and the day its rules are those of."""
    first = found if isinstance(found, RuleValue) else found.rests_on[0]
    memory = "; from memory, check it" if found.confidence == "memory" else ""
    return f"{first.applies_under}, {found.clause}{memory}; rules of {on.date()}"


@bench.command(name="zs-limit")
@device_options
@click.option("--time", "time_s", type=float, default=0.4, show_default=True, help="Disconnection time, s.")
@click.option("--ze", "ze_ohm", type=float, help="Loop before the circuit, Ω: for the comparison by temperature.")
@click.option("--factor", "factor", type=float, default=1.2, show_default=True, help="From the test to full load.")
@U0
@ON
def zs_limit(
    standard: str,
    type_: str,
    rating_a: float,
    time_s: float,
    ze_ohm: float | None,
    factor: float,
    u0_v: float,
    on: dt.datetime,
) -> Sum:
    """Highest loop impedance for a device and a time, and what a value read cold is compared with."""
    edition = edition_of(on)
    found = max_zs(edition, standard, type_, rating_a, time_s, u0_v)
    custom = loop.cold_limit_ohm(found.value, float(zs_cold_factor(edition).value))
    values: dict[str, Any] = {"limit_ohm": found.value, "cold_customary_ohm": custom}
    result = f"{found.value:.4g} Ω warm; read cold {custom:.4g} Ω by the customary 0.8"
    if ze_ohm is not None:
        exact = loop.cold_limit_by_temperature_ohm(found.value, ze_ohm, factor)
        values["cold_by_temperature_ohm"] = exact
        result += f", {exact:.4g} Ω by temperature"
    return worked_out(
        f"{standard} {type_}{rating_a:g}, {time_s:g} s, {u0_v:g} V",
        result,
        f"Zs = c_min · U0 / Ia: {found.how}; cold Ze + (Zs − Ze)/F",
        source_of(found, on),
        **values,
    )


@bench.command(name="disconnection")
@device_options
@click.option("--time", "time_s", type=float, help="Find the current that opens it within this time, s.")
@click.option("--current", "i_a", type=float, help="Find its time at this current, A; needs --curve.")
@click.option("--curve", "curve", help="Points A:s of its curve, e.g. '87:5,200:0.4,350:0.1'.")
@ON
def disconnection(
    standard: str,
    type_: str,
    rating_a: float,
    time_s: float | None,
    i_a: float | None,
    curve: str | None,
    on: dt.datetime,
) -> Sum:
    """Current that opens a device within a time, or its time at a current from points of its curve."""
    if (time_s is None) == (i_a is None):
        raise click.UsageError("Give --time or --current, and leave out the one you want.")
    if i_a is not None and curve is None:
        raise click.UsageError("A time at a current needs the points of the maker's curve: --curve.")

    name = f"{standard} {type_}{rating_a:g}"
    if curve is not None:
        points = points_of(curve)
        ia = i_a if i_a is not None else adiabatic.current_for_time(points, time_s or 0.0)
        t = time_s if time_s is not None else adiabatic.time_from_curve(points, i_a or 0.0)
        how, source = "straight on log-log paper between the points", f"curve as given; {len(points)} points"
    else:
        found = operating_current(edition_of(on), standard, type_, rating_a, time_s or 0.0)
        ia, t, how, source = found.value, time_s or 0.0, found.how, source_of(found, on)
    return worked_out(name, f"{ia:.4g} A within {t:.3g} s", how, source, current_a=ia, time_s=t)


def points_of(text: str) -> tuple[tuple[float, float], ...]:
    """Points ``A:s`` parted by commas. Raises click.UsageError naming the one that cannot be read."""
    found = []
    for pair in text.split(","):
        left, colon, right = pair.partition(":")
        try:
            found.append((float(left), float(right)))
        except ValueError:
            raise click.UsageError(f"--curve: expected A:s, found '{pair.strip()}'") from None
        if not colon:
            raise click.UsageError(f"--curve: expected A:s, found '{pair.strip()}'")
    return tuple(found)


@bench.command(name="allowed-time")
@SYSTEM
@U0
@click.option("--distribution", is_flag=True, help="A distribution circuit.")
@click.option("--rating", "rating_a", type=float, help="Rated current, A.")
@click.option("--sockets/--fixed", "sockets", default=None, help="Whether it has socket-outlets.")
@ON
def allowed_time(
    system: str,
    u0_v: float,
    distribution: bool,
    rating_a: float | None,
    sockets: bool | None,
    on: dt.datetime,
) -> Sum:
    """Longest disconnection time of a circuit."""
    found = disconnection_time(
        edition_of(on), system=system, u0_v=u0_v, distribution=distribution, rated_a=rating_a, sockets=sockets
    )
    kind = "distribution circuit" if distribution else "final circuit"
    return worked_out(
        f"{system}, {u0_v:g} V, {kind}",
        f"{found.value} s",
        "as tabulated",
        source_of(found, on),
        time_s=float(found.value),
    )


@bench.command(name="fault-current")
@click.option("--loop", "z_ohm", type=float, required=True, help="Loop as shown, Ω.")
@click.option("--voltage", "u_v", type=float, default=230.0, show_default=True, help="Across the loop, V.")
@click.option("--step", "step_ohm", type=float, default=0.01, show_default=True, help="One digit, Ω.")
@ON
def fault_current(z_ohm: float, u_v: float, step_ohm: float, on: dt.datetime) -> Sum:
    """Prospective fault current of a loop, what one digit means to it, and three phases by rule."""
    low, high = loop.digit_step_band_a(u_v, z_ohm, step_ohm)
    i_a = loop.fault_current_a(u_v, z_ohm) if z_ohm else math.inf
    doubled, root = (f(i_a) for f in (loop.three_phase_doubled_a, loop.three_phase_root3_a))
    least = float(c_min(edition_of(on)).value)
    shown = "too low a loop to say" if math.isinf(i_a) else f"{i_a:.4g} A, {low:.4g} to {high:.4g} A within one digit"
    return worked_out(
        f"{u_v:g} V, {z_ohm:g} Ω in steps of {step_ohm:g} Ω",
        shown,
        f"I = U/Z; Z ± {step_ohm / 2:g} Ω; three phases 2 · I = {doubled:.4g} A (√3 · I = {root:.4g} A understates); "
        f"lowest with c_min {least:g}: {least * i_a:.4g} A",
        f"Ohm's law; doubling is guidance on prospective fault current; rules of {on.date()}",
        current_a=i_a,
        low_a=low,
        high_a=high,
        three_phase_doubled_a=doubled,
        three_phase_root3_a=root,
    )


@bench.command(name="rcd")
@click.option("--ma", "idn_ma", type=float, required=True, help="Rated residual current, mA.")
@click.option("--kind", type=click.Choice(["general", "S", "BS 4293"]), default="general", show_default=True)
@click.option("--set", "test_set", type=click.Choice(["single", "half, one, five"]), help="Default: the edition's.")
@ON
def rcd(idn_ma: float, kind: str, test_set: str | None, on: dt.datetime) -> Sum:
    """Tests and times of a residual current device on a day."""
    tests = rcd_limits(edition_of(on), kind, idn_ma, test_set)
    said = []
    for t in tests:
        if t.must == "hold":
            said.append(f"×{t.multiple:g} ({t.multiple * idn_ma:g} mA) stays closed for {t.min_ms:g} ms")
        else:
            early = f"not before {t.min_ms:g} and " if t.min_ms else ""
            said.append(f"×{t.multiple:g} ({t.multiple * idn_ma:g} mA) opens {early}within {t.max_ms:g} ms")
    return worked_out(
        f"{kind}, {idn_ma:g} mA",
        "; ".join(said),
        "times as tabulated for the set of tests the edition asks for",
        source_of(tests[0].rule, on),
        tests=[{"multiple": t.multiple, "must": t.must, "min_ms": t.min_ms, "max_ms": t.max_ms or None} for t in tests],
    )


@bench.command(name="voltage-drop")
@click.option("--csa", "csa_mm2", type=float, required=True, help="Cross-section, mm².")
@click.option("--length", "length_m", type=float, required=True, help="Route length, m.")
@click.option("--current", "i_a", type=float, required=True, help="Design current, A.")
@click.option("--cable", default="", help="Kind of cable in the tables; without one the conductor's own resistance.")
@click.option("--power-factor", "cos_phi", type=float, default=1.0, show_default=True)
@click.option("--phases", type=click.Choice(["1", "3"]), default="1", show_default=True)
@click.option("--use", type=click.Choice(["lighting", "other"]), default="other", show_default=True)
@click.option("--temp", "temp_c", type=float, default=70.0, show_default=True, help="Conductor at work, °C.")
@ON
def voltage_drop(
    csa_mm2: float,
    length_m: float,
    i_a: float,
    cable: str,
    cos_phi: float,
    phases: str,
    use: str,
    temp_c: float,
    on: dt.datetime,
) -> Sum:
    """Voltage drop of a cable against its limit; neutrals as large as the line, one cable."""
    edition, u_v = edition_of(on), 230.0 * (math.sqrt(3) if phases == "3" else 1.0)
    if cable:
        row = cable_voltage_drop(edition, cable, csa_mm2)
        sine = math.sqrt(max(0.0, 1.0 - cos_phi * cos_phi))
        mv, source = float(row.number("r")) * cos_phi + float(row.number("x")) * sine, source_of(row, on)
    else:
        r20 = conductor_mohm_per_m(RuleBook.load(), on.date(), "copper", 2, csa_mm2)
        count = voltdrop.THREE_PHASE if phases == "3" else voltdrop.SINGLE_PHASE
        mv = voltdrop.mv_per_a_m(float(r20.value), conductor.factor_flat(temp_c), 0.0, cos_phi, count)
        used = RuleBook.load().edition_for(CONDUCTORS, on.date())
        source = f"{used.titled(on.date())}, {r20.clause}, reactance left out; rules of {on.date()}"
    drop = voltdrop.drop_v(mv, i_a, length_m)
    percent = voltdrop.drop_percent(drop, u_v)
    limit = voltage_drop_limit(edition, use, "public", length_m)
    return worked_out(
        f"{csa_mm2:g} mm², {length_m:g} m, {i_a:g} A, cos φ {cos_phi:g}",
        f"{drop:.3g} V, {percent:.3g} % of {u_v:.0f} V; at most {limit.value:g} % ({use}, public supply)",
        f"ΔU = {mv:.4g} mV/(A·m) · I · L / 1000; limit {limit.how} [{limit.clause}]",
        source,
        drop_v=drop,
        percent=percent,
        limit_percent=limit.value,
        meets=percent <= limit.value,
    )
