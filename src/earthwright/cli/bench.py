"""Single sums: each with its formula, its source and the date of the rule it rests on."""

from __future__ import annotations

import datetime as dt
import json
import math
import sys
from typing import Any

import click
from attrs import frozen

from ..base.errors import EarthwrightError
from ..base.quantity import rectangular
from ..evidence.expected import close
from ..physics import adiabatic, conductor
from ..physics.domain import MOST
from ..rules import RuleBook
from ..rules.lookup import CONDUCTORS, conductor_mohm_per_m, k_value
from ..rules.sizes import earthing_conductor_min, main_bond_min
from ..site.assumptions import USUAL
from .exits import Exit
from .main import main

ON = click.option(
    "--on",
    "on",
    type=click.DateTime(["%Y-%m-%d"]),
    default=lambda: dt.datetime.now(),
    show_default="today",
    help="Day whose rules apply.",
)
MATERIAL = click.option(
    "--material", type=click.Choice(["copper", "copper tinned", "aluminium"]), default="copper", show_default=True
)
CLASS = click.option(
    "--class", "iec_class", type=click.Choice(["1", "2", "5"]), default="2", show_default=True, help="Of IEC 60228."
)
CSA = click.option("--csa", "csa_mm2", type=float, required=True, help="Cross-section, mm².")
TEMP = click.option("--temp", "temp_c", type=float, default=20.0, show_default=True, help="Conductor, °C.")


@frozen
class Sum:
    """One sum worked out: the result, how and from where; ``values`` as numbers, for programs."""

    what: str
    result: str
    formula: str
    source: str
    values: dict[str, Any]


def worked_out(what: str, result: str, formula: str, source: str, **values: Any) -> Sum:
    """A sum with its values by name."""
    return Sum(what, result, formula, source, values)


class Number(click.types.FloatParamType):
    """A number that a sum can be done with: finite, and no larger than any measurement."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The number of a text; else a line with what was expected and found."""
        try:
            found = float(value)
        except (TypeError, ValueError):
            self.fail(f"expected a number, found {str(value)[:60]}", param, ctx)
        if not math.isfinite(found):
            self.fail(f"expected a finite number, found {str(value)[:60]}", param, ctx)
        if abs(found) > MOST:
            self.fail(f"expected a number of at most {MOST:g}, found {str(value)[:60]}", param, ctx)
        return found


class SumCommand(click.Command):
    """A command that works out one sum and prints it. An impossible input or a missing rule is one line and exit code 2."""

    def __init__(self, name: str | None, *, params: list[click.Parameter] | None = None, **more: Any) -> None:
        as_json = click.Option(["--json", "as_json"], is_flag=True, help="The same as JSON.")
        super().__init__(name, params=[*(params or ()), as_json], **more)
        for one in self.params:
            if isinstance(one.type, click.types.FloatParamType):
                one.type = Number()

    def invoke(self, ctx: click.Context) -> None:
        """Work it out, and print it."""
        as_json = ctx.params.pop("as_json")
        try:
            found: Sum = super().invoke(ctx)
        except EarthwrightError as error:
            click.echo(str(error), err=True)
            sys.exit(Exit.USAGE)
        if as_json:
            over = {k: "over-range" if isinstance(v, float) and math.isinf(v) else v for k, v in found.values.items()}
            said = {"what": found.what, "result": found.result, "formula": found.formula, "source": found.source}
            click.echo(json.dumps(said | over, ensure_ascii=False))
            return
        click.secho(found.result, bold=True)
        click.echo(f"{found.what}\n  {found.formula}\n  Source: {found.source}")


@main.group()
def bench() -> None:
    """Work out a single sum, with its formula and source."""


bench.command_class = SumCommand


def _r(on: dt.datetime, material: str, iec_class: str, csa_mm2: float, temp_c: float) -> tuple[float, str]:
    """Resistance per metre at a temperature [mΩ/m] and where it comes from."""
    row = conductor_mohm_per_m(RuleBook.load(), on.date(), material, int(iec_class), csa_mm2)
    law = conductor.factor_beta(temp_c, 228.0) if material == "aluminium" else conductor.factor_alpha(temp_c)
    memory = "; from memory, confirm it" if row.confidence == "memory" else ""
    edition = RuleBook.load().edition_for(CONDUCTORS, on.date())
    return float(row.value) * law, f"{edition.titled(on.date())}, {row.clause}{memory}; rules of {on.date()}"


