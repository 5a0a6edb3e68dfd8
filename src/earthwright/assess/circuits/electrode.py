"""Earth electrodes: what counts as the electrode itself, the sum with the bonds, fall of potential, both RCD limits."""

from __future__ import annotations

import re
from collections.abc import Sequence

from attrs import frozen

from ...base.digits import Kind
from ...base.errors import Finding, NoRule, Severity
from ...base.quantity import Limit, Quantity, rectangular
from ...evidence.expected import Closure, close
from ...outcomes.circuits import ElectrodeJudged, TestJudged
from ...outcomes.verdict import Judged, no_rule, not_decided
from ...physics.domain import OutOfDomain
from ...physics.electrode import fall_of_potential, plate_ohm, rod_ohm, rods_ohm, spacing_factor, strip_ohm
from ...rules.lookup import ra_max, ra_stable
from ...site.events import EARTHING, Reading
from ...site.installation import Device, Electrode
from ...site.islands import things_of
from ...site.reading import Corrected
from . import words_live as say
from .limits import Case, counting, hold, hold_value, without_value, worst
from .worst_reading import highest

ALONE, WITH, OTHER, STAKES = "rod alone", "with bonds", "other part alone", "stakes"
METHODS = (ALONE, WITH, OTHER, STAKES)
# Three positions of the potential stake agree when none is further from their mean than this share; customary.
AGREE = 0.05
_METRES = re.compile(r"^\s*([0-9]+(?:\.[0-9]+)?)\s*m?\b")
_ORDER = {"nearer": 0, "middle": 1, "farther": 2, "further": 2}


@frozen
class Resistance:
    """The electrode by itself, as far as it is known."""

    quantity: Quantity | None
    corrected: Corrected | None
    how: str
    trusted: bool
    why: str = ""


def electrode_judged(case: Case, electrode: Electrode) -> ElectrodeJudged:
    """One electrode with a row for each way it was measured."""
    rows: list[TestJudged] = []
    findings: list[Finding] = []
    parted: dict[str, list[Reading]] = {}
    for reading in case.taken.of(electrode.id, "electrode"):
        parted.setdefault(reading.method if reading.method in METHODS else "", []).append(reading)
    alone: Resistance | None = None
    for method in (ALONE, STAKES, WITH, OTHER, ""):
        some = tuple(parted.get(method, ()))
        if not some:
            continue
        empty = without_value(case, electrode.id, "electrode", method, some)
        if empty is not None:
            rows.append(empty)
            continue
        if method in (ALONE, STAKES):
            found, said, sums = (_alone if method == ALONE else _stakes)(case, electrode, some)
            alone = alone or found
            rows.append(_itself(case, electrode, method, some, found, said, sums))
        else:
            rows.append(_not_itself(case, electrode, method, some))
    closure, said_closure = _closure(case, electrode, parted)
    findings += _of_sum(electrode, closure)
    by_itself = [_alone_unknown(electrode)] if alone is None and parted else []
    findings += by_itself
    words = say.sentences(
        (
            *(r.words for r in rows),
            said_closure,
            *(f.what for f in by_itself),
            planned(electrode),
        )
    )
    return ElectrodeJudged(electrode, tuple(rows), tuple(findings), words)


def planned(electrode: Electrode) -> str:
    """What the electrode would have in even soil, from its size, for planning; empty when size or soil are not entered."""
    e = electrode
    if e.soil_ohm_m is None:
        return ""
    one: float | None = None
    try:
        if e.kind == "rod" and e.length_m and e.diameter_mm:
            one = rod_ohm(e.soil_ohm_m, e.length_m, e.diameter_mm / 1000)
        elif e.kind == "tape" and e.length_m and e.width_mm and e.depth_m:
            one = strip_ohm(e.soil_ohm_m, e.length_m, e.depth_m, e.width_mm / 1000)
        elif e.kind == "plate" and e.area_m2:
            one = plate_ohm(e.soil_ohm_m, e.area_m2)
        if one is None:
            return ""
        if e.count == 1:
            return f"For planning: about {one:.3g} Ω in even soil of {e.soil_ohm_m:g} Ω·m."
        if e.count != 2 or not e.spacing_m:
            return f"For planning: about {one:.3g} Ω each; how {e.count} together do is not worked out."
        # Two rods disturb each other by the spacing factor itself.
        both = rods_ohm(one, 2, spacing_factor(e.soil_ohm_m, one, e.spacing_m), 1.0)
    except OutOfDomain as error:
        return f"For planning nothing can be said: {error}."
    return f"For planning: about {one:.3g} Ω each, {both:.3g} Ω both, in even soil of {e.soil_ohm_m:g} Ω·m."


