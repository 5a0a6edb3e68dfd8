"""The ledger against the readings: steps that cannot follow each other, and readings that need a state that was not there."""

from __future__ import annotations

from ...base.errors import Finding, Severity
from ...gates.steps import AFTER_CONTINUITY, can_close
from ...site.events import CIRCUIT_TESTS, Isolation, Off, On, Reading
from ...site.ledger import FAR_END, disconnections, found_faulty, held
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
                            f"A live test ({event.test}) was made",
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
        f"{event.what} is taken off, and it was off already.",
        event.what,
        "an 'on' step between the two",
        f"off at step {before.seq} and at step {event.seq}",
        "Add the step that put it back, or take the second one out.",
        "The step in between was probably not written down.",
    )


def _never_off(event: On) -> Finding:
    return Finding.of(
        "ledger.never_off",
        f"step {event.seq}",
        f"{event.what} is put back, and no step took it off.",
        event.what,
        "an 'off' step before it",
        "none",
        "Add the step that took it off: the readings in between belong to another state.",
        "The step was probably not written down, or another end is meant (the far end is named with @part).",
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
        "If it is off now: switch off, put it back, look at it. If it was back: add the step that says so.",
        "The step that put it back may not have been written down.",
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
        function = CIRCUIT_TESTS.get(event.test, ("", ""))[1]
        dead_test = function in ("continuity", "insulation")
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
                f"A {kind} test ({event.test}) stands after a step that says the supply was {'on' if dead_test else 'off'}.",
                event.of,
                "a step that isolates" if dead_test else "a step that restores the supply",
                "none between",
                "Add the step; the order of the steps is the evidence for the state.",
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
            f"{names}: put back, and no reading and no look has found it in its place.",
            lines[0].what,
            "a reading with all connected that is lower than the path alone, or a look that is noted",
            "back at step " + ", ".join(str(line.on.seq) for line in lines[:MANY] if line.on is not None),
            "Pull at the terminal, look, and note it; the visit does not close before.",
        )
    ]


def looks(series: Series) -> list[Finding]:
    """What a look found faulty and nothing says was put right."""
    return [
        Finding.of(
            "look.fault",
            f"step {look.seq}",
            f"A look at {look.what} found a fault, and nothing says that it was put right.",
            look.what.removesuffix(FAR_END),
            "a repair, or a later look that finds it in order",
            look.seen,
            "Put it right and note the repair, or make it an observation.",
        )
        for look in found_faulty(series.visit.events)
    ]


def electrodes(series: Series) -> list[Finding]:
    """Electrode values that do not say how they were taken: with the bonds on, the pipes are measured."""
    return [
        Finding(
            f"electrode {row.reading.of}, reading {row.reading.id}",
            "An electrode value without its state: it may be that of a bonded pipe.",
            Severity.WARNING,
            "electrode.state",
            row.reading.of,
            "rod alone, with bonds, other part alone, or stakes",
            row.shown.as_shown,
            "Say how it was taken; only the rod alone counts for the electrode.",
            "The form may have had no place for it.",
        )
        for row in series.rows
        if row.reading.test == "electrode" and not row.reading.method
    ]