@bench.command(name="resistance")
@CSA
@click.option("--length", "length_m", type=float, required=True, help="Route length, m.")
@MATERIAL
@CLASS
@TEMP
@ON
def resistance_(csa_mm2: float, length_m: float, material: str, iec_class: str, temp_c: float, on: dt.datetime) -> Sum:
    """Resistance of a length of conductor."""
    r, source = _r(on, material, iec_class, csa_mm2, temp_c)
    high = conductor.resistance_ohm(length_m, r)
    return worked_out(
        f"{length_m:g} m of {csa_mm2:g} mm² {material}, class {iec_class}, at {temp_c:g} °C",
        f"{USUAL.make[0] * high:.4f} to {high:.4f} Ω",
        f"R = L · r · m, r = {r:.4g} mΩ/m at most, m = {USUAL.make[0]:g} to {USUAL.make[1]:g}",
        source,
        r_low_ohm=USUAL.make[0] * high,
        r_high_ohm=high,
        r_mohm_per_m=r,
    )


@bench.command()
@CSA
@click.option("--reading", "reading_ohm", type=float, required=True, help="Corrected reading, Ω.")
@click.option("--pct", type=float, default=3.0, show_default=True, help="Limit of error, % of reading.")
@click.option("--digits", type=float, default=2.0, show_default=True, help="Limit of error, digits.")
@click.option("--step", "step_ohm", type=float, default=0.01, show_default=True, help="One digit, Ω.")
@MATERIAL
@CLASS
@TEMP
@ON
def length(
    csa_mm2: float,
    reading_ohm: float,
    pct: float,
    digits: float,
    step_ohm: float,
    material: str,
    iec_class: str,
    temp_c: float,
    on: dt.datetime,
) -> Sum:
    """Length that a reading stands for, as a band."""
    r, source = _r(on, material, iec_class, csa_mm2, temp_c)
    slack = (digits + 0.5) * step_ohm
    low, high = max(0.0, (reading_ohm - slack) / (1 + pct / 100)), (reading_ohm + slack) / (1 - pct / 100)
    low_m, high_m = conductor.implied_length_band_m(low, high, r, *USUAL.make)
    return worked_out(
        f"{reading_ohm:g} Ω of {csa_mm2:g} mm², ±({pct:g} % + {digits:g} digits of {step_ohm:g} Ω)",
        f"{low_m:.1f} to {high_m:.1f} m",
        f"L = R / (r · m), r = {r:.4g} mΩ/m; one digit is {1000 * step_ohm / r:.1f} m",
        source,
        low_m=low_m,
        high_m=high_m,
    )


@bench.command(name="adiabatic")
@click.option("--csa", "csa_mm2", type=float, help="Cross-section, mm².")
@click.option("--current", "i_a", type=float, help="Fault current, A.")
@click.option("--time", "t_s", type=float, help="Duration, s.")
@click.option("--k", "k", type=float, help="k; or look it up with --use and --insulation.")
@click.option("--use", type=str, default="core", show_default=True, help="separate, core, 'sheath or armour' …")
@click.option("--insulation", type=str, default="70 °C thermoplastic", show_default=True)
@MATERIAL
@ON
def adiabatic_(
    csa_mm2: float | None,
    i_a: float | None,
    t_s: float | None,
    k: float | None,
    use: str,
    insulation: str,
    material: str,
    on: dt.datetime,
) -> Sum:
    """S² k² = I² t: leave out one of --csa, --current and --time; or all but k to find the k that is needed."""
    asked = RuleBook.load().wiring_for(on.date())
    clause = asked.clause("adiabatic")
    factor, source = k, f"{clause}{clause and '; '}k as given"
    given = [csa_mm2, i_a, t_s]
    if factor is None and given.count(None) == 1:
        row = k_value(asked, use, material, insulation)
        factor, source = (
            float(row.value),
            f"{row.standard}:{row.edition}, {row.clause} ({row.confidence}); rules of {on.date()}",
        )
    if [*given, factor].count(None) != 1:
        raise click.UsageError("Give three of --csa, --current, --time and k, and leave out the one you want.")
    if csa_mm2 is None:
        assert i_a is not None
        assert t_s is not None
        assert factor is not None
        value, unit, name = adiabatic.least_csa_mm2(i_a, t_s, factor), "mm²", "S"
    elif i_a is None:
        assert t_s is not None
        assert factor is not None
        value, unit, name = adiabatic.withstand_i_a(csa_mm2, t_s, factor), "A", "I"
    elif t_s is None:
        assert factor is not None
        value, unit, name = adiabatic.withstand_t_s(csa_mm2, i_a, factor), "s", "t"
    else:
        value, unit, name = adiabatic.required_k(csa_mm2, i_a, t_s), "A·s^½/mm²", "k"
    warning = "; below 0.1 s use the maker's let-through energy instead" if t_s is not None and t_s < 0.1 else ""
    return worked_out(
        f"Adiabatic, k = {factor if factor is not None else value:.4g}",
        f"{name} = {value:.4g} {unit}",
        "S = √(I² t) / k" + warning,
        source,
        value=value,
        unit=unit,
    )


