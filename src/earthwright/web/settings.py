"""What whoever serves the pages chooses."""

from __future__ import annotations

import datetime as dt
from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING, Protocol

from attrs import frozen

from ..base.elsewhere import Elsewhere
from .sum_form import SingleSum

if TYPE_CHECKING:
    from ..firm import Firm


class Weighing(Protocol):
    """Who weighs all bonds of a visit together beside the pages."""

    @property
    def counted(self) -> tuple[int, int]:
        """How much of it is done, of how much."""
        ...

    def begin(self, work: Elsewhere, visit: str = "") -> None:
        """See to it that it is being done, for a visit."""
        ...

    def on_with(self, visit: str) -> bool:
        """Whether it is being done for a visit."""
        ...

    def stop(self) -> None:
        """Let go of it."""
        ...


Line = Callable[[str, dict[str, str], bytes], Awaitable[tuple[int, bytes]]]


@frozen
class Settings:
    """Choices of the firm or the machine.

    blind        expected bands are shown only after the reading;  pass_phrase  needed by every visitor when not empty
    hosts        names under which the pages may be asked for; empty: any. A page elsewhere whose name was made to point
                 at this machine is then not answered
    origins      of phones' programs handed out elsewhere that may send here, each with a device's token
    framed       the pages stand in a frame of our own, as in a phone
    now          the clock, local time;  sums  the single sums that are offered
    weighing     who weighs all bonds together beside the pages; None: each page waits for it
    portfolio    folder of the tables of many homes, for those who look at all of them; empty: no such pages
    phone        address under which a phone on this network opens these pages; empty: only this machine can
    line         who carries a question to the office over a network: address, heads and body; gives status and body. None:
                 this journal goes with no office from these pages
    firm         the firm whose people sign in; None: one person at this machine, or all who have the pass phrase
    """

    blind: bool = False
    pass_phrase: str = ""
    hosts: tuple[str, ...] = ()
    origins: tuple[str, ...] = ()
    framed: bool = False
    now: Callable[[], dt.datetime] = dt.datetime.now
    sums: tuple[SingleSum, ...] = ()
    weighing: Weighing | None = None
    portfolio: str = ""
    phone: str = ""
    line: Line | None = None
    firm: Firm | None = None
