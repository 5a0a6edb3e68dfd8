"""What the tests of a circuit should show before any was made: from its cable, its device and the rules alone."""

from __future__ import annotations

from attrs import evolve, frozen

from ...base.errors import NoRule
from ...base.quantity import Band, Limit
from ...physics.loop import cold_limit_ohm, zs_ceiling_ohm
from ...rules.circuits import rcd_limits, zs_cold_factor
from ...site.installation import Circuit
from ...site.visit import Visit
from ..rulings import Rulings
from .highest_zs import permitted_zs
from .insulation import minimum_for
from .limits import Case
from .loop import source
from .loop_limits import WORKING
from .rcd import kind_of
from .readings import Taken
from .ring import end_to_end
from .runs import conductor_mohm_per_m, run_to


@frozen
class Ahead:
    """What a circuit's tests should show; None where the installation or the rules do not say enough.

    r1, r2         ends of a ring [Ω];  r1r2  at the furthest point [Ω], of a ring at a socket on it
    zs             expected at the furthest point [Ω];  zs_most  highest permitted at working temperature [Ω];  zs_cold  the
                   customary share of it for a cold reading [Ω], None where a residual current device sets the limit
    insulation     least [MΩ];  rcd_ms  longest time of the residual current device at its rated current [ms]
    """

    r1: Band | None
    r2: Band | None
    r1r2: Band | None
    zs: float | None
    zs_most: float | None
    zs_cold: float | None
    insulation: float | None
    rcd_ms: float | None


def ahead(visit: Visit) -> dict[str, Ahead]:
    """Id of each circuit → what its tests should show. Nothing that was read is used, so it can be printed before the visit."""
    bare = evolve(visit, events=())
    case = Case.of(bare, Taken(bare), Rulings(bare))
    return {c.id: _of(case, bare, c) for c in visit.site.circuits}


def _of(case: Case, visit: Visit, c: Circuit) -> Ahead:
    ring = c.kind == "ring"
    line, cpc = conductor_mohm_per_m(case, c, c.line_mm2), conductor_mohm_per_m(case, c, c.cpc_mm2)
    ends = (end_to_end(case, c, line, c.line_mm2), end_to_end(case, c, cpc, c.cpc_mm2)) if ring else (None, None)
    run = run_to(case, c, "r1r2", "")
    upto = source(case, c.board)
    limit = permitted_zs(visit, c)
    return Ahead(
        ends[0],
        ends[1],
        run.band if run else None,
        zs_ceiling_ohm(upto.band.high, run.band.high) if upto and run else None,
        limit.value if limit else None,
        _cold(case, limit),
        _insulation(case, c),
        _rcd_ms(case, c),
    )


def _cold(case: Case, limit: Limit | None) -> float | None:
    if limit is None or limit.what != WORKING:
        return None
    try:
        return cold_limit_ohm(limit.value, float(case.limits.ask(zs_cold_factor).value))
    except NoRule:
        return None


def _insulation(case: Case, c: Circuit) -> float | None:
    try:
        return minimum_for(case, c.id, None, "").limit.value
    except NoRule:
        return None


def _rcd_ms(case: Case, c: Circuit) -> float | None:
    idn, kind = c.device.rcd_ma, kind_of(c.device)
    if idn is None or kind is None:
        return None
    try:
        return next((t.max_ms for t in case.limits.ask(rcd_limits, kind, idn, None) if t.multiple == 1), None)
    except NoRule:
        return None
