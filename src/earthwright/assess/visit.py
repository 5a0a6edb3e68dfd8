"""Judge a whole visit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from attrs import evolve

from .. import __version__
from ..base.errors import Finding
from ..evidence.bond import Model
from ..outcomes.assessment import Assessment, BondJudged, NotJudged
from ..outcomes.circuits import Alarm
from ..report.words import judged_words
from ..site import plausible
from ..site.correction import Corrector
from ..site.events import Off
from ..site.ledger import still_off
from ..site.visit import Visit
from . import checks, precautions, site
from .bond import judge_bond
from .checks import columns, items
from .checks import folding as notes_together
from .circuits import judge_installation
from .earth import Earth
from .extraneous import judge_parts
from .gaps import Held, hold_bond, hold_installation, hold_part
from .rulings import Rulings


def assess(
    visit: Visit,
    *,
    found: tuple[Finding, ...] = (),
    broken: tuple[str, ...] = (),
    previous: Visit | None = None,
    today: dt.date | None = None,
    whole_site: bool | None = None,
    only: str | None = None,
    ahead: bool = True,
) -> Assessment:
    """Everything the tool has to say about a visit, with the evidence it rests on.

    visit  as entered;  found  findings of reading it in, kept with the rest;  broken  ids that could not be read
    previous  the last visit to the same site, to compare digits with;  today  the day of asking, for dates that cannot be
    whole_site  weigh all bonds as one network: True always, False never, None when it can change something or the visit asks for it
    only  the one thing that is asked about: origin, board, circuit, electrode, part or bond. It is judged by the same steps
          from the whole visit, so what is said of it is what is said of it among all; other circuits, boards and bonds, the
          network weighed as one and the findings over the whole visit are left out. None: everything
    ahead  work out too what a further reading at each bond could show and what to do next; half of the time goes there, and no
          verdict, row or finding rests on it
    The rules are those of the visit's date, so the same visit is judged the same on any later day.
    """
    rulings = Rulings(visit)
    model = Model.of(visit.choices.assumptions)
    earth = Earth.of(visit, rulings)
    doubts = plausible.doubts(visit)
    held = Held(visit, (d.unread for d in doubts if d.unread is not None))
    corrector = Corrector(visit)
    installation = hold_installation(judge_installation(visit, rulings, earth, only, corrector), held)
    bonds, not_judged = _bonds(visit, rulings, model, installation.alarms, earth, corrector, held, only, ahead)
    one = Assessment(
        visit=visit,
        program=__version__,
        editions=rulings.editions,
        model=model,
        bonds=bonds,
        not_judged=(*(NotJudged(name, "its entry could not be read") for name in broken), *not_judged),
        findings=(),
        still_off=still_off(visit.events),
        origin=installation.origin,
        boards=installation.boards,
        electrodes=installation.electrodes,
        alarms=installation.alarms,
        parts=tuple(hold_part(p, held) for p in judge_parts(visit, bonds, rulings, only, corrector)),
        found=installation.found,
    )
    if only is not None:
        return one
    asked = True if whole_site is None and visit.choices.whole_site else whole_site
    asked = False if held.why("bond", "") else asked
    together = site.site_evidence(visit, bonds, rulings, model, one.alarms, earth=earth, boards=one.boards, asked=asked)
    findings = [*_assumed(visit), *found, *(d.finding for d in doubts), *rulings.findings]
    findings += [f for b in bonds for f in b.findings]
    findings += checks.run(visit, bonds, previous=previous, today=today)
    findings += precautions.findings(visit, one.alarms)
    findings += installation.findings
    findings += [f for p in one.parts for f in p.findings]
    findings += site.findings(together)
    if together is None:
        findings += site.left_apart(visit, bonds, rulings, model, earth=earth, boards=one.boards, asked=asked)
    findings = columns.said_once(visit, findings)
    findings += _left_off(one.still_off, earth)
    whole = evolve(
        one,
        findings=_in_order(findings),
        site_evidence=together,
        site_next=site.site_next(visit, bonds, together, one.alarms),
    )
    return _with(whole, items.contradicted(whole))


def _assumed(visit: Visit) -> tuple[Finding, ...]:
    """What was assumed otherwise than usual: said wherever findings are."""
    said = visit.choices.assumptions.said()
    do = "See that the reason for it stands in the record."
    return (Finding.of("assumptions.changed", "visit: assumptions", said, do=do),) if said else ()


def _bonds(
    visit: Visit,
    rulings: Rulings,
    model: Model,
    alarms: Sequence[Alarm],
    earth: Earth,
    corrector: Corrector,
    held: Held,
    only: str | None,
    ahead: bool,
) -> tuple[tuple[BondJudged, ...], list[NotJudged]]:
    """Each bond by itself, and those whose conductor is not in the data."""
    judged, not_judged = [], []
    for bond in visit.site.bonds:
        if only not in (None, bond.id, bond.part):
            continue
        r = rulings.mohm_per_m(bond, visit.temp_c)
        if r is None:
            size = judged_words(rulings.size(bond).judged)
            why = f"the resistance of its conductor is not in the data; its size: {size}"
            not_judged.append(NotJudged(bond.id, why))
        else:
            judged.append(
                hold_bond(judge_bond(visit, bond, r, rulings, model, alarms, earth, corrector, ahead=ahead), held)
            )
    return tuple(judged), not_judged


def _left_off(off: Sequence[Off], earth: Earth) -> list[Finding]:
    """What was taken off and not put back."""
    return [
        Finding.of(
            "ledger.off",
            "ledger",
            f"{event.what} was taken off and nothing says that it was put back.",
            event.what,
            "an 'on' step",
            f"off at step {event.seq}" + (f", {event.at}" if event.at else ""),
            "Reconnect it, look at it, and note it; nothing is energised before.",
            earth.rests_on(event.what, (e.what for e in off)),
        )
        for event in off
    ]


def _with(a: Assessment, more: list[Finding]) -> Assessment:
    """The same with findings that rest on the whole assessment."""
    return evolve(a, findings=_in_order([*a.findings, *more])) if more else a


def _in_order(findings: list[Finding]) -> tuple[Finding, ...]:
    """Each once, the loudest first; like notes as one."""
    return tuple(sorted(notes_together.folded(findings), key=lambda f: f.severity.rank))
