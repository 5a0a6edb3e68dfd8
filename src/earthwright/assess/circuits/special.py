"""Special locations: what is asked for there beside the general rules, and supplementary bonding by 50 V / Ia."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import evolve

from ...base.errors import NoRule
from ...base.quantity import Limit, exact
from ...outcomes.circuits import NOT_STATED, Requirement, TestJudged
from ...outcomes.verdict import FAILS, MEETS, NO_RULE, Judged, judge, no_rule, not_decided
from ...rules import RuleValue, clause_of
from ...rules.lookup import operating_current, special_location, special_sections, supplementary_resistance_max
from ...site.installation import OPEN_PEN, Circuit
from ...site.premises import BATH, LOCATIONS
from . import words_live as say
from .limits import Case, counting, hold, no_rule_for, sockets, without_value, worst
from .requirements import requirements, told
from .worst_reading import highest

ADDITIONAL_MA = 30.0  # up to here a device is meant as additional protection, which bears no delay (415.1.1)
SMOOTH = "smooth direct current that may go unseen"


def special_of(case: Case, location: str) -> tuple[str, str]:
    """Which special location a word or a section's number means, and its section in the edition; both empty when not known."""
    word = location.strip().lower()
    for name, words in LOCATIONS:
        section = clause_of(case.limits.edition, f"location.{name}")
        if word in (name, *words) or (section and word == section):
            return name, section
    return "", ""


def special_row(case: Case, circuit: Circuit) -> TestJudged | None:
    """What a special location asks of a circuit; None for a circuit in none. An unknown location is *no rule*, aloud."""
    location = circuit.location or ("charging point" if circuit.use == "charging point" else "")
    if not location:
        return None
    special, section = special_of(case, location)
    if not special:
        try:
            known = ", ".join(case.limits.ask(special_sections))
        except NoRule as error:
            known = str(error)
        judged = no_rule(f"no rule is kept for the location '{location}'; known are {known}")
        return TestJudged(
            circuit.id, "special location", location, judged=(judged,), outcome=NO_RULE, words=say.against(judged)
        )
    try:
        found = case.limits.ask(special_location, section or special)
    except NoRule as error:
        judged = no_rule_for(error)
        return TestJudged(
            circuit.id, "special location", location, judged=(judged,), outcome=NO_RULE, words=say.against(judged)
        )
    all_judged = (
        *(j for row in found["rcd"] if (j := _residual(case, circuit, row, special)) is not None),
        *_types(case, circuit, found["types"]),
        *_pme(case, circuit, found["pme"]),
        *_bonded(case, circuit, special, found["rules"]),
    )
    asked = requirements(case, circuit, special, all_judged, found["rules"])
    seen = tuple(
        Judged(FAILS, None, simple=FAILS, guarded=FAILS, why=f"{r.what}: {r.why} [{r.clause}]")
        for r in asked
        if r.by_look and r.outcome == FAILS
    )
    words = say.sentences(
        (
            f"{location} ({section}):",
            *(_rule(row) for row in found["rules"]),
            *(_distance(row) for row in found["zones"]),
            *(f"Electrode: {row.value} Ω recommended{_memory(row)}." for row in found["electrode"]),
            _figure(case, circuit) if any(r.keys["topic"] == "supplementary bonding" for r in found["rules"]) else "",
            *(say.against(j) for j in all_judged),
            *(f"{j.why}: fails." for j in seen),
            _open(asked),
        )
    )
    return TestJudged(
        circuit.id,
        "special location",
        location,
        judged=(*all_judged, *seen),
        outcome=worst((*all_judged, *seen)),
        words=words,
        sums=told(asked),
        asked=asked,
    )


def _open(asked: Sequence[Requirement]) -> str:
    """What only a look answers and nobody stated, in one sentence."""
    names = [r.what for r in asked if r.outcome == NOT_STATED]
    return f"Not stated, for your own eyes: {', '.join(names)}." if names else ""


def _figure(case: Case, circuit: Circuit) -> str:
    """What 50 V / Ia comes to for this circuit, where supplementary bonding is a question."""
    try:
        limit, how = supplementary_limit(case, circuit)
    except NoRule:
        return ""
    return f"Between parts that can be touched together at most {limit.value:.4g} Ω [{limit.clause}]; {how}."


def _memory(row: RuleValue) -> str:
    return f" ({say.MEMORY})" if row.confidence == "memory" else ""


def _rule(row: RuleValue) -> str:
    return f"{row.text('rule').rstrip('.')} [{row.clause}]{_memory(row)}."


def _distance(row: RuleValue) -> str:
    note = f", {row.note}" if row.note else ""
    return f"{row.keys['what']}: {row.value} m [{row.clause}]{note}{_memory(row)}."


def _applies(circuit: Circuit, to: str) -> bool | None:
    """Whether a line on residual current devices is meant for a circuit; None when its use does not tell."""
    has, rating = sockets(circuit), circuit.device.rating_a
    if to == "others":
        return None if has is None else not has
    if to in ("sockets to 32 A", "sockets above 32 A"):
        return None if has is None or rating is None else has and (rating > 32) == (to == "sockets above 32 A")
    return True


def _residual(case: Case, circuit: Circuit, row: RuleValue, special: str) -> Judged | None:
    """The smallest residual current device in front of a circuit against what the location asks for."""
    what = str(row.keys["what"])
    applies = _applies(circuit, row.text("to"))
    if applies is False:
        return None
    limit = evolve(row.as_limit("max", f"residual current device: {what}"), rule=f"{row.table}.{special}")
    if applies is None:
        return not_decided(limit, "whether it has socket-outlets, and its rating, are not entered")
    devices = [
        d.rcd_ma for _, d in case.rcds(circuit) if d.rcd_ma and not (d.rcd_delay and limit.value <= ADDITIONAL_MA)
    ]
    if devices:
        return judge(exact(min(devices), "mA"), limit)
    if case.rcds(circuit):
        why = "the residual current device in front of it is delayed, and none that is counts as additional protection"
        return Judged(FAILS, limit, simple=FAILS, guarded=FAILS, why=why)
    if not circuit.device.standard:
        return not_decided(limit, "its protective device is not entered")
    return Judged(FAILS, limit, simple=FAILS, guarded=FAILS, why="no residual current device is entered in front of it")


