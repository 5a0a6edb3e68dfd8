"""Single sums on electrodes, TT systems, insulation, rings, supplementary bonding and the lost neutral."""

from __future__ import annotations

import datetime as dt

import click

from ..physics import electrode, insulation, ring, supply
from ..rules import RuleBook
from ..rules.lookup import (
    EARTHING,
    insulation_minimum,
    operating_current,
    ra_max,
    ra_stable,
    supplementary_resistance_max,
)
from .bench import ON, Sum, bench, worked_out
from .bench_live import edition_of, source_of


@bench.command(name="insulation")
@click.option("--circuit", "circuits", type=float, multiple=True, required=True, help="One circuit, MΩ; repeat it.")
@ON
def insulation_(circuits: tuple[float, ...], on: dt.datetime) -> Sum:
    """Insulation resistance of a board from its circuits, and which of them pull it down."""
    row = insulation_minimum(edition_of(on))
    least = float(row.value)
    together, bad = insulation.board(circuits), insulation.culprits(circuits, least)
    names = ", ".join(f"number {place + 1} ({circuits[place]:g} MΩ)" for place in bad)
    result = f"{together:.3g} MΩ" + (f"; without {names} it reaches {least:g} MΩ" if bad else "")
    return worked_out(
        f"{len(circuits)} circuits together",
        result,
        "R = 1 / Σ(1/R)",
        f"{source_of(row, on)}; at least {row.value} MΩ at {row.number('test_v')} V",
        board_mohm=together,
        minimum_mohm=least,
        culprits=[place + 1 for place in bad],
    )


@bench.command(name="ring")
@click.option("--r1", "r1_ohm", type=float, required=True, help="Line, end to end, Ω.")
@click.option("--rn", "rn_ohm", type=float, required=True, help="Neutral, end to end, Ω.")
@click.option("--r2", "r2_ohm", type=float, help="Protective conductor, end to end, Ω.")
def ring_(r1_ohm: float, rn_ohm: float, r2_ohm: float | None) -> Sum:
    """What every socket of a sound ring shows with the legs crossed."""
    ln = ring.quarter_ohm(r1_ohm, rn_ohm)
    result, values = f"L-N {ln:.3g} Ω at every socket", {"ln_ohm": ln}
    if r2_ohm is not None:
        le = ring.quarter_ohm(r1_ohm, r2_ohm)
        result += f"; L-cpc at most {le:.3g} Ω, which is R1+R2"
        values["le_ohm"] = le
    return worked_out(
        f"Ring, r1 {r1_ohm:g}, rn {rn_ohm:g}" + (f", r2 {r2_ohm:g} Ω" if r2_ohm is not None else " Ω"),
        result,
        "(r1 + rn)/4 and (r1 + r2)/4; a ring within the ring keeps both at most sockets, so read all of them",
        "two equal legs side by side",
        **values,
    )


@bench.command(name="electrode")
@click.option("--shape", type=click.Choice(["rod", "strip", "round", "plate"]), default="rod", show_default=True)
@click.option("--soil", "rho_ohm_m", type=float, required=True, help="Resistivity of the soil, Ω·m.")
@click.option("--length", "length_m", type=float, help="In the soil, m.")
@click.option("--diameter", "diameter_mm", type=float, help="Rod or round conductor, mm.")
@click.option("--width", "width_mm", type=float, help="Strip, mm.")
@click.option("--depth", "depth_m", type=float, help="Of a strip or round conductor, m.")
@click.option("--area", "area_m2", type=float, help="One face of a plate, m².")
@ON
def electrode_(
    shape: str,
    rho_ohm_m: float,
    length_m: float | None,
    diameter_mm: float | None,
    width_mm: float | None,
    depth_m: float | None,
    area_m2: float | None,
    on: dt.datetime,
) -> Sum:
    """Resistance to expect of an electrode in even soil; for planning only, never instead of a measurement."""
    needs = {
        "rod": {"--length": length_m, "--diameter": diameter_mm},
        "strip": {"--length": length_m, "--width": width_mm, "--depth": depth_m},
        "round": {"--length": length_m, "--diameter": diameter_mm, "--depth": depth_m},
        "plate": {"--area": area_m2},
    }[shape]
    missing = [name for name, value in needs.items() if value is None]
    if missing:
        raise click.UsageError(f"A {shape} needs {', '.join(missing)}.")

    memory = ""
    if shape == "plate":
        r, formula = electrode.plate_ohm(rho_ohm_m, area_m2 or 0.0), "R = ρ/4 · √(π/A)"
    elif shape == "rod":
        r = electrode.rod_ohm(rho_ohm_m, length_m or 0.0, (diameter_mm or 0.0) / 1000)
        formula = "R = ρ/(2πL) · (ln(8L/d) − 1)"
    else:
        across, q = (width_mm, electrode.Q_STRIP) if shape == "strip" else (diameter_mm, electrode.Q_ROUND)
        r = electrode.strip_ohm(rho_ohm_m, length_m or 0.0, depth_m or 0.0, (across or 0.0) / 1000, q)
        formula, memory = f"R = ρ/(2πL) · (ln(2L²/(w·h)) + Q), Q = {q:g}", ", Q from memory"
    edition = RuleBook.load().edition_for(EARTHING, on.date())
    clause = edition.clause(f"electrode.{shape}")
    return worked_out(
        f"{shape} in {rho_ohm_m:g} Ω·m; for planning only",
        f"{r:.3g} Ω",
        formula,
        f"{edition.standard}:{edition.edition}{clause and ', '}{clause}{memory}",
        r_ohm=r,
    )