def residual_devices(case: Case, electrode: str = "") -> tuple[tuple[float, str], ...]:
    """Each rated residual current [mA], smallest first, with the ids that have it: of what stands on that electrode only.

    electrode  id of one that earths an island; empty or another: everything that stands on the site's own earth
    """
    found: dict[float, list[str]] = {}
    site = case.visit.site
    own = {thing for island, e in case.earths.items() if e == electrode for thing in things_of(site, island)}
    others = {thing for island in case.earths for thing in things_of(site, island)}
    things: list[tuple[str, Device | None]] = [(b.id, b.rcd) for b in site.boards]
    things += [(c.id, c.device) for c in site.circuits]
    things = [(name, d) for name, d in things if (name in own if own else name not in others)]
    for name, device in things:
        if device is not None and device.rcd_ma:
            found.setdefault(device.rcd_ma, []).append(name)
    return tuple((ma, ", ".join(names[:3]) + (" …" if len(names) > 3 else "")) for ma, names in sorted(found.items()))


def _corrected_last(case: Case, readings: Sequence[Reading]) -> Corrected:
    return case.taken.corrected(counting(readings)[-1])


def _alone(
    case: Case, electrode: Electrode, readings: Sequence[Reading]
) -> tuple[Resistance, tuple[Finding, ...], tuple[str, ...]]:
    counted = counting(readings)
    alone = [r for r in counted if case.taken.state(r).off & {EARTHING, electrode.id}]
    corrected = case.taken.corrected(highest(case, alone or counted))
    off = case.taken.state(corrected.reading).off
    if not off & {EARTHING, electrode.id}:
        why = "it is said to be the electrode alone, but no step took the earthing conductor off"
        return (
            Resistance(corrected.quantity, corrected, "rod alone", False, why),
            (_state(electrode, corrected.reading, why),),
            (),
        )
    return Resistance(corrected.quantity, corrected, "rod alone", True), (), ()


def _state(electrode: Electrode, reading: Reading, why: str) -> Finding:
    return Finding(
        f"electrode {electrode.id}, reading {reading.id}",
        f"The value does not count as evidence: {why}.",
        Severity.ERROR,
        "electrode.state",
        electrode.id,
        "rod alone with the earthing conductor off, with bonds, other part alone, or stakes",
        reading.method or "nothing said",
        "Isolate, take the earthing conductor off, measure the electrode alone, and put it back.",
        "Bonded pipes in parallel make any electrode look good.",
    )


