"""A distribution board and its main switch: every field declared once (:mod:`earthwright.site.fields`)."""

from __future__ import annotations

from typing import Any

from attrs import frozen

from .circuit import Device
from .codes import CURRENTS, LIVE_SAID, SPD_TYPES, SWITCH_KINDS
from .fields import AREA, CODE, FIRST, ID, NUMBER, REFERENCE, TABLE, TEXT, WHOLE, WORD, field

_VOLTS: dict[str, Any] = {"unit": "V", "above": 0, "group": "other_supply"}


# fmt: off
@frozen
class Switch:
    """The main switch of a board. Where it is a residual current device, that is the board's own: its standard, rated
    current and residual current stand there and nowhere else.
    """

    kind: str = field(WORD, "Kind", choices=SWITCH_KINDS)
    standard: str = field(TEXT, "Standard", "e.g. BS EN 60947-3", puts=("BS EN 60947-3",), habit=True)
    poles: int | None = field(WHOLE, "Poles", "how many it opens", choices=("1", "2", "3", "4"), default=None)
    rating_a: float | None = field(NUMBER, "Rated current", unit="A", above=0, most=6300, habit=True)
    rated_v: float | None = field(NUMBER, "Rated voltage", unit="V", above=0, most=2000, habit=True)
    fuse_a: float | None = field(NUMBER, "Fuses or setting", unit="A", above=0, most=6300)
    where: str = field(TEXT, "Where, if not in the board", habit=True)


@frozen
class Board:
    """A distribution board; ``fed_by`` names the circuit that feeds it, empty for the origin.

    main_switch, spd  what no field holds about the main switch and the surge protection, in words
    electrode         id of the electrode that earths it in place of the site's own earth (a TT outbuilding)
    current, live, u0_v, u_v, frequency_hz  as what feeds it while nothing is said
    """

    id: str = field(ID, "Short name", start="db1", need=True, ask=FIRST)
    name: str = field(TEXT, "Name", ask=FIRST)
    where: str = field(TEXT, "Where", ask=FIRST, puts=("hall", "under the stairs", "garage", "kitchen"), habit=True, local=True)
    fed_by: str = field(REFERENCE, "Fed by circuit", "id of the circuit that feeds it; none at the origin", local=True)
    phases: int = field(WHOLE, "Phases", choices=("1", "3"), default=1)
    main_switch: str = field(TEXT, "Main switch in words", "what the fields of the switch do not hold", short="In words", group="switch", after="switch")
    rcd: Device | None = field(TABLE, "RCD of the whole board", of=Device, only=("rcd_type", "rcd_ma", "rcd_delay", "standard", "rating_a"), group="rcd", after="main_switch", default=None, fact="residual")
    spd: str = field(TEXT, "Surge protection in words", after="spd_type", puts=("none",))
    note: str = field(AREA, "Remark", keep=False)
    switch: Switch | None = field(TABLE, "Main switch", of=Switch, group="switch", after="note", default=None, fact="nothing")
    spd_type: str = field(CODE, "Surge protection", choices=SPD_TYPES, after="live")
    current: str = field(WORD, "AC or DC", choices=CURRENTS, group="other_supply", fact="voltage")
    live: str = field(CODE, "Live conductors", choices=LIVE_SAID, after="phases", fact="voltage")
    u0_v: float | None = field(NUMBER, "Voltage line to earth", most=1000, **_VOLTS)
    u_v: float | None = field(NUMBER, "Voltage between lines", most=2000, **_VOLTS)
    frequency_hz: float | None = field(NUMBER, "Frequency", unit="Hz", above=0, most=1000, group="other_supply", fact="voltage")
    electrode: str = field(REFERENCE, "Own electrode (its id)", "where not the site's own earth serves it: a TT outbuilding", group="other_supply", fact="system", local=True)
    # fmt: on

    def is_at(self, place: str) -> bool:
        """Whether a place said in words is the board's own, or that of its main switch."""
        own = (self.where, self.name, self.id, self.switch.where if self.switch else "")
        return place.casefold() in {x.casefold() for x in own if x}
