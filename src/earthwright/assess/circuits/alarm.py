"""Danger that is there now: a lost supply neutral, and current in the bonds that no switch of the house stops."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence

from attrs import frozen

from ...base.errors import NoRule
from ...outcomes.circuits import Alarm
from ...physics.supply import load_ohm, lost_neutral
from ...rules.lookup import nominal_voltage, touch_limit
from ...site.codes import voltage_between
from ...site.events import EARTHING, ORIGIN, ClampCurrent, Volts
from ...site.ledger import state_at
from ...site.repairs import repairs_of
from .limits import Case

LOST_NEUTRAL = "lost supply neutral"
SIGN = "sign of a lost supply neutral"
AFTER_ISOLATION = "current after isolation"

# Between the MET and true earth this much is looked into; a working choice, half of the touch limit.
LOOK_INTO_V = 25.0
_KW = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*kW\b", re.IGNORECASE)
_OFF = re.compile(r"\b(off|isolated|isolation|no load|without load)\b", re.IGNORECASE)
_ON = re.compile(r"\b(on|running|with load|kw)\b", re.IGNORECASE)


@frozen
class Seen:
    """The worst voltages and currents, with the load on and off; None where nothing was read."""

    ln_on_v: float | None
    ln_off_v: float | None
    met_v: float | None
    bonds: tuple[tuple[str, float, float | None], ...]
    load_kw: float | None
    le_v: float | None = None
    ne_v: float | None = None


def alarms(case: Case) -> tuple[Alarm, ...]:
    """Every danger that the entries of a visit show now; one that blocks closes every disconnection."""
    return (*_lost_neutral(case), *_after_isolation(case))


def load_is_on(load: str) -> bool | None:
    """Whether the words about the load say on or off; None when they say neither. ``off`` counts before ``on``."""
    if _OFF.search(load):
        return False
    return True if _ON.search(load) else None


def _worst(
    events: Sequence[Volts | ClampCurrent], mended: int, far: Callable[[float], float] = abs
) -> dict[tuple[str, bool | None], float]:
    """What was read at each place with the load on and off, as far out as it was: a failing neutral comes and goes.

    mended  place in the order of the last repair of the supply: what was measured again after it stands alone
    """
    found: dict[tuple[str, bool | None], list[Volts | ClampCurrent]] = {}
    for event in events:
        name = voltage_between(event.between) if isinstance(event, Volts) else event.on
        found.setdefault((name, load_is_on(event.load)), []).append(event)
    since = {key: [e for e in some if e.seq > mended] or some for key, some in found.items()}
    return {key: max((e.shown.value for e in some), key=far) for key, some in since.items()}


def _proved_dead(case: Case, event: Volts) -> bool:
    """Whether a voltage is that of dead conductors, as it should be, and says nothing of the supply."""
    line = voltage_between(event.between) in ("L-N", "L-E")
    return line and event.shown.value < 50.0 and state_at(case.visit.events, event.seq).isolated is True


def seen(case: Case) -> Seen:
    """What voltages and clamp currents say; none is better for being read again, unless the supply was put right."""
    mended = max((r.seq for r in repairs_of(case.visit.events, ORIGIN)), default=0)
    low_v, high_v = _range(case)
    middle = (low_v + high_v) / 2
    read = [e for e in case.visit.events if isinstance(e, Volts) and not _proved_dead(case, e)]
    volts, met_v = _worst(read, mended, lambda v: abs(v - middle)), _worst(read, mended)
    clamps = [e for e in case.visit.events if isinstance(e, ClampCurrent)]
    amps = _worst(clamps, mended)
    names = dict.fromkeys(e.on for e in clamps)
    without = _worst(clamps, mended, lambda a: -a)
    bonds = tuple((n, amps[(n, True)], without.get((n, False))) for n in names if (n, True) in amps)
    # With the load off too: a neighbour on the same break keeps the terminal live.
    met = [v for (name, _), v in met_v.items() if name == "MET"]
    n_e = [v for (name, _), v in met_v.items() if name == "N-E"]
    loads = [_KW.search(e.load) for e in case.visit.events if isinstance(e, Volts | ClampCurrent)]
    kw = next((float(m.group(1)) for m in reversed(loads) if m), None)
    with_load = volts.get(("L-N", True), volts.get(("L-N", None)))
    l_e = [v for (name, _), v in volts.items() if name == "L-E"]
    to_earth = max(l_e, key=lambda v: abs(v - middle), default=None)
    return Seen(
        with_load, volts.get(("L-N", False)), max(met, default=None), bonds, kw, to_earth, max(n_e, default=None)
    )


def _range(case: Case) -> tuple[float, float]:
    try:
        row = case.limits.ask(nominal_voltage)
        return float(row.number("low")), float(row.number("high"))
    except NoRule:
        return 0.94 * case.u0_v, 1.1 * case.u0_v


def _touch(case: Case) -> float:
    try:
        return float(case.limits.ask(touch_limit).value)
    except NoRule:
        return 50.0


def _signs(case: Case, what: Seen) -> tuple[list[str], bool]:
    """The signs in words, and whether one of them is danger by itself."""
    low_v, high_v = _range(case)
    signs: list[str] = []
    alone = False
    read = [(v, how) for v, how in ((what.ln_on_v, "with the load"), (what.ln_off_v, "without it")) if v is not None]
    if any(not low_v <= v <= high_v for v, _ in read):
        both = ", ".join(f"{v:g} V {how}" for v, how in read)
        signs.append(f"Between line and neutral {both}; {low_v:g} to {high_v:g} V are permitted.")
    if what.le_v is not None and not low_v <= what.le_v <= high_v:
        signs.append(f"Between line and earth {what.le_v:g} V; {low_v:g} to {high_v:g} V are permitted.")
    if what.ne_v is not None and what.ne_v >= LOOK_INTO_V:
        signs.append(f"{what.ne_v:g} V between neutral and earth.")
    if what.met_v is not None and what.met_v >= LOOK_INTO_V:
        alone = what.met_v >= _touch(case)
        signs.append(f"{what.met_v:g} V between the main earthing terminal and true earth.")
    tracking = _tracking(case, what)
    if tracking:
        signs.append(tracking)
    return signs, alone


def _tracking(case: Case, what: Seen) -> str:
    """Bonds whose current follows the load by more than the current above which none is opened."""
    stop = case.visit.choices.clamp_stop_a
    follow = [
        f"{name} {on:g} A with the load and {off:g} A without"
        for name, on, off in what.bonds
        if off is not None and on - off > stop
    ]
    return f"The current follows the load of this installation: {'; '.join(follow)}." if follow else ""


def _lost_neutral(case: Case) -> tuple[Alarm, ...]:
    what = seen(case)
    signs, alone = _signs(case, what)
    if not signs:
        return ()
    if len(signs) == 1 and not alone:
        return (
            Alarm(
                SIGN,
                "One sign of a lost supply neutral; look for the others before anything is opened.",
                (
                    "Measure between line and neutral, and between the main earthing terminal and a stake in true earth, with the load on and off.",
                    "Put the clamp meter round each bond and the earthing conductor with the load on and off.",
                    "Disconnect nothing until it is explained.",
                ),
                tuple(signs),
                blocks=True,
            ),
        )
    return (
        Alarm(
            LOST_NEUTRAL,
            "The supply neutral is lost or failing: bonded metal carries the load's current and stands at a dangerous voltage.",
            (
                "Switch the loads off at the main switch.",
                "Disconnect nothing: the bonds are all that holds the voltage down.",
                "Keep people away from bonded metal in reach of true earth: lamps outdoors, taps, charging point.",
                "Call the distributor (105) and report currents, voltages, times and postcode.",
                "Measure again with the switch off: a neighbour on the same break keeps the main earthing terminal live.",
                "After the repair look at bonds, clamps and pipes for heat, note it at the origin, and measure all of it again.",
            ),
            (*signs, *_sums(case, what), "No RCD will trip: its currents still balance."),
        ),
    )


def _sums(case: Case, what: Seen) -> tuple[str, ...]:
    """What the readings come to: what earths the MET, whether the voltages add up, and what taking a bond off would do."""
    lines: list[str] = []
    through = [(on, name) for name, on, _ in what.bonds if name != EARTHING]
    i_a, name = max(through, default=(0.0, ""))
    if what.met_v and i_a > 0:
        ra = what.met_v / i_a
        lines.append(f"{what.met_v:g} V / {i_a:g} A = {ra:.3g} Ω earths the terminal, through {name}.")
        if what.load_kw:
            rl = load_ohm(1000 * what.load_kw, case.u0_v)
            state = lost_neutral(case.u0_v, ra, rl)
            lines.append(
                f"A load of {what.load_kw:g} kW is {rl:.3g} Ω; with the neutral open {case.u0_v:g} V × {ra:.3g} / ({ra:.3g} + {rl:.3g}) "
                f"= {state.met_v:.0f} V, {state.i_a:.1f} A, and {state.load_v:.0f} V are left for the load."
            )
    if what.met_v and what.ln_on_v is not None:
        total = what.met_v + what.ln_on_v
        lines.append(f"{what.ln_on_v:g} V + {what.met_v:g} V = {total:g} V of {case.u0_v:g} V.")
    if lines and i_a > 0:
        off = lost_neutral(case.u0_v, math.inf, load_ohm(1000 * (what.load_kw or 1.0), case.u0_v))
        lines.append(f"With that bond off the terminal would take up to {off.met_v:.0f} V.")
    return tuple(lines)


def _after_isolation(case: Case) -> tuple[Alarm, ...]:
    """Current that stays when the installation is off comes from outside: through the bond, from other homes."""
    stop = case.visit.choices.clamp_stop_a
    events = case.visit.events
    mended = max((r.seq for r in repairs_of(events, ORIGIN)), default=0)
    worst: dict[str, ClampCurrent] = {}
    before: dict[str, ClampCurrent] = {}
    for event in events:
        if not isinstance(event, ClampCurrent):
            continue
        off = load_is_on(event.load)
        if off is False or (off is None and state_at(events, event.seq).isolated):
            worst[event.on] = max(worst.get(event.on, event), event, key=lambda e: (e.seq > mended, e.shown.value))
        else:
            before[event.on] = event
    over = [e for e in worst.values() if e.shown.value > stop and _everything_off(case, e)]
    if not over:
        return ()
    because = []
    for event in over:
        then = before.get(event.on)
        beside = f"; {then.shown} before" if then is not None else ""
        because.append(f"{event.on}: {event.shown} with the supply of this installation off{beside}.")
    return (
        Alarm(
            AFTER_ISOLATION,
            f"Current still flows in the bonds with this installation off (more than {stop:g} A): it comes from outside.",
            (
                "Do not open this bond or the earthing conductor: the gap may become live, and arc, near gas.",
                "Report to the distributor with currents, times and postcode.",
                "If the bonding must be improved: measure the voltage between the two ends, run the new conductor first, connect it "
                "at both ends in parallel (spare terminal, second clamp), and leave the old one until the distributor has been.",
            ),
            (*because, "It does not come from this installation's load; homes with a weak neutral share this metal."),
        ),
    )


def _everything_off(case: Case, event: ClampCurrent) -> bool:
    """Whether the whole installation was off, not one load only."""
    if state_at(case.visit.events, event.seq).isolated:
        return True
    return bool(re.search(r"main switch|isolat|supply", event.load, re.IGNORECASE))