@bench.command(name="bond-size")
@click.option("--system", type=click.Choice(["TN-S", "TN-C-S", "TT"]), required=True)
@click.option("--pme/--no-pme", default=None, help="Whether PME conditions apply.")
@click.option("--earthing", "earthing_mm2", type=float, help="Earthing conductor required, mm².")
@click.option("--line", "line_mm2", type=float, help="Line conductors, mm².")
@click.option("--neutral", "neutral_mm2", type=float, help="Supply neutral, copper-equivalent, mm².")
@ON
def bond_size(
    system: str,
    pme: bool | None,
    earthing_mm2: float | None,
    line_mm2: float | None,
    neutral_mm2: float | None,
    on: dt.datetime,
) -> Sum:
    """Least main bonding conductor, by the chain of clauses."""
    edition = RuleBook.load().wiring_for(on.date())
    chain = main_bond_min(
        edition,
        system=system,
        pme=pme,
        earthing_needed_mm2=earthing_mm2,
        line_csa_mm2=line_mm2,
        neutral_csa_mm2=neutral_mm2,
        neutral_at_most=False,
    )
    steps = "; ".join(
        f"{s.clause}: {s.inputs}" + (f" → {s.value_mm2:g} mm²" if s.value_mm2 else "") + f" ({s.why})"
        for s in chain.steps
    )
    result = (
        f"{chain.needed_mm2:g} mm²"
        if chain.needed_mm2 is not None
        else "Not decided. Needed: " + "; ".join(chain.unknown)
    )
    return worked_out(
        "Main bonding conductor, copper",
        result,
        steps or edition.clause("bond.size"),
        f"{edition.titled(on.date())}; rules of {on.date()}",
        needed_mm2=chain.needed_mm2,
    )


@bench.command(name="earthing-conductor")
@click.option("--line", "line_mm2", type=float, required=True, help="Line conductors, mm².")
@ON
def earthing_conductor(line_mm2: float, on: dt.datetime) -> Sum:
    """Least earthing conductor of the line's material, without a calculation."""
    edition = RuleBook.load().wiring_for(on.date())
    step = earthing_conductor_min(edition, line_mm2)
    return worked_out(
        f"Line {line_mm2:g} mm²",
        f"{step.value_mm2:g} mm²",
        step.why,
        f"{edition.titled(on.date())}, {step.clause} ({step.confidence}); rules of {on.date()}",
        value_mm2=step.value_mm2,
    )


@bench.command(name="leads")
@click.option("--reading", "reading_ohm", type=float, required=True, help="Display with the leads in it, Ω.")
@click.option("--lead", "lead_ohm", type=float, required=True, help="Leads by themselves, Ω.")
@click.option("--pct", type=float, default=3.0, show_default=True)
@click.option("--digits", type=float, default=2.0, show_default=True)
@click.option("--step", "step_ohm", type=float, default=0.01, show_default=True)
def leads_(reading_ohm: float, lead_ohm: float, pct: float, digits: float, step_ohm: float) -> Sum:
    """What is left after the leads are subtracted, and how well it is known."""
    half = [abs(v) * pct / 100 + (digits + 0.5) * step_ohm for v in (reading_ohm, lead_ohm)]
    left = rectangular(reading_ohm, half[0], "Ω", "reading", "reading") - rectangular(
        lead_ohm, half[1], "Ω", "lead", "leads"
    )
    return worked_out(
        "Leads subtracted: both errors add",
        f"{left.value:.3f} ± {left.expanded():.3f} Ω (95 %)",
        "R = shown − lead; u² = u(shown)² + u(lead)²",
        "JCGM 100:2008, 5.1.2; limits of error rectangular",
        value_ohm=left.value,
        expanded_ohm=left.expanded(),
    )


@bench.command(name="closure")
@click.option("--conductor", "c_ohm", type=float, required=True)
@click.option("--path", "p_ohm", type=float, help="Leave out for over-range.")
@click.option("--together", "t_ohm", type=float, required=True)
@click.option("--pct", type=float, default=3.0, show_default=True)
@click.option("--digits", type=float, default=2.0, show_default=True)
@click.option("--step", "step_ohm", type=float, default=0.01, show_default=True)
def closure_(c_ohm: float, p_ohm: float | None, t_ohm: float, pct: float, digits: float, step_ohm: float) -> Sum:
    """Whether three readings of one bond hang together: 1/together = 1/conductor + 1/path."""

    def quantity(value: float, name: str) -> Any:
        return rectangular(value, value * pct / 100 + (digits + 0.5) * step_ohm, "Ω", name, name)

    c = close(
        quantity(c_ohm, "conductor"), None if p_ohm is None else quantity(p_ohm, "path"), quantity(t_ohm, "together")
    )
    verdict = "They agree" if c.closes else "They do not agree: null, lead or joint moved"
    return worked_out(
        f"Together from conductor and path: {c.predicted:.4f} Ω",
        f"{verdict}: {c.difference.value:+.3f} ± {c.difference.expanded():.3f} Ω",
        "1/together = 1/conductor + 1/path",
        "parallel resistances; JCGM 100:2008, 5.1.2",
        closes=c.closes,
        predicted_ohm=c.predicted,
    )