@bench.command(name="stakes")
@click.argument("readings_ohm", type=float, nargs=3, metavar="NEARER MIDDLE FARTHER")
def stakes(readings_ohm: tuple[float, float, float]) -> Sum:
    """Fall of potential: mean of three stake positions, Ω, and how far they disagree."""
    near, middle, far = readings_ohm
    found = electrode.fall_of_potential(middle, near, far)
    percent = 100 * found.deviation
    agree = percent <= 5.0 + 1e-9
    return worked_out(
        "Three positions of the potential stake",
        f"{found.mean_ohm:.4g} Ω; furthest from it {percent:.2g} %"
        + ("" if agree else ": move the current stake further away and repeat"),
        "R = ΣR/3; max|R − mean|/mean, at most 5 % by custom",
        "UK practice",
        mean_ohm=found.mean_ohm,
        deviation_percent=percent,
        agree=agree,
    )


@bench.command(name="tt-limit")
@click.option("--ma", "idn_ma", type=float, required=True, help="Rated residual current, mA.")
@click.option("--ra", "ra_ohm", type=float, help="Electrode alone as measured, Ω.")
@ON
def tt_limit(idn_ma: float, ra_ohm: float | None, on: dt.datetime) -> Sum:
    """Highest electrode resistance with a residual current device."""
    edition = edition_of(on)
    limit, stable = ra_max(edition, idn_ma), ra_stable(edition)
    result, values = f"at most {limit.value:.4g} Ω", {"limit_ohm": limit.value}
    if ra_ohm is not None:
        u_v = electrode.touch_product_v(ra_ohm, idn_ma / 1000)
        verdict = "meets" if ra_ohm <= limit.value else "does not meet"
        note = "; above it an electrode may not be stable" if ra_ohm > float(stable.value) else ""
        result = f"{ra_ohm:g} Ω {verdict} {limit.value:.4g} Ω: {u_v:.3g} V{note}"
        values["touch_v"] = u_v
    return worked_out(
        f"TT, {idn_ma:g} mA",
        result,
        f"RA = 50 V / IΔn: {limit.how}; {stable.value} Ω for stability",
        source_of(limit, on),
        **values,
    )


@bench.command(name="supplementary")
@click.option("--ma", "idn_ma", type=float, help="Rated residual current, mA.")
@click.option("--current", "ia_a", type=float, help="Operating current of the overcurrent device for 5 s, A.")
@click.option("--device", "standard", help="Or the device: its standard, with --type and --rating.")
@click.option("--type", "type_", default="")
@click.option("--rating", "rating_a", type=float, help="Rated current, A.")
@ON
def supplementary(
    idn_ma: float | None,
    ia_a: float | None,
    standard: str | None,
    type_: str,
    rating_a: float | None,
    on: dt.datetime,
) -> Sum:
    """Highest resistance between parts joined by supplementary bonding: 50 V / Ia."""
    if [idn_ma, ia_a, standard].count(None) != 2:
        raise click.UsageError("Give one of --ma, --current and --device.")
    if standard is not None and rating_a is None:
        raise click.UsageError("--device needs --rating.")

    edition = edition_of(on)
    current, how = ia_a or 0.0, "Ia as given"
    if idn_ma is not None:
        current, how = idn_ma / 1000, "Ia = IΔn"
    elif standard is not None and rating_a is not None:
        found = operating_current(edition, standard, type_, rating_a, 5.0)
        current, how = found.value, f"{found.how} for 5 s"
    limit = supplementary_resistance_max(edition, current)
    return worked_out(
        f"Supplementary bonding, Ia {current:.4g} A",
        f"at most {limit.value:.4g} Ω",
        f"{how}; {limit.how}",
        source_of(limit, on),
        limit_ohm=limit.value,
        ia_a=current,
    )


@bench.command(name="lost-neutral")
@click.option("--ra", "ra_ohm", type=float, required=True, help="Everything that earths the terminal, Ω.")
@click.option("--load", "load_kw", type=float, required=True, help="Load switched on, kW.")
@click.option("--u0", "u0_v", type=float, default=230.0, show_default=True, help="Line to neutral, V.")
def lost_neutral(ra_ohm: float, load_kw: float, u0_v: float) -> Sum:
    """Voltage of the main earthing terminal when the supply neutral is open, one house alone."""
    rl = supply.load_ohm(1000 * load_kw, u0_v)
    state = supply.lost_neutral(u0_v, ra_ohm, rl)
    return worked_out(
        f"{load_kw:g} kW is {rl:.3g} Ω, earthed through {ra_ohm:g} Ω",
        f"{state.met_v:.0f} V on the terminal, {state.i_a:.3g} A through the bonds, {state.load_v:.0f} V for the load",
        "U = U0 · RA/(RA + RL); neighbours on the same break add to it",
        "voltage divider",
        met_v=state.met_v,
        current_a=state.i_a,
        load_v=state.load_v,
    )
