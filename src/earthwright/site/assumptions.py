"""The constants that are choices and no measurements: each with its reason, and how far a visit may move it.

What is chosen decides how much a reading proves, so the bounds are narrow on the side that would make proof cheap: no
chance of a human error goes below a fifth of the usual one, and the threshold of a verdict only rises.
"""

from __future__ import annotations

from typing import Any

from attrs import frozen

from .fields import FIRST, NUMBER, Field, field, fields_of


def _choice(usual: float, unit: str, least: float, most: float, what: str, why: str, group: str = "conductors") -> Any:
    hint = f"usually {usual:g}; {least:g} to {most:g}"
    what = f"{what[0].upper()}{what[1:]}"
    return field(
        NUMBER,
        what,
        why,
        unit=unit,
        least=least,
        most=most,
        default=usual,
        hint=hint,
        ask=FIRST,
        keep=False,
        group=group,
    )


def _chance(
    usual: float, what: str, why: str, least: float | None = None, most: float | None = None, group: str = "errors"
) -> Any:
    low, high = usual / 5.0 if least is None else least, min(0.5, usual * 5.0) if most is None else most
    return _choice(usual, "1", low, high, what, why, group)


NONE = "our choice, no source"
METAL = "metal"


@frozen
class Assumptions:
    """What is assumed where nothing is measured, for one visit. A visit's ``[assumptions]`` changes them by these names."""

    make_low: float = _choice(
        0.93, "1", 0.80, 0.99, "least resistance of real conductors, as a share of the most their size may have",
        "makers come close to the maximum of IEC 60228 and rarely more than some percent below it; common practice",
    )  # fmt: skip
    joint_ohm: float = _choice(
        0.01, "Ω", 0.002, 0.05, "resistance of a good joint of a bond, at most", "a clean clamp reads a few milliohms; " + NONE
    )  # fmt: skip
    poor_joint_ohm: float = _choice(
        0.05, "Ω", 0.02, 0.5, "extra resistance of a bond from which it counts as impaired",
        "the customary figure for a joint that is to be looked at",
    )  # fmt: skip
    poor_cpc_ohm: float = _choice(
        0.15, "Ω", 0.05, 1.0, "extra resistance of a protective conductor or a ring from which it counts as impaired",
        "less is not told from the tolerance of a length; " + NONE,
    )  # fmt: skip
    no_other_path: float = _chance(0.30, "chance that nothing else joins MET and part", NONE, 0.05, 0.6, METAL)
    slip: float = _chance(0.01, 'chance that a reading "with one end off" was taken with all connected', NONE)
    lead_off: float = _chance(0.015, "chance that a lead was off", NONE)
    lead_off_checked: float = _chance(
        0.0015, "chance that a lead was off once the leads were shorted afterwards and good", NONE
    )
    touch: float = _chance(0.015, "chance that the clips touched", NONE)
    touch_checked: float = _chance(0.0015, "chance that the clips touched once the leads were held apart", NONE)
    wrong_allowance: float = _chance(
        0.015, "chance that what was allowed for the leads is wrong", "one unknown of a whole series; " + NONE, 0.0101
    )
    gross: float = _chance(0.002, "chance of a wrong row or a gross misreading", NONE)
    metal_gone: float = _chance(
        0.20, "chance that metal that is entered is not there, or not joined", "the bond on its way may be open as well; " + NONE, 0.05,
        group=METAL,
    )  # fmt: skip
    alone_heating: float = _chance(
        0.5, "chance that nothing but its cpc earths a boiler, a shower, a sub-board", NONE, 0.2, 0.7, METAL
    )
    alone_fixed: float = _chance(
        0.7, "chance that nothing but its cpc earths a cooker or other fixed equipment", NONE, 0.3, 0.85, METAL
    )
    alone_charging: float = _chance(
        0.8, "chance that nothing but its cpc earths a charging point", NONE, 0.4, 0.9, METAL
    )
    alone_else: float = _chance(
        0.9, "chance that nothing but its cpc earths a socket, a light or all else", NONE, 0.5, 0.95, METAL
    )
    decide: float = _choice(
        2.0, "log10", 2.0, 6.0, "power of ten by which readings must speak for one thing before a verdict is given",
        "a hundred to one; it is never lowered",
    )  # fmt: skip

    @property
    def make(self) -> tuple[float, float]:
        """Real resistance of a conductor as a share of the most that its size may have."""
        return self.make_low, 1.0

    def changed(self) -> tuple[tuple[Field, float], ...]:
        """What differs from the usual, with its value."""
        return tuple((f, v) for f in fields_of(Assumptions) if (v := getattr(self, f.name)) != f.default)

    def said(self) -> str:
        """What was changed, in one sentence; empty where nothing was."""
        each = "; ".join(f"{f.label[0].lower()}{f.label[1:]}: {v:g}, usually {f.default:g}" for f, v in self.changed())
        return f"Assumptions changed for this visit: {each}." if each else ""


USUAL = Assumptions()
# A length without a stated tolerance is paced off or taken from a plan: a tenth, either way; common practice, no source.
LENGTH_TOLERANCE = 0.10
