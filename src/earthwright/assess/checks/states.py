"""The ledger against the readings: steps that cannot follow each other, and readings that need a state that was not there."""

from __future__ import annotations

from ...base.errors import Finding, Severity
from ...gates.steps import AFTER_CONTINUITY, can_close
from ...site.events import Isolation, Off, On, Reading
from ...site.ledger import FAR_END, disconnections, found_faulty, held
from ...site.tests import DEAD_READ, called
from .series import Series

MANY = 6  # so many names stand in a sentence


def ledger(series: Series) -> list[Finding]:
    """Taken off twice, or put back without having been off; supply restored, or a live test made, while something is off."""
    found: list[Finding] = []
    off: dict[str, Off] = {}
    live_said: set[str] = set()
    settled = {line.off.seq for line in disconnections(series.visit.events) if line.verified is not None}
    for event in series.visit.events:
        if isinstance(event, Off):
            if event.what in off:
                found.append(_twice(event, off[event.what]))
            off[event.what] = event
        elif isinstance(event, On):
            if off.pop(event.what, None) is None:
                found.append(_never_off(event))
        elif missing := sorted(what for what in off if held(what)):
            if isinstance(event, Isolation) and event.stage == "restored":
                found.append(_live(f"step {event.seq}", "The supply was restored", [off[x] for x in missing], settled))
            elif isinstance(event, Reading) and event.test in AFTER_CONTINUITY and not (event.absent or event.refused):
                if missing[0] not in live_said:
                    found.append(
                        _live(
                            f"{event.of}, reading {event.id}",
                            f"A live test ({called(event.test)}) was made",
                            [off[x] for x in missing],
                            settled,
                        )
                    )
                live_said.update(missing)
    return found


def _twice(event: Off, before: Off) -> Finding:
    return Finding.of(
        "ledger.twice",
        f"step {event.seq}",
        f"{event.what} was disconnected, but it was off already.",
        event.what,
        "a reconnection between the two",
        f"off at step {before.seq} and at step {event.seq}",
        "Add the step that reconnected it, or strike out the second one.",
        "The step in between was probably not entered.",
    )


def _never_off(event: On) -> Finding:
    return Finding.of(
        "ledger.never_off",
        f"step {event.seq}",
        f"{event.what} was reconnected, but no step disconnected it.",
        event.what,
        "an 'off' step before it",
        "none",
        "Add the step that disconnected it: the readings in between were taken with it off.",
        "The step was probably not entered, or it was the other end (the far end is named with @part).",
    )


def _live(where: str, what: str, lines: list[Off], settled: set[int]) -> Finding:
    """Danger until everything is back and was found in its place; then what happened, to be told."""
    off = [line.what for line in lines]
    return Finding(
        where,
        f"{what} while {', '.join(off)} was off.",
        Severity.WARNING if {line.seq for line in lines} <= settled else Severity.STOP,
        "ledger.live",
        off[0],
        "everything back before anything is energised",
        f"off at that moment: {', '.join(off)}",
        "If it is still off: switch off, reconnect it, check it. If it had been reconnected: add that step.",
        "The step that reconnected it may not have been entered.",
    )


def isolation(series: Series) -> list[Finding]:
    """Dead tests after the supply was restored, live tests while it is noted as isolated: one of the two is not noted."""
    found: dict[str, Finding] = {}
    isolated: bool | None = None
    for event in series.visit.events:
        if isinstance(event, Isolation):
            isolated = {"dead": True, "restored": False}.get(event.stage, isolated)
        if not isinstance(event, Reading) or event.absent or event.refused:
            continue
        dead_test = event.test in DEAD_READ
        if not dead_test and event.test not in AFTER_CONTINUITY:
            continue
        if isolated is None or isolated is dead_test:
            continue
        kind = "dead" if dead_test else "live"
        found.setdefault(
            kind,
            Finding.of(
                "state.supply",
                f"{event.of}, reading {event.id}",
                f"A {kind} test ({called(event.test)}) is entered after a step that says the supply was {'on' if dead_test else 'off'}.",
                event.of,
                "a step that isolates" if dead_test else "a step that restores the supply",
                "none between",
                "Add the step: the order of the steps shows what was on and what was off.",
            ),
        )
    return list(found.values())


def not_closed(series: Series) -> list[Finding]:
    """What was put back and that nothing has found in its place since."""
    lines = [line for line in can_close(series.visit).unverified if line.on is not None]
    if not lines:
        return []
    names = ", ".join(line.what for line in lines[:MANY]) + (
        f" and {len(lines) - MANY} more" if len(lines) > MANY else ""
    )
    return [
        Finding.of(
            "ledger.unverified",
            "ledger",
            f"{names}: reconnected, but not yet checked by a reading or by eye.",
            lines[0].what,
            "a reading with all connected that is lower than the path alone, or a check by eye",
            "back at step " + ", ".join(str(line.on.seq) for line in lines[:MANY] if line.on is not None),
            "Tug it at the terminal, look at it, and enter that you did; until then the visit cannot be closed.",
        )
    ]


def looks(series: Series) -> list[Finding]:
    """What a look found faulty and nothing says was put right."""
    return [
        Finding.of(
            "look.fault",
            f"step {look.seq}",
            f"A look at {look.what} found a fault, and it is not entered as put right.",
            look.what.removesuffix(FAR_END),
            "a repair, or a later look that finds it all right",
            look.seen,
            "Put it right and enter the repair, or make it an observation.",
        )
        for look in found_faulty(series.visit.events)
    ]


def electrodes(series: Series) -> list[Finding]:
    """Electrode values that do not say how they were taken: with the bonds on, the pipes are measured."""
    return [
        Finding(
            f"electrode {row.reading.of}, reading {row.reading.id}",
            "What was disconnected when the electrode was read is not entered: it may be the reading of a bonded pipe.",
            Severity.WARNING,
            "electrode.state",
            row.reading.of,
            "rod alone, with bonds, other part alone, or stakes",
            row.shown.as_shown,
            "Enter how it was taken; only a reading of the rod alone counts.",
            "The form may not have had room for it.",
        )
        for row in series.rows
        if row.reading.test == "electrode" and not row.reading.method
    ]
