"""The highest Zs that a circuit may have, worked out from its device alone: nothing needs to have been read."""

from __future__ import annotations

from attrs import evolve

from ...base.errors import NoRule
from ...base.quantity import Limit
from ...site.installation import Circuit
from ...site.visit import Visit
from ..rulings import Rulings
from .limits import Case
from .loop_limits import first_limit
from .readings import Taken


def permitted_zs(visit: Visit, circuit: Circuit) -> Limit | None:
    """Highest Zs of a circuit at working temperature [Ω], with its clause; None where the data have no rule for it.

    In a TT system with a residual current device in front it is that device's. Source: the edition of the visit's date.
    """
    try:
        return first_limit(Case.of(visit, Taken(evolve(visit, events=())), Rulings(visit)), circuit)
    except NoRule:
        return None