def _stakes(
    case: Case, electrode: Electrode, readings: Sequence[Reading]
) -> tuple[Resistance, tuple[Finding, ...], tuple[str, ...]]:
    """Fall of potential: three positions of the potential stake, nearer, in the middle, farther."""
    found = [case.taken.corrected(r) for r in counting(readings)]
    placed = [(_place(c.reading), c) for c in found]
    if len(placed) != 3 or any(p is None for p, _ in placed) or len({p for p, _ in placed}) != 3:
        why = "fall of potential needs three positions of the potential stake: nearer, middle, farther"
        return Resistance(None, found[-1], STAKES, False, why), (), ()
    near, middle, far = (c for _, c in sorted(placed, key=lambda x: x[0] or 0.0))
    values = [c.quantity for c in (middle, near, far)]
    if any(q is None or q.value <= 0 for q in values):
        return Resistance(None, middle, STAKES, False, "one position showed no value"), (), ()
    three = fall_of_potential(*(q.value for q in values if q is not None))
    spread = max(q.value for q in values if q) - min(q.value for q in values if q)
    mean = rectangular(three.mean_ohm, spread / 2, "Ω", f"{electrode.id}.stakes", "positions of the potential stake")
    instrument = next(q for q in values if q is not None)
    for cause in instrument.influences:
        mean = mean.with_influence(cause.key, cause.label, cause.u)
    sums = (
        f"Mean of {', '.join(f'{q.value:g}' for q in values if q)} Ω = {three.mean_ohm:.4g} Ω; furthest from it "
        f"{100 * three.deviation:.1f} %, at most {100 * AGREE:g} % is customary",
    )
    if three.deviation > AGREE:
        why = f"the three positions disagree by {100 * three.deviation:.0f} %: the stakes are too near each other"
        finding = Finding.of(
            "electrode.stakes",
            f"electrode {electrode.id}",
            f"Fall of potential: {why}.",
            electrode.id,
            f"within {100 * AGREE:g} % of their mean",
            f"{100 * three.deviation:.1f} %",
            "Move the current stake further away and take the three readings again.",
            "Buried metal near the line of the stakes does the same.",
        )
        return Resistance(mean, middle, STAKES, False, why), (finding,), sums
    off = case.taken.state(middle.reading).off
    if not off & {EARTHING, electrode.id}:
        why = "the earthing conductor was not taken off, so bonded metal was measured with it"
        return Resistance(mean, middle, STAKES, False, why), (_state(electrode, middle.reading, why),), sums
    return Resistance(mean, middle, STAKES, True), (), sums


def _place(reading: Reading) -> float | None:
    metres = _METRES.match(reading.point)
    return float(metres.group(1)) if metres else _ORDER.get(reading.point.strip().lower())


def _itself(
    case: Case,
    electrode: Electrode,
    method: str,
    readings: tuple[Reading, ...],
    found: Resistance,
    said: tuple[Finding, ...],
    sums: tuple[str, ...],
) -> TestJudged:
    judged = _against_devices(case, electrode.id, found)
    unstable = _unstable(case, electrode, found)
    state = case.taken.state(readings[-1])
    words = say.sentences(
        (
            say.was_read(f"Electrode {electrode.id}, {method}", counting(readings)),
            f"It does not count: {found.why}." if found.why else "",
            *(say.against(j) for j in judged),
            *(f.what for f in unstable),
        )
    )
    return TestJudged(
        electrode.id,
        "electrode",
        method,
        readings,
        state,
        found.corrected,
        judged=judged,
        outcome=worst(judged),
        words=words,
        sums=(*sums, *(_product(found, j) for j in judged if found.quantity is not None and j.limit is not None)),
        findings=(*said, *unstable),
        value=found.quantity if method == STAKES else None,
    )


def _product(found: Resistance, judged: Judged) -> str:
    assert found.quantity is not None
    assert judged.limit is not None
    return (
        f"{judged.limit.what}: RA = {found.quantity.value:.4g} Ω against {judged.limit.value:g} Ω; {judged.limit.note}"
    )


def residual_limits(case: Case, electrode: str = "") -> tuple[Limit, ...]:
    """RA·IΔn ≤ 50 V as one limit on resistance [Ω] for each rated residual current of the installation; none without an edition."""
    limits = []
    for idn_ma, names in residual_devices(case, electrode):
        try:
            limits.append(case.limits.ask(ra_max, idn_ma).as_limit("max", f"earthing with {idn_ma:g} mA ({names})"))
        except NoRule:
            return ()
    return tuple(limits)


