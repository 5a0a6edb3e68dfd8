"""Between which figures a quantity may lie at all, and usually does, with the likely slip on either side.

Common practice without a source, unless a remark beside it says otherwise.
"""

from __future__ import annotations

import math

from attrs import frozen

AMPERES = "The digits may be amperes: look at the unit on the display."  # the slip behind a fault current out of range


@frozen
class Range:
    """One quantity.

    what      as the trade calls it;  unit
    least, most  below and above these it is impossible; ``nought`` False: it is never nought either
    usual     below and above these it is asked about
    low, high the likely slip when it is too low, too high
    """

    what: str
    unit: str
    least: float = 0.0
    most: float = math.inf
    nought: bool = True
    usual: tuple[float, float] = (0.0, math.inf)
    low: str = ""
    high: str = ""

    def says(self, value: float) -> tuple[bool, str, str] | None:
        """Whether a value is impossible (True) or only unusual (False), the sentence, and the likely slip; None for neither."""
        if value < self.least or (value == 0.0 and not self.nought):
            return True, f"{self.what} is never {'0' if value == 0.0 else 'so low'}.", self.low
        if value > self.most:
            return True, f"{self.what} is never so high.", self.high
        if value < self.usual[0]:
            return False, f"{self.what} is seldom so low.", self.low
        if value > self.usual[1]:
            return False, f"{self.what} is seldom so high.", self.high
        return None

    @property
    def span(self) -> str:
        """What may stand there, in words."""
        low = f"above 0 {self.unit}" if not self.nought and not self.least else f"{self.least:g} {self.unit} or more"
        return low if math.isinf(self.most) else f"{low}, at most {self.most:g} {self.unit}"
