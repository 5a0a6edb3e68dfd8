"""The rules of a day, as the checks ask for them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

from attrs import frozen

from earthwright.rules import RuleBook
from earthwright.rules.lookup import CONDUCTORS, WIRING, conductor_mohm_per_m
from earthwright.rules.model import Edition

Inputs = Mapping[str, Any]
Route = Callable[[Inputs, "Rules"], Any]


def book() -> RuleBook:
    """All rule data; loading them again costs nothing."""
    return RuleBook.load()


@frozen
class Rules:
    """The rule data in force on a day."""

    on: dt.date

    @property
    def edition(self) -> Edition:
        return book().edition_for(WIRING, self.on)

    @property
    def conductors(self) -> Edition:
        return book().edition_for(CONDUCTORS, self.on)

    def r20(self, material: str, iec_class: int, csa_mm2: float) -> float:
        return float(conductor_mohm_per_m(book(), self.on, material, iec_class, csa_mm2).value)


def looked_up(route: Route) -> Route:
    """Mark a route that only looks a figure up: it has to be the printed one to half its last digit."""
    route.looked_up = True  # type: ignore[attr-defined]
    return route
