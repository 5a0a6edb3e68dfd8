"""Sentences about rings: what was read, what a whole ring shows, which wiring the digits speak for, what to do."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from ...base.errors import Finding, Severity
from ...evidence.bond import DISPROVED, PROVED, Observed
from ...evidence.ring import RingFit, RingTest
from ...evidence.ring.coverage import stretches
from ...evidence.ring.faults import Kind, fault_of, kind_of
from ...evidence.ring.model import BRIDGE, LEADS, NOT_CROSSED, OPEN_OR_LINKED, TOO_SHORT, UNEXPLAINED, UNSEEN, WHOLE
from ...physics.ring import quarter_ohm
from ...report.words import SHORT_LEADS, times
from ...site.installation import Circuit
from .words_dead import listed, metres, sentences

LOWEST = -6.0
REFUSED = "entries that could not be read"
MOVED = "read again and not the same"
# How each hypothesis is put into a sentence.
_AS = {
    WHOLE: "a whole ring",
    BRIDGE: "a ring bridged within itself",
    OPEN_OR_LINKED: "a cable open in every conductor, or a leg changed over with another ring",
}


# The finding that a ring gets which is disproved as one of a kind.
_FAMILY = {
    Kind.BRIDGED: "ring.bridge",
    Kind.LEGS_NOT_CROSSED: "ring.not_crossed",
    Kind.JOINT: "ring.poor_joint",
    Kind.BREAK: "ring.break",
    Kind.ALL_OPEN: "ring.break",
}


NOTHING_VOID: Mapping[str, str] = {}
READ_ANEW = "Null the leads or change them, short them, and read again what does not count."


def named(name: str) -> str:
    """A hypothesis as a thing: *a break in the cpc*."""
    if name in _AS:
        return _AS[name]
    fault = fault_of(name)
    if fault is None:
        return name
    if fault.kind is Kind.LEGS_NOT_CROSSED:
        return "legs that were not crossed" + name.removeprefix(NOT_CROSSED).replace(",", " for")
    return f"a {fault.kind.value} in the {' and the '.join(fault.at)}"


def ring_words(
    circuit: Circuit, test: RingTest, fit: RingFit, outside: Sequence[str], void: Mapping[str, str] = NOTHING_VOID
) -> str:
    """The paragraph on a ring. ``void``: the tests that were read and do not count, each with its cause."""
    return sentences(
        ends(test, void),
        *_profiles(test, fit, void),
        *(f"Why it does not count: {cause}." for cause in dict.fromkeys(void.values())),
        _outside(outside, len(test.sockets)),
        f"r1 and rn stand for {metres(fit.implied_m)} of cable." if fit.implied_m is not None else "",
        _shows(test, fit),
        _place(fit),
        _spurs(fit),
        _limits(fit),
        *([READ_ANEW] if void else _do(test, fit)),
    )


def _digits(observed: Observed | None, void: bool = False) -> str:
    if observed is None:
        return "does not count" if void else "not read"
    return "over-range" if math.isinf(observed.shown) else f"{observed.shown:.2f} Ω"


def ends(test: RingTest, void: Mapping[str, str] = NOTHING_VOID) -> str:
    """The end to end readings in a sentence."""
    read = {"r1": test.r1, "rn": test.rn, "r2": test.r2}
    return ", ".join(f"{name} {_digits(x, f'ring {name}' in void)}" for name, x in read.items()) + "."


def _profiles(test: RingTest, fit: RingFit, void: Mapping[str, str]) -> list[str]:
    said = []
    for name, key, bands, read in (
        ("Line to neutral crossed", "ring ln", fit.ln_expected, [s.ln for s in test.sockets]),
        ("Line to cpc crossed", "ring le", fit.le_expected, [s.le for s in test.sockets]),
    ):
        values = [x.shown for x in read if x is not None]
        if not values:
            said.append(f"{name}: {_digits(None, key in void)}.")
            continue
        finite = [v for v in values if math.isfinite(v)]
        low, high = (min(finite), max(finite)) if finite else (math.inf, math.inf)
        digits = "over-range" if not finite else f"{low:.2f} Ω" if low == high else f"{low:.2f} to {high:.2f} Ω"
        if finite and len(finite) < len(values):
            digits += f" and over-range at {len(values) - len(finite)}"
        known = [b for b in bands if b is not None]
        whole = ""
        if known:
            least, most = min(b.low for b in known), max(b.high for b in known)
            whole = f"; a whole ring with these ends shows {least:.2f} to {most:.2f} Ω"
        count = f"{len(values)} of {len(read)} sockets" if len(values) < len(read) else f"all {len(read)} sockets"
        said.append(f"{name}, at {count}: {digits}{whole}.")
    return said


def _outside(outside: Sequence[str], count: int) -> str:
    if not outside:
        return ""
    names = listed(outside) if len(outside) <= 6 else f"{listed(outside[:5])} and {len(outside) - 5} more"
    return f"Outside that band: {len(outside)} of {count} sockets, {names}."


def _shows(test: RingTest, fit: RingFit) -> str:
    scores = dict(fit.scores)
    if not scores:
        return "Not shown: nothing that counts was read."
    best = fit.scores[0][0]
    if fit.verdict == PROVED:
        other, weight = fit.scores[1]
        return (
            f"A whole ring would show these digits {_times(weight)} as often as {named(other)}, the next best of the wirings tried. "
            "Proved: the ring is whole."
        )
    against = _times(scores[WHOLE])
    if fit.verdict == DISPROVED and fit.named:
        return f"{_capital(named(fit.named))} would show these digits {against} as often as a whole ring. Disproved: the ring is not whole."
    if fit.verdict == DISPROVED:
        either = " or ".join(named(r) for r in fit.rivals)
        return (
            f"{_capital(named(best))} would show these digits {against} as often as a whole ring. Disproved: the ring is not whole. "
            f"Which it is stays open: {either}."
        )
    if fit.named == NOT_CROSSED:
        return (
            f"{_capital(named(fit.scores[0][0]))} would show these digits {against} as often as a whole ring with its legs crossed. "
            "Not shown: whether the ring is whole, since the test was not made as it should be."
        )
    if fit.why == REFUSED:
        return f"Not shown: there are {REFUSED}, and what they say may matter."
    if fit.why == LEADS:
        return (
            "The digits would settle it, but the leads were not shorted afterwards, so what was allowed for them is only believed. "
            "Not shown: whether the ring is whole."
        )
    if fit.why == TOO_SHORT:
        return (
            "The profile fits a whole ring, but one that is shorter than the cable estimated: a bridge that spares the sockets "
            "would do that. Not shown: whether the ring is whole."
        )
    if fit.why == MOVED:
        return "A reading was taken again and is not the same, with nothing noted as put right. Not shown: whether the ring is whole."
    if fit.why == UNSEEN:
        return (
            "The digits fit a whole ring, but a bridge between sockets that were not read would show none of it"
            + (
                ", and neither the length of the ring nor the number of its sockets is known."
                if test.length_m is None and not test.counted
                else "."
            )
            + " Not shown: whether the ring is whole."
        )
    if fit.why == UNEXPLAINED:
        return "None of the wirings tried explains these digits. Not shown: whether the ring is whole."
    kinds = [named(r) for r in fit.rivals]
    return f"These digits fit more than one wiring: {listed(kinds)}. Not shown: whether the ring is whole."


def _times(weight: float) -> str:
    return ("more than a million times" if weight <= LOWEST else times(weight)) if weight < 0.0 else "as likely as not"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _place(fit: RingFit) -> str:
    if fit.named == BRIDGE and len(fit.ends_m) == 2 and fit.via_m is not None:
        ends = " and ".join(metres(e) for e in fit.ends_m)
        near = f", near {listed(fit.between)}" if fit.between else ""
        return f"The bridge joins {ends} from leg 1{near}, by about {metres(fit.via_m)} of cable."
    if not fit.named or fit.named in (WHOLE, BRIDGE, NOT_CROSSED):
        return ""
    if fit.where_m is None:
        return "The digits do not say where."
    first, last = fit.between
    between = f"between {first} and {last}" if first != last else f"at {first}"
    return f"It is {between}, {metres(fit.where_m)} from leg 1 (95 %)."


def _spurs(fit: RingFit) -> str:
    if not fit.spurs:
        return ""
    each = [f"{s.point} ({metres(s.length_m)})" for s in fit.spurs]
    return f"If it is whole, {listed(each)} {'reads' if len(each) == 1 else 'read'} like a spur, which the rules allow."


def _limits(fit: RingFit) -> str:
    if fit.verdict != PROVED:
        return ""
    return "A bridge that lifts fewer than two sockets by 0.05 Ω, or a loop round one socket, is not told from a whole ring."


def _read_next(test: RingTest) -> list[str]:
    """Which sockets to read, and what to enter, before a bridge could have shown."""
    unread = [s.point for s in test.sockets if s.ln is None or s.le is None]
    if unread:
        return [f"Read both crossed profiles at {listed(unread)} as well."]
    if test.length_m is None:
        return [
            "Enter the length of the ring, or how many sockets it has; read both crossed profiles at every other socket on "
            "it, those between the ones that were read first."
        ]
    _, one, other = max(stretches(test, test.length_m))
    return [
        f"Read both crossed profiles at the sockets between {one} and {other}, or enter how many sockets there are."
    ]


def _do(test: RingTest, fit: RingFit) -> list[str]:
    if fit.verdict == PROVED:
        return []
    if fit.why == REFUSED:
        return ["Correct the entries that could not be read."]
    if fit.why == LEADS:
        return [SHORT_LEADS]
    if fit.why == TOO_SHORT:
        return ["Pace the route again, and look for a third cable at the sockets and in junction boxes between them."]
    if fit.why == UNSEEN:
        return _read_next(test)
    if fit.why == MOVED:
        return [
            "If it was put right, enter the repair and read it again; if one reading was wrong, strike it and say why."
        ]
    if fit.named:
        return [_remedy(fit)]
    if any(s.ln is None or s.le is None for s in test.sockets) or not test.sockets:
        return ["Read both crossed profiles at every socket."]
    if fit.verdict == DISPROVED:
        return ["Look at the terminals at the sockets where the profile turns, and read r1, rn and r2 again."]
    do = (
        ["Count the cables at the sockets that read high: one more than two is a spur or a bridge."]
        if fit.spurs
        else []
    )
    if any(s.place_m is None for s in test.sockets):
        do.append("Enter where along the cable each socket lies.")
    return do or ["Read r1, rn, r2 and both profiles again with the leads nulled, and short the leads afterwards."]


def _remedy(fit: RingFit) -> str:
    fault = fault_of(fit.named)
    kind = None if fault is None else fault.kind
    if kind is Kind.ALL_OPEN:
        return (
            "See whether another ring of the board reads open too: then a leg was changed over at the board. Else look for "
            "a cable that is off at a socket."
        )
    if fault is not None and kind is Kind.BREAK:
        earth = (
            " Every socket still has its earth from one side, so a Zs within its limit does not clear it; a second break "
            "leaves sockets without earth."
            if "cpc" in fault.at
            else " Each half now carries what the whole ring was meant to carry."
        )
        find = (
            "Find and repair it at the terminals on either side, then take the whole test again."
            if fit.where_m is not None
            else "Read both crossed profiles at every socket; if they do not tell the place, part the ring at a socket in the "
            "middle, read each half end to end, and halve again."
        )
        return find + earth
    if kind is Kind.JOINT:
        return "Look at the terminals there: a loose or corroded one heats under load. Repair it and take the whole test again."
    if kind is Kind.BRIDGED:
        return "Trace the third cable at the sockets named; take it out or redesign the circuit, then take the whole test again."
    return "Join line of leg 1 to neutral (cpc) of leg 2 and the other way round, and read the profile again."


def fault_finding(where: str, circuit: Circuit, test: RingTest, fit: RingFit) -> Finding | None:
    """What a ring that is not proved whole says as a finding; None when only readings are missing."""
    scores = dict(fit.scores)
    if fit.verdict == DISPROVED:
        what = f"The ring is not whole: {named(fit.named)}." if fit.named else "The ring is not whole."
        kind = kind_of(fit.named)
        severity, family = Severity.WARNING, "ring.not_whole" if kind is None else _FAMILY[kind]
    elif fit.named:
        what, severity, family = "The legs seem not to have been crossed.", Severity.WARNING, "ring.not_crossed"
    elif fit.why == LEADS:
        what, severity, family = "The ring is not shown to be whole.", Severity.NOTE, "ring.not_shown"
    elif fit.why == UNEXPLAINED:
        what, severity, family = "No wiring explains these digits.", Severity.WARNING, "ring.unexplained"
    elif fit.why in (UNSEEN, MOVED):
        what, severity, family = "The ring is not shown to be whole.", Severity.NOTE, "ring.not_shown"
        severity = Severity.WARNING if fit.why == MOVED else severity
    elif not any(s.ln is not None or s.le is not None for s in test.sockets):
        what, severity, family = (
            "The ring is not shown to be whole: no profile was read.",
            Severity.NOTE,
            "ring.not_shown",
        )
    else:
        what, severity, family = "The ring is not shown to be whole.", Severity.WARNING, "ring.not_shown"
    return Finding(
        where,
        what,
        severity,
        family,
        circuit.id,
        "a whole ring",
        ends(test).rstrip("."),
        " ".join(_do(test, fit)),
        sentences(
            _place(fit),
            f"A whole ring explains these readings {_times(scores.get(WHOLE, 0.0))} less well than the best explanation does."
            if scores.get(WHOLE, 0.0) < -0.3
            else "",
        ),
    )


def ring_sums(test: RingTest, fit: RingFit, make: tuple[float, float]) -> tuple[str, ...]:
    """The sums behind the judgement, line by line."""
    lines = []
    finite = [x is not None and math.isfinite(x.shown) for x in (test.r1, test.rn, test.r2)]
    if finite[0] and finite[1] and test.r1 is not None and test.rn is not None:
        quarter = quarter_ohm(test.r1.shown, test.rn.shown)
        lines.append(f"Line to neutral, whole ring: ({test.r1.shown:.2f} + {test.rn.shown:.2f})/4 = {quarter:.3f} Ω")
    if finite[0] and finite[2] and test.r1 is not None and test.r2 is not None:
        quarter = quarter_ohm(test.r1.shown, test.r2.shown)
        lines.append(
            f"Line to cpc, whole ring, middle: ({test.r1.shown:.2f} + {test.r2.shown:.2f})/4 = {quarter:.3f} Ω; lower towards the board"
        )
        sizes = test.cpc_mohm_per_m / test.line_mohm_per_m
        if test.r1.shown:
            lines.append(f"r2/r1 = {test.r2.shown / test.r1.shown:.2f}; by the resistances of the sizes {sizes:.2f}")
    if fit.implied_m is not None:
        lines.append(
            f"Length: r1 and rn over {test.line_mohm_per_m:.3g} mΩ/m × {make[0]:g} to {make[1]:g} = {fit.implied_m.low:.0f} to {fit.implied_m.high:.0f} m"
        )
    lines += [
        f"log10 weight of {named(name)}: {'below ' if weight <= LOWEST else ''}{weight:+.2f}"
        for name, weight in fit.scores[:5]
    ]
    lines.append("2 is asked for between the best and the next; " + "; ".join(fit.assumed))
    return tuple(lines)
