"""A part that another part's bonding conductor runs on to: whether that conductor is large enough and seems whole."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..base.digits import Kind
from ..base.errors import Finding, Severity
from ..evidence.expected import copper_band
from ..evidence.graph.lengths import slack_m
from ..outcomes.assessment import METAL_OHM, PartJudged
from ..outcomes.verdict import FAILS
from ..site.bond_chain import looped
from ..site.installation import Bond, Link
from ..site.visit import Visit
from .rulings import Rulings


def looped_findings(visit: Visit, judged: PartJudged, rulings: Rulings) -> Iterator[Finding]:
    """What is to be said of the conductor that runs on: its size, what was read through it, and that it must be unbroken."""
    through = looped(visit.site).get(judged.part.id)
    if through is None:
        return
    bond, links = through
    for link in links:
        size = rulings.size(_as_bond(link, judged.part.id)).judged
        if size.outcome == FAILS:
            asked = f"{size.limit.value:g} mm², {size.limit.clause}" if size.limit else ""
            what = f"The conductor that runs on to the {judged.part.title} is {link.csa_mm2:g} mm², too small for a main bond."
            yield _say(judged, what, "looped.size", asked, f"{link.csa_mm2:g} mm²", "Renew it in the size asked for.")
    yield from _reading(visit, judged, rulings, bond, links)


def _as_bond(link: Link, part: str) -> Bond:
    return Bond(link.id, part, link.csa_mm2 or 0.0, link.length_m or 0.0, slack_m(link.length_m or 0.0), link.material)


def _reading(
    visit: Visit, judged: PartJudged, rulings: Rulings, bond: Bond, links: tuple[Link, ...]
) -> Iterator[Finding]:
    title, shown = judged.part.title, [r.shown for r in judged.readings if r.shown is not None]
    if not shown:
        what = f"The bond of the {bond.part} runs on to the {title}, and nothing was read there."
        yield _say(
            judged,
            what,
            "looped.unread",
            "a reading MET to the part",
            "nothing",
            f"Measure from the MET to the {title}.",
        )
        return
    a = visit.choices.assumptions
    pieces = (bond, *(_as_bond(link, judged.part.id) for link in links))
    known = [(b, rulings.per_metre(b.material, b.csa_mm2, b.iec_class)) for b in pieces]
    high = math.fsum(copper_band(b, r, a.make, a.joint_ohm).high for b, r in known if r is not None)
    digits = ", ".join(str(s) for s in shown)
    worst = max(shown, key=lambda s: float("inf") if s.kind is Kind.OVER else s.value)
    if worst.kind is Kind.OVER or worst.value > METAL_OHM:
        what = f"The bond of the {bond.part} is said to run on to the {title}, and no metal joins it to the MET."
        do = "Find where it is open, or bond the part by itself."
        yield _say(judged, what, "looped.open", f"at most {high:.3f} Ω", digits, do)
    elif all(r is not None for _, r in known) and worst.value - 0.5 * float(worst.step) > high:
        what = f"Through the bond of the {bond.part} the {title} reads more than the copper has."
        do = "Look at both clamps and for a joint between them, and measure each stretch with one end off."
        yield _say(judged, what, "looped.high", f"at most {high:.3f} Ω", digits, do)
    else:
        what = f"The bond of the {bond.part} runs on to the {title}: one conductor serves both."
        do = f"See that it passes through the clamp of the {bond.part} unbroken; cut there, the {title} loses its bond with that clamp."
        yield _say(judged, what, "looped.one", "", digits, do, Severity.NOTE)


def _say(
    judged: PartJudged,
    what: str,
    family: str,
    expected: str,
    found: str,
    do: str,
    severity: Severity = Severity.WARNING,
) -> Finding:
    return Finding(f"part {judged.part.id}", what, severity, family, judged.part.id, expected, found, do)