def _types(case: Case, circuit: Circuit, rows: Sequence[RuleValue]) -> Iterator[Judged]:
    """The type of the nearest residual current device: whether smooth direct current may blind it."""
    devices = case.rcds(circuit)
    if not rows or not devices:
        return
    device = devices[0][1]
    row = next((r for r in rows if r.keys["type"] == device.rcd_type), None)
    if row is None:
        yield not_decided(rows[0].as_limit("max", SMOOTH), "the type of the residual current device is not entered")
        return
    limit, suits = row.as_limit("max", SMOOTH), row.text("suits")
    if suits == "no":
        yield Judged(FAILS, limit, simple=FAILS, guarded=FAILS, why=f"Type {device.rcd_type} is blinded by it")
    elif suits == "yes" or device.rdc_dd:
        yield Judged(MEETS, limit, simple=MEETS, guarded=MEETS)
    else:
        yield not_decided(
            limit, f"type {device.rcd_type}, and whether smooth direct current is detected is not entered"
        )


def _pme(case: Case, circuit: Circuit, rows: Sequence[RuleValue]) -> Iterator[Judged]:
    """What a PME earth asks for there, against what was entered to guard against a lost PEN conductor."""
    supply, entered = case.visit.site.supply, circuit.open_pen or (OPEN_PEN[0] if case.electrode(circuit) else "")
    if not (supply.pme or (supply.pme is None and supply.system == "TN-C-S")):
        return
    for row in rows:
        limit = row.as_limit("min", f"guard against a lost PEN conductor ({row.text('needs')})", "guards")
        if not entered:
            why = f"the supply is PME, and what guards against a lost PEN conductor there is not entered ({row.clause})"
            yield not_decided(limit, why)
        elif entered == OPEN_PEN[-1]:
            why = "Nothing guards against a lost PEN conductor there"
            yield Judged(FAILS, limit, simple=FAILS, guarded=FAILS, why=why)
        elif entered == row.text("leaves_open"):
            yield not_decided(
                limit, f"whether a {entered} counted under that edition is not in the data ({row.clause})"
            )
        elif row.text("needs") == "measure" or entered == OPEN_PEN[0]:
            yield Judged(MEETS, limit, simple=MEETS, guarded=MEETS, why=f"Entered: {entered}")
        else:
            why = f"The PME earth is not brought there; entered is {entered}"
            yield Judged(FAILS, limit, simple=FAILS, guarded=FAILS, why=why)


def _bonded(case: Case, circuit: Circuit, special: str, rows: Sequence[RuleValue]) -> Iterator[Judged]:
    """Supplementary bonding that a location asks for in any case: shown by a reading, else not decided."""
    if special == BATH or case.taken.of(circuit.id, "supplementary"):
        return  # a bathroom may do without; what was read is judged in its own row
    for row in rows:
        if row.keys["topic"] == "supplementary bonding":
            yield not_decided(None, f"nothing was read of the supplementary bonding there ({row.clause})")


def supplementary_limit(case: Case, circuit: Circuit) -> tuple[Limit, str]:
    """Highest resistance between parts that can be touched together [Ω]: 50 V / Ia. Raises NoRule.

    Ia is the rated residual current where there is a device, else the current of the overcurrent device for 5 s.
    """
    devices = case.rcds(circuit)
    if devices:
        ia_a = min(d.rcd_ma or 0.0 for _, d in devices) / 1000.0
        how = f"Ia = IΔn = {1000 * ia_a:g} mA"
    else:
        d = circuit.device
        if not d.standard or d.rating_a is None:
            raise NoRule("standard and rating of the device are not entered")
        worked = case.limits.ask(operating_current, d.standard, d.type, d.rating_a, 5.0)
        ia_a, how = worked.value, f"{worked.how} for 5 s"
    found = case.limits.ask(supplementary_resistance_max, ia_a)
    return found.as_limit("max", "supplementary bonding"), f"{how}; {found.how}"


def supplementary_rows(case: Case, circuit: Circuit) -> tuple[TestJudged, ...]:
    """Each reading between two parts of the location against 50 V / Ia of the circuit."""
    rows = []
    for point, readings in case.taken.by_point(circuit.id, "supplementary").items():
        empty = without_value(case, circuit.id, "supplementary", point, readings)
        if empty is not None:
            rows.append(empty)
            continue
        corrected = case.taken.corrected(highest(case, readings))
        sums: tuple[str, ...] = ()
        try:
            limit, how = supplementary_limit(case, circuit)
            judged, sums = hold(case, corrected, limit), (how,)
        except NoRule as error:
            judged = no_rule_for(error)
        weak = (
            "A residual current device makes this a weak criterion; a sound joint reads far below it."
            if case.rcds(circuit) and judged.limit is not None
            else ""
        )
        words = say.sentences(
            (say.was_read(f"Between parts, {point or circuit.id}", counting(readings)), say.against(judged), weak)
        )
        state = case.taken.state(corrected.reading)
        rows.append(
            TestJudged(
                circuit.id,
                "supplementary",
                point,
                readings,
                state,
                corrected,
                judged=(judged,),
                outcome=judged.outcome,
                words=words,
                sums=sums,
            )
        )
    return tuple(rows)
