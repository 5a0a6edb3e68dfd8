"""The digits an instrument showed, kept as they were typed, never as a float."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from enum import Enum
from functools import cached_property

from attrs import frozen

from .errors import Finding

OHM = "Ω"  # U+03A9; U+2126 is turned into it on the way in

# Units that are understood, and the factor to the unit in which the tool keeps that kind of reading.
_PREFIX = {"m": Decimal("0.001"), "": Decimal(1), "k": Decimal(1000), "M": Decimal(1000000), "G": Decimal(10**9)}
_SPELLINGS = {
    "ohm": OHM,
    "ohms": OHM,
    "r": OHM,
    "amp": "A",
    "amps": "A",
    "volt": "V",
    "volts": "V",
    "a": "A",
    "v": "V",
    "sec": "s",
    "secs": "s",
}
# A prefix alone, as it is said aloud of resistances: 299M, 22k.
_ALONE = {"m": "M", "meg": "M", "megs": "M", "k": "k", "g": "G"}
# A prefix as a word: megohm, kilohms, milliohm, milliamps.
_WORDS = {"milli": "m", "kilo": "k", "kil": "k", "mega": "M", "meg": "M", "giga": "G"}
# A comma that no thousands mark can be: one of them, not before three digits unless a nought leads.
_DECIMAL_COMMA = re.compile(r"([<>]=?|≤|≥)?\s*\+?(0*,[0-9]+|[0-9]+,(?:[0-9]{1,2}|[0-9]{4,}))(?![0-9,.])[^,]*")
# "200+" and, where only a range can be meant, "+200".
_AND_MORE = re.compile(r"([0-9]+(?:\.[0-9]*)?)\s*([^0-9+]*?)\s*\+")
_OVER = {
    "ol",
    "o.l",
    "o/l",
    "or",
    "o/r",
    "over",
    "over-range",
    "over range",
    "overrange",
    "open",
    "oo",
    "∞",
    ">∞",
    "inf-range",
    "inf",
    "infinity",
    "infinite",
    "ofl",
    "off scale",
    "off-scale",
    "full scale",
    "fsd",
}
# A device that did not open within the time the instrument waits. "NT" may also be "not tested", so it is not among these.
_NO_TRIP = {"no trip", "did not trip", "didn't trip", "not tripped", "dnt"}
# The point where its letter stands, as on resistors: 0R47, 4R7, R47, 0Ω47.
_LETTER = re.compile(rf"([0-9]{{0,3}})[Rr{OHM}]([0-9]{{1,3}})")
_MORE_THAN = re.compile(
    r"(?:greater than|more than|over|above)\s+(.*)|(.*?)\s*(?:or more|and above|plus)", re.IGNORECASE
)
_TWO = re.compile(r"[0-9.]+\s*[^0-9.\s]*\s*[/&-]\s*[0-9.]+\s*\S*")  # fmt: skip
# No display is longer, and the range of none ends within so few of its own digits.
_LONGEST, _SHORTEST_RANGE = 12, 20
_AS_SHOWN = "Type the digits that the display showed."
_NUMBER = re.compile(r"^([<>]=?|≤|≥)?\s*([+-]?[0-9]+(?:\.[0-9]*)?|[+-]?\.[0-9]+)\s*(.*)$")


class Kind(str, Enum):
    """What the display said: a value, more than the range, or less than it can resolve."""

    VALUE = "value"
    OVER = "over"
    BELOW = "below"


@frozen
class Shown:
    """One display reading.

    text        as typed
    digits      the number in ``unit``; the edge for over-range (if it was typed) and below-resolution
    step        value of one unit of the last digit, in ``unit``
    unit        unit of ``digits`` and ``step``
    kind        value, over-range or below resolution
    """

    text: str
    digits: Decimal
    step: Decimal
    unit: str
    kind: Kind = Kind.VALUE

    @cached_property
    def value(self) -> float:
        """The digits as a float; infinite for over-range."""
        return float("inf") if self.kind is Kind.OVER else float(self.digits)

    def __str__(self) -> str:
        if self.kind is Kind.OVER:
            return f"over-range (>{self.digits} {self.unit})" if self.digits else "over-range"
        if self.kind is Kind.BELOW:
            return f"<{self.digits} {self.unit}"
        if self.digits == 0:
            return f"<{self.step} {self.unit}"
        return f"{self.digits} {self.unit}"

    @property
    def as_shown(self) -> str:
        """The digits as they stood on the display, e.g. ``0.00 Ω``."""
        return str(self) if self.kind is Kind.OVER else f"{self.digits} {self.unit}"


def read_shown(
    typed: object, unit: str, where: str, *, step: Decimal = Decimal("0.01"), entry: str = ""
) -> tuple[Shown | None, tuple[Finding, ...]]:
    """Turn what a person typed into a :class:`Shown`, saying aloud whatever had to be understood.

    typed  text, Decimal or int as the file or form gave it
    unit   the unit this reading is kept in (``Ω``, ``MΩ``, ``A``, ``V``, ``ms``, ``kA``)
    where  place named in findings;  step  one digit of the instrument on this function

    Returns the reading (or None when it is refused) and the findings. Nothing is guessed: a comma that may part
    thousands, a truth value, an empty text, an infinity or an unknown unit is refused with what was expected; what can
    mean one thing only ("0,47", "200+", "299M") is understood aloud.
    """

    try:
        return _read(typed, unit, where, step, entry)
    except _Refused as refused:
        expected = f"the digits as shown, e.g. {step * 5} {unit}"
        found = Finding.of("input.digits", where, refused.what, entry, expected, repr(typed), refused.do)
        return None, (found,)


class _Refused(Exception):
    """What is wrong with what was typed, and what to do."""

    def __init__(self, what: str, do: str = _AS_SHOWN) -> None:
        super().__init__(what)
        self.what, self.do = what, do


def _read(typed: object, unit: str, where: str, step: Decimal, entry: str) -> tuple[Shown, tuple[Finding, ...]]:
    text = _text(typed)
    if text.lower().rstrip(". ") in (_OVER | _NO_TRIP if unit == "ms" else _OVER):
        return Shown(text, Decimal(0), step, unit, Kind.OVER), ()
    text, understood = _understood(text, unit)
    sign, number, factor, note = _parts(text, unit)
    digits, exponent = number * factor, int(number.as_tuple().exponent)
    typed_step = Decimal(1).scaleb(exponent) * factor
    kind = Kind.OVER if sign in (">", "≥") else Kind.BELOW if sign else Kind.VALUE
    if kind is Kind.VALUE:
        # Many clamp meters have one decimal and no more; a number of JSON may only have lost its other noughts.
        one_decimal = unit == "A" and typed_step < 1 and not isinstance(typed, float)
        if digits == 0 and typed_step > step and not one_decimal:
            raise _Refused(
                "Zero without its decimals is not what a display shows.", f"Type all digits, e.g. {step * 0} {unit}."
            )
    else:
        _edge(kind, digits, step, unit)
    findings: list[Finding] = []
    if note or understood:
        said = f"Understood as {sign}{digits} {unit}."
        why = " ".join(x for x in (understood, note) if x)
        family = "input.unit" if note else "input.spelling"
        findings.append(Finding.of(family, where, said, entry, unit, str(typed), why))
    # A whole number of digits is no finer than the display, however it is written: 22000 Ω in steps of 10 Ω.
    # A display that changes its unit by itself shows more digits there: 470 mΩ where 0.47 Ω would stand.
    if typed_step < step and kind is Kind.VALUE and factor >= 1 and (typed_step < 1 or digits % step):
        findings.append(
            Finding.of(
                "input.resolution",
                where,
                f"More decimals than the instrument shows (one digit is {step} {unit}).",
                entry,
                f"steps of {step} {unit}",
                text,
                "Type the digits as displayed, or correct the instrument's resolution.",
            )
        )
    return Shown(text, digits, max(step, typed_step) if kind is Kind.VALUE else step, unit, kind), tuple(findings)


def _text(typed: object) -> str:
    """What was typed as a text, with one way to write each sign."""
    if isinstance(typed, bool) or not isinstance(typed, (str, int, float, Decimal)):
        raise _Refused("This is not a reading.")
    if isinstance(typed, (float, Decimal)) and not math.isfinite(typed):
        raise _Refused("This is not a reading.", 'Type the digits, or "over-range" between quotes.')
    text = str(typed).strip().replace("\u2126", OHM).replace("\u00b5", "μ").replace("\u2212", "-")
    if not text:
        raise _Refused("The reading is empty.", "Type the digits, or leave the whole entry out and say why.")
    return text


def _understood(text: str, unit: str) -> tuple[str, str]:
    """The text with what can mean one thing only written plainly, and the sentence that says so."""
    said = ""
    if "," in text:
        if not _DECIMAL_COMMA.fullmatch(text):
            raise _Refused("A comma may be a decimal or a thousands mark, so it is not guessed.", "Type a point.")
        text, said = text.replace(",", "."), "The comma was taken for a decimal point."
    text = text.replace("·", ".").removesuffix(".")
    if unit == OHM and (letter := _LETTER.fullmatch(text)):
        return f"{letter[1] or 0}.{letter[2]}", "The letter was taken for the decimal point."
    if worded := _MORE_THAN.fullmatch(text):
        return f">{worded[1] or worded[2]}", "Taken for the range's end."
    if more := _AND_MORE.fullmatch(text):
        return f">{more[1]} {more[2]}", "A plus after the digits was taken for 'more than', the range's end."
    if text[:1] == "+" and unit == f"M{OHM}":
        return f">{text[1:]}", "A plus before the digits was taken for 'more than', the range's end."
    return text, said


def _parts(text: str, unit: str) -> tuple[str, Decimal, Decimal, str]:
    """The sign before the digits (``>``, ``≥``, ``<``, ``≤`` or none), the digits, the factor to ``unit`` and its sentence."""
    match = _NUMBER.match(text)
    if match is None:
        raise _Refused(
            "These are not digits that a display shows.", "Type the digits, 0 to 9 and a point, or 'over-range'."
        )
    sign, number, tail = match.group(1) or "", Decimal(match.group(2)), match.group(3).strip()
    if _TWO.fullmatch(text):
        raise _Refused("Two values stand here.", "Type each as a reading of its own.")
    factor, note = _unit_factor(tail, unit)
    if factor is None:
        raise _Refused(f"'{tail}' is not a unit of this reading.", f"Give the reading in {unit}.")
    if number < 0 and sign:
        raise _Refused("A negative edge is not a reading.")
    if len(match.group(2)) > _LONGEST:
        raise _Refused("No display has so many digits.")
    return sign[:1], number, factor, note


def _edge(kind: Kind, digits: Decimal, step: Decimal, unit: str) -> None:
    """Refuse what is no end of a range, and what a display could have resolved."""
    if kind is Kind.OVER and digits < _SHORTEST_RANGE * step:
        raise _Refused("No range ends there, so this is not over-range.", "Type the digits, or 'over-range'.")
    # Many clamp meters have one decimal and no more.
    if kind is Kind.BELOW and not 0 < digits <= (max(step, Decimal("0.1")) if unit == "A" else step):
        raise _Refused(
            f"Only less than one digit ({step} {unit}) is below what the display resolves.",
            "Type the digits, or correct the instrument's resolution.",
        )


def _unit_factor(tail: str, unit: str) -> tuple[Decimal | None, str]:
    """Factor from a typed unit to ``unit`` and the sentence that says so; None when it is another kind of unit."""
    if not tail or tail == unit:
        return Decimal(1), ""
    base, prefix = _split(unit)
    typed_base, typed_prefix = _split(tail)
    if unit == "ms" and tail == "mS":  # nobody reads a conductance there
        return Decimal(1), ""
    if typed_base != base:
        return None, ""
    factor = _PREFIX[typed_prefix] / _PREFIX[prefix]
    return (
        factor,
        "" if factor == 1 else f"The unit was typed as {tail}; check that the display showed that unit.",
    )


def _split(unit: str) -> tuple[str, str]:
    """Base unit and prefix of a unit as typed: ``kΩ`` → (Ω, k); an unknown unit is its own base."""
    compact = unit.replace(" ", "")
    compact = f"{_ALONE[compact.lower()]}{OHM}" if compact.lower() in _ALONE and compact != "m" else compact
    word = next((w for w in _WORDS if compact.lower().startswith(w) and len(compact) > len(w) + 1), "")
    compact = f"{_WORDS[word]}{compact[len(word) :]}" if word else compact
    for prefix in ("m", "k", "K", "M", "G", ""):
        if not compact.startswith(prefix):
            continue
        rest = compact[len(prefix) :]
        base = _SPELLINGS.get(rest.lower(), rest)
        if base in (OHM, "A", "V", "s", "Hz"):
            return base, "k" if prefix == "K" else prefix
    return compact, ""