def _against_devices(case: Case, electrode: str, found: Resistance) -> tuple[Judged, ...]:
    """One comparison for each rated residual current in the installation."""
    limits = residual_limits(case, electrode)
    if not limits:
        why = "no residual current device is entered to hold it against"
        return (no_rule(why if not residual_devices(case, electrode) else "no edition of the rules for this visit"),)
    judged = []
    for limit in limits:
        if not found.trusted:
            judged.append(not_decided(limit, found.why))
        elif found.how == STAKES and found.quantity is not None:
            judged.append(hold_value(case, found.quantity, limit))
        else:
            assert found.corrected is not None
            judged.append(hold(case, found.corrected, limit))
    return tuple(judged)


def _unstable(case: Case, electrode: Electrode, found: Resistance) -> tuple[Finding, ...]:
    shown = found.corrected.reading.shown if found.corrected is not None else None
    over = shown is not None and shown.kind is Kind.OVER
    value = float("inf") if over else (found.quantity.value if found.quantity is not None else 0.0)
    try:
        row = case.limits.ask(ra_stable)
    except NoRule:
        return ()
    if value <= float(row.value):
        return ()
    return (
        Finding.of(
            "electrode.unstable",
            f"electrode {electrode.id}",
            f"Above {row.value} Ω an electrode may not be stable ({row.clause}); it changes with the season.",
            electrode.id,
            f"at most {row.value} Ω",
            "over-range" if over else f"{value:.4g} Ω",
            "Clean or renew the clamp, drive it deeper or add rods, and measure again in a dry season.",
        ),
    )


def _not_itself(case: Case, electrode: Electrode, method: str, readings: tuple[Reading, ...]) -> TestJudged:
    """A value that is not the electrode's own: kept, shown, held against nothing."""
    corrected = _corrected_last(case, readings)
    why = {
        "": "how it was measured is not said, so it counts for nothing",
        WITH: "the bonded metal is measured with it",
        OTHER: "it is the other part's",
    }[method]
    words = say.sentences(
        (
            say.was_read(f"Electrode {electrode.id}", counting(readings)),
            f"Not the electrode's own value: {why}.",
        )
    )
    judged = (not_decided(None, why),)
    return TestJudged(
        electrode.id,
        "electrode",
        method,
        readings,
        case.taken.state(corrected.reading),
        corrected,
        judged=judged,
        outcome=worst(judged),
        words=words,
    )


def _closure(case: Case, electrode: Electrode, parted: dict[str, list[Reading]]) -> tuple[Closure | None, str]:
    """1/with = 1/rod + 1/other, when all three were read."""
    three = []
    for method in (ALONE, OTHER, WITH):
        found = counting(parted.get(method, ()))
        quantity = case.taken.corrected(found[-1]).quantity if found else None
        if quantity is None or quantity.value <= 0:
            return None, ""
        three.append(quantity)
    rod, other, both = three
    closure = close(rod, other, both)
    if not closure.closes:
        return closure, ""
    return closure, (
        f"The three readings agree: {rod.value:g} Ω beside {other.value:g} Ω is {closure.predicted:.1f} Ω, and {both.value:g} Ω was "
        f"read. The other part carries {100 * rod.value / (rod.value + other.value):.0f} % of the current: a bond, not an electrode."
    )


def _of_sum(electrode: Electrode, closure: Closure | None) -> tuple[Finding, ...]:
    if closure is None or closure.closes:
        return ()
    return (
        Finding.of(
            "electrode.sum",
            f"electrode {electrode.id}",
            "Electrode, other part and both together do not agree.",
            electrode.id,
            f"{closure.predicted:.1f} Ω with the bonds on",
            f"{closure.predicted + closure.difference.value:.1f} Ω",
            "Say what was off at each reading and take the three again.",
            "More bonded metal than the one part that was measured would explain a lower value.",
        ),
    )


def _alone_unknown(electrode: Electrode) -> Finding:
    return Finding.of(
        "electrode.alone",
        f"electrode {electrode.id}",
        "The electrode by itself is not known: no reading was taken with everything else off.",
        electrode.id,
        "a reading of the rod alone",
        "none",
        "Isolate, take the earthing conductor off, measure the electrode alone, and put it back before energising.",
        "A water pipe may not serve as the electrode, and may be plastic tomorrow.",
    )
