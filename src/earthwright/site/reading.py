"""From the raw display to a corrected value with its budget: null, leads, limits of error."""

from __future__ import annotations

import math
from collections.abc import Iterable

from attrs import NOTHING, frozen

from ..base.digits import Kind, Shown
from ..base.errors import Finding, Severity
from ..base.quantity import Band, Influence, Quantity, rectangular
from .events import LeadCheck, Reading
from .fields import DATE, FIRST, ID, NUMBER, TEXT, WORD, field
from .range import Range

LEADS_OHM = 2.0  # no lead set comes to more, so no allowance is further out [Ω]; common practice, no source
_ONE_ROW = (
    "The figure may be that of another row, or a reading through open leads: short the tips and read the set by itself."
)
UNCHECKED = "the leads were not shorted afterwards, so what was allowed for them is only believed"


# fmt: off
@frozen
class Accuracy:
    """Limits of error of one function of an instrument: ± (pct % of reading + digits digits).

    step  one unit of the last digit [unit of the function];  top  end of its range
    """

    pct: float = field(NUMBER, "limit of error, % of reading", unit="%", least=0, most=50, default=NOTHING)
    digits: float = field(NUMBER, "limit of error, digits", unit="digits", least=0, most=100, default=NOTHING)
    step: float = field(NUMBER, "one digit", unit="unit of the reading", above=0, most=1000, default=NOTHING)
    top: float = field(NUMBER, "end of the range", unit="unit of the reading", above=0, most=1e9, default=NOTHING)
    stated: bool = True
# fmt: on


# What is assumed when an instrument's own figures were not entered; said so wherever it is used.
ASSUMED = {
    "continuity": Accuracy(3.0, 2.0, 0.01, 99.99, stated=False),
    "insulation": Accuracy(3.0, 2.0, 0.01, 299.0, stated=False),
    "loop": Accuracy(5.0, 5.0, 0.01, 2000.0, stated=False),
    "current": Accuracy(3.0, 3.0, 0.01, 100.0, stated=False),
    "electrode": Accuracy(3.0, 3.0, 0.1, 2000.0, stated=False),
    "extraneous": Accuracy(3.0, 2.0, 10.0, 1_000_000.0, stated=False),
    "fault current": Accuracy(5.0, 5.0, 0.01, 50.0, stated=False),
    "rcd": Accuracy(5.0, 2.0, 0.1, 2000.0, stated=False),
}


@frozen
class Instrument:
    """An instrument as entered by its user; ``accuracy`` by function."""

    id: str = field(ID, "Short name", need=True, start="tester", ask=FIRST)
    name: str = field(TEXT, "Name", ask=FIRST)
    serial: str = field(TEXT, "Serial number", ask=FIRST)
    checked: str = field(DATE, "Last checked", default="")
    valid_until: str = field(DATE, "Check valid until", default="", ask=FIRST)
    accuracy: tuple[tuple[str, Accuracy], ...] = ()

    def limits(self, function: str) -> Accuracy:
        """Limits of error for a function; assumed ones, marked so, when none were entered."""
        return dict(self.accuracy).get(function, ASSUMED[function])


# fmt: off
@frozen
class LeadSet:
    """The leads and clips actually used, and how their resistance was allowed for: taken out by the instrument, by the person, or not."""

    id: str = field(ID, "Short name", need=True, start="long", ask=FIRST)
    allowed: str = field(WORD, "How the leads are allowed for", choices=("nulled", "subtracted", "none"), need=True, default="none", start="nulled", ask=FIRST)
    null_ohm: float | None = field(NUMBER, "Nulled out", "what was taken out by the instrument", unit="Ω", least=0, most=1000, keep=False, ask=FIRST, possible=Range("The resistance nulled out of a lead set", "Ω", 0, 20, usual=(0, 5), high=_ONE_ROW))
    lead_ohm: float | None = field(NUMBER, "Resistance of the set", "measured or known", unit="Ω", least=0, most=1000, keep=False, possible=Range("The resistance of a lead set", "Ω", 0, 20, usual=(0, 5), high=_ONE_ROW))
    note: str = field(TEXT, "Remark", keep=False, ask=FIRST)
