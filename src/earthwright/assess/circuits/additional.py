"""Additional protection: where a residual current device of 30 mA is asked for, and whether one that counts is there."""

from __future__ import annotations

import re
from collections.abc import Iterator

from attrs import evolve

from ...base.errors import NoRule
from ...base.quantity import Limit, exact
from ...outcomes.circuits import OUTDOORS, TestJudged
from ...outcomes.verdict import FAILS, MEETS, Judged, judge, no_rule, not_decided
from ...rules import RuleValue
from ...rules.lookup import rcd_required
from ...site.installation import IN_WALL, Circuit, Device
from ...site.premises import dwelling, outside
from . import words_live as say
from .limits import REDUCED_V, Case, sockets, worst
from .rcd import rcd_rows

TEST = "additional protection"
SOCKET, MOBILE, LUMINAIRE, CABLE = (
    "socket-outlet",
    "mobile equipment outdoors",
    "luminaires in a dwelling",
    "cable in a wall",
)
ASSESSMENT = "risk assessment"  # the one ground on which present editions let it be left out
_ASSESSED = re.compile(r"risk assess", re.I)
# Uses that a name tells where the use was left open, or beside it: a cooker unit with a socket in it.
_SOCKETS = re.compile(r"\b(sockets?|socket-outlets?|skts?|s/os?)\b", re.I)
_LIGHTS = re.compile(r"\b(lights?|lighting|ltg)\b", re.I)
# Reference methods of cables that lie inside a wall.
_WALLED = ("A", "102", "103")


def counts(device: Device, limit_ma: float) -> bool:
    """Whether a residual current device counts as additional protection: sensitive enough, and without delay (415.1.1)."""
    return device.rcd_ma is not None and device.rcd_ma <= limit_ma and not device.rcd_delay


def additional_row(case: Case, circuit: Circuit) -> TestJudged | None:
    """Every case in which a 30 mA device is asked for in a circuit; None where none of them is a question."""
    if case.distribution(circuit) or case.volts(circuit.board) in REDUCED_V:
        return None
    try:
        rows = {str(r.keys["case"]): r for r in case.limits.ask(rcd_required)}
    except NoRule as error:
        asked = any(True for _ in _cases(case, circuit))
        return _row(circuit, (no_rule(str(error)),)) if asked else None
    judged = [
        _held(case, circuit, row, _limit(row, name), open_)
        for name, open_ in _cases(case, circuit)
        for key, row in rows.items()
        if key.startswith(name)
    ]
    return _row(circuit, tuple(judged)) if judged else None


def _row(circuit: Circuit, judged: tuple[Judged, ...]) -> TestJudged:
    words = say.sentences(say.against(j) for j in judged)
    return TestJudged(circuit.id, TEST, judged=judged, outcome=worst(judged), words=words)


def _limit(row: RuleValue, name: str) -> Limit:
    what = OUTDOORS if name == MOBILE else f"additional protection: {row.keys['case']}"
    return row.as_limit("max", what)


def _cases(case: Case, circuit: Circuit) -> Iterator[tuple[str, str]]:
    """The cases that a circuit may fall under, with what is not known of it; empty where it does fall under one."""
    has, rating = (True if _SOCKETS.search(circuit.name) else sockets(circuit)), circuit.device.rating_a
    lights = circuit.use == "lighting" or (circuit.use == "final" and not has and bool(_LIGHTS.search(circuit.name)))
    small = rating is None or rating <= 32.0
    if has and small:
        yield (MOBILE if outside(circuit) else SOCKET), ""
    elif has is None and not lights and small and circuit.device != Device():
        yield SOCKET, "what the circuit serves is not entered"
    if lights and (home := dwelling(case.visit)) is not False:
        yield LUMINAIRE, "" if home else "it is not entered whether this is a dwelling (use of the premises)"
    if circuit.in_wall == IN_WALL[0]:
        yield CABLE, ""
    elif not circuit.in_wall and circuit.reference in _WALLED:
        yield CABLE, "how deep its cable lies in the wall is not entered"


def _held(case: Case, circuit: Circuit, row: RuleValue, limit: Limit, open_: str) -> Judged:
    named = case.rcds(circuit)
    devices = [d for _, d in named]
    good = [(name, d) for name, d in named if counts(d, limit.value)]
    works = [d.rcd_ma or 0.0 for name, d in good if not _failed(case, name, d)]
    if works:
        return judge(exact(min(works), "mA"), limit)
    if good:
        return not_decided(limit, f"the residual current device of {good[0][0]} did not pass its own test")
    if open_:
        return not_decided(limit, open_)
    if not devices and circuit.device == Device():
        return not_decided(limit, "its protective device is not entered")
    why = _why(devices, limit.value, case.limits.cited("additional protection"))
    if ASSESSMENT in row.text("unless") and _ASSESSED.search(circuit.rcd_reason):
        home = dwelling(case.visit)
        if home is None:
            return not_decided(limit, f"{why}; a risk assessment is entered, but not whether it is a dwelling")
        if not home:
            return Judged(MEETS, limit, simple=MEETS, guarded=MEETS, why=f"Left out by: {circuit.rcd_reason}")
        why += "; in a dwelling a risk assessment does not replace it"
    elif row.text("unless") not in ("", ASSESSMENT) and circuit.rcd_reason:
        return not_decided(
            limit, f"{why}; entered is: {circuit.rcd_reason}. It could be left out for {row.text('unless')}"
        )
    failed = Judged(FAILS, limit, simple=FAILS, guarded=FAILS, why=why)
    return evolve(failed, why=f"{why}. Entered beside it: {circuit.rcd_reason}") if circuit.rcd_reason else failed


def _failed(case: Case, name: str, device: Device) -> bool:
    """Whether a device failed its own test, by time or by button: what does not open protects nobody."""
    return any(r.outcome == FAILS for r in rcd_rows(case, name, device))


def _why(devices: list[Device], most_ma: float, cited: str) -> str:
    """Why none of the devices in front of a circuit counts."""
    if not devices:
        return "No residual current device is entered in front of it"
    said = []
    for d in devices:
        delayed = f"delayed ({d.rcd_delay})" if d.rcd_delay else ""
        large = f"above {most_ma:g} mA" if (d.rcd_ma or 0.0) > most_ma else ""
        said.append(f"the {d.rcd_ma:g} mA device is {' and '.join(x for x in (large, delayed) if x)}")
    return f"{'; '.join(said)}, and does not count as additional protection{cited}"
