"""Which code custom gives where one code per test is too coarse: the earthing conductor, a bath with bonding that was read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..evidence.bond import DISPROVED
from ..outcomes.assessment import SIDE, Assessment, BondJudged
from ..outcomes.circuits import TestJudged
from ..outcomes.verdict import FAILS, Judged
from ..rules.lookup import standard_sizes
from ..rules.model import Edition

# Rules by which an earthing conductor that is too small is not only below a table of sizes: worked out, or in soil.
_HARD = ("adiabatic", "earthing.buried")


def earthing_conductor(test: TestJudged, edition: Edition) -> tuple[str, str]:
    """Code and reason for an earthing conductor below a size asked for.

    C3 where only a table speaks, it is not below the least of any main bond and, under PME, one standard size short; C2
    otherwise. Custom of the trade, no published source was read.
    """
    failing = [j for j in test.judged if j.outcome == FAILS and j.limit is not None]
    least = float(edition.table("bond.main.other").look().number("least"))
    fitted = 0.0 if test.value is None else test.value.value
    if any(j.limit is not None and j.limit.rule in _HARD for j in failing):
        return "C2", "It does not bear the fault, or what soil does to it, by a rule that no table softens."
    if fitted < least:
        return "C2", f"It is below {least:g} mm², the least of any main bond."
    asked = [j.limit.value for j in failing if j.limit is not None and j.limit.rule == "bond.main.pme"]
    below = max((s for s in standard_sizes(edition) if asked and s < max(asked)), default=0.0)
    if fitted < below:
        return "C2", "It is more than one standard size below what PME asks for."
    return "C3", "Below the table only; signs of heat would make it C2, so look for them."


def bath(failing: Sequence[Judged]) -> bool:
    """Whether only the residual current protection of a bathroom is missing."""
    return bool(failing) and all(j.limit is not None and j.limit.rule == "special.rcd.bath" for j in failing)


def bonding_there(a: Assessment, location: str) -> tuple[str, ...]:
    """Outcomes of all supplementary bonding of a location: readings under any of its circuits, and bonds of parts there.

    What a bathroom without residual current protection is let off for also rests on the main bonds: one that is disproved
    counts as failing. Empty where nothing was read.
    """
    if not location:
        return ()
    circuits = [c for c in a.circuits if c.circuit.location == location]
    found = [t.outcome for c in circuits for t in c.tests if t.test == "supplementary"]
    for part in a.parts:
        if part.part.entry == location:
            found += [j.outcome for j in part.supplementary]
    main = [b for b in a.bonds if not b.bond.supplementary and b.verdict == DISPROVED]
    return (*found, *(FAILS for _ in main)) if found else ()


def misplaced(b: BondJudged) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Code, what and reasons for a clamp in the wrong place or of the wrong class; a poor joint has said it already.

    C3, which moving it would put right; FI where an insert parts the pipework of the house from the clamp, since then
    nothing shows that the house pipework is bonded. Custom of the trade, no published source was read.
    """
    for j in b.place:
        if j.outcome != FAILS or (j.limit is None and (b.joint.outcome == FAILS or b.verdict == DISPROVED)):
            continue
        parted = bool(b.part.plastic_section_m) and j.limit is not None and j.limit.what == SIDE
        why = (
            "Measure from the pipework of the house to the MET: if it is extraneous there, it has no bond."
            if parted
            else "It is not where the rules want it, or not made for its place; what it connects was judged by its readings."
        )
        where = j.why or f"the clamp sits {b.bond.from_meter_m or '?'} m from the meter"
        yield "FI" if parted else "C3", f"Bond to the {b.part.title}: {where[0].lower()}{where[1:]}.", (why,)