# fmt: on


def added_by(leads: LeadSet, accuracy: Accuracy) -> tuple[float, float]:
    """What a lead set adds to the display, low and high [Ω]; nothing when it was nulled, or when that is not known."""
    if leads.allowed == "nulled" or leads.lead_ohm is None:
        return 0.0, 0.0
    half = leads.lead_ohm * accuracy.pct / 100.0 + accuracy.digits * accuracy.step
    return (leads.lead_ohm - half if leads.allowed == "subtracted" else 0.0), leads.lead_ohm + half


@frozen
class LeadTrust:
    """What the checks of a lead set say about one reading.

    before, after  the shorted checks that bracket the reading, if they were made;  apart  an open check showed over-range
    """

    before: LeadCheck | None
    after: LeadCheck | None
    before_good: bool | None
    after_good: bool | None
    apart: bool

    @property
    def suspect(self) -> bool:
        """A check on either side of the reading was not good, so the reading proves nothing."""
        return self.before_good is False or self.after_good is False


def shorted_good(check: LeadCheck, leads: LeadSet, accuracy: Accuracy) -> bool:
    """Whether a shorted reading is what a well allowed-for lead set shows, within the limits of error.

    Nulled: 0.00 within the digit error. Subtracted or none: the known resistance of the set within all limits.
    """
    if check.shown.kind is Kind.OVER:
        return False
    # Half a digit for the rounding, so that a whole number of digits is still inside.
    slack = (accuracy.digits + 0.5) * accuracy.step
    expected = 0.0 if leads.allowed == "nulled" else leads.lead_ohm
    if expected is None:
        return True
    return abs(check.shown.value - expected) <= slack + expected * accuracy.pct / 100.0


def lead_trust(reading: Reading, checks: Iterable[LeadCheck], leads: LeadSet, accuracy: Accuracy) -> LeadTrust:
    """The shorted checks that bracket a reading, and whether the leads were also held apart.

    A bad check after the reading spoils everything back to the last good one, so the first check after it decides.
    """
    mine = [c for c in checks if c.leads == leads.id]
    shorted = [c for c in mine if c.kind == "shorted"]
    before = next((c for c in reversed(shorted) if c.seq < reading.seq), None)
    after = next((c for c in shorted if c.seq > reading.seq), None)
    return LeadTrust(
        before,
        after,
        None if before is None else shorted_good(before, leads, accuracy),
        None if after is None else shorted_good(after, leads, accuracy),
        any(c.kind == "open" and c.shown.kind is Kind.OVER for c in mine),
    )


@frozen
class Corrected:
    """A reading after correction.

    quantity    corrected value with its budget [Ω]; None for over-range, below resolution or when it cannot be corrected
    band        what the true value may be by the limits of error [Ω]
    offset      what the leads may still add to the display [Ω], low and high
    trust       what the lead checks say
    """

    reading: Reading
    quantity: Quantity | None
    band: Band | None
    offset: tuple[float, float]
    trust: LeadTrust
    accuracy: Accuracy
    findings: tuple[Finding, ...] = ()

    @property
    def unchecked(self) -> bool:
        """Whether what was allowed for the leads is only believed: nobody shorted them, as used, after the reading.

        An over-range and digits beyond any lead's resistance do not hang on it.
        """
        shown = self.reading.shown
        spoils = shown is not None and shown.kind is not Kind.OVER and shown.value <= LEADS_OHM
        return spoils and self.trust.after_good is not True

    @property
    def usable(self) -> bool:
        """Whether the reading may count as evidence."""
        return not self.trust.suspect and not any(f.severity is Severity.ERROR for f in self.findings)

    @property
    def refusal(self) -> str:
        """Why it may not, as the end of a sentence; empty where it may."""
        said = "; ".join(f.what.rstrip(".") for f in self.findings if f.severity is Severity.ERROR)
        return said or ("its leads did not read right when shorted" if self.trust.suspect else "")


def correct(
    reading: Reading,
    leads: LeadSet,
    accuracy: Accuracy,
    checks: Iterable[LeadCheck],
    *,
    shared_scale: bool = False,
) -> Corrected:
    """Correct one continuity reading for its leads and give its budget.

        value = shown − lead (subtracted);  u² = (a·shown/√3)² + (n·step/√3)² + (step/2√3)² + u_lead²

    Limits of error are taken as rectangular; scale errors as independent from reading to reading unless
    ``shared_scale`` (method, section 1). Over-range and below-resolution stay inequalities and get a band only.
    """
    if reading.shown is None:
        raise ValueError(f"reading {reading.id} has no digits to correct")
    shown = reading.shown
    trust = lead_trust(reading, checks, leads, accuracy)
    low, high, findings = _offset(reading, leads, accuracy, trust)
    if shown.kind is Kind.OVER:
        return Corrected(reading, None, None, (low, high), trust, accuracy, findings)
    edge = (accuracy.digits + 0.5) * float(shown.step)
    scale = accuracy.pct / 100.0
    top = 0.0 if shown.kind is Kind.BELOW else shown.value
    band = Band(
        max(0.0, (top - edge) / (1.0 + scale) - high),
        max(0.0, (shown.value + edge) / (1.0 - scale) - low),
        shown.unit,
        ("limits of error of the instrument",),
    )
    quantity = None
    if shown.kind is Kind.VALUE:
        quantity = _budget(shown, accuracy, reading, (low, high), shared_scale)
    return Corrected(reading, quantity, band, (low, high), trust, accuracy, findings)


def _budget(
    shown: Shown, accuracy: Accuracy, reading: Reading, offset: tuple[float, float], shared_scale: bool
) -> Quantity:
    scale_key = f"{reading.instrument}.scale" + ("" if shared_scale else f".{reading.id}")
    step, root = float(shown.step), math.sqrt(3.0)
    causes = (
        Influence(scale_key, f"scale, ±{accuracy.pct:g} % of reading", abs(shown.value) * accuracy.pct / 100.0 / root),
        Influence(f"{reading.id}.digits", f"±{accuracy.digits:g} digits", accuracy.digits * step / root),
        Influence(f"{reading.id}.rounding", "rounding to the last digit", step / 2.0 / root),
    )
    result = Quantity(shown.value, shown.unit, causes)
    middle, half = (offset[0] + offset[1]) / 2.0, (offset[1] - offset[0]) / 2.0
    if offset == (0.0, 0.0):
        return result
    return result - rectangular(middle, half, shown.unit, f"{reading.leads}.lead", "leads")


def _offset(
    reading: Reading, leads: LeadSet, accuracy: Accuracy, trust: LeadTrust
) -> tuple[float, float, tuple[Finding, ...]]:
    """What the leads may still add to the display, and what is to be said about them."""
    where = f"reading {reading.id}"
    if trust.suspect:
        check = trust.after if trust.after_good is False else trust.before
        assert check is not None  # a suspect reading has the check that made it so
        when = "afterwards" if trust.after_good is False else "beforehand"
        finding = Finding.of(
            "leads.suspect",
            where,
            f"The shorted leads showed {check.shown.as_shown} {when}, so this reading proves nothing.",
            reading.of,
            "0.00 Ω within the digit error" if leads.allowed == "nulled" else "the resistance of the leads",
            check.shown.as_shown,
            "Null with exactly this lead set, show 0.00 with the tips shorted, and take the series again.",
        )
        return 0.0, 0.0, (finding,)
    if leads.allowed == "nulled":
        return 0.0, 0.0, ()
    if leads.lead_ohm is None:
        finding = Finding.of(
            "leads.unknown",
            where,
            f"The resistance of lead set '{leads.id}' is not known, so the reading cannot be corrected.",
            reading.of,
            "a nulled lead set, or its resistance",
            leads.allowed,
            "Short the tips and note the reading, or null it out.",
        )
        return 0.0, 0.0, (finding,)
    low, high = added_by(leads, accuracy)
    if leads.allowed == "subtracted":
        return low, high, ()
    finding = Finding.of(
        "leads.none",
        where,
        f"The leads ({leads.lead_ohm:g} Ω) were neither nulled nor subtracted; they stay in the band.",
        reading.of,
        "leads nulled or subtracted",
        "neither",
        "Null the set and repeat.",
    )
    return low, high, (finding,)
