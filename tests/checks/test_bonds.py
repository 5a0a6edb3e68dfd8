"""Floors, zeros, drift, repeats and sums over bonds: each edge tried just inside and just outside.

10 mm² is 1.83 mΩ/m (IEC 60228); display ±(3 % + 2 digits of 0.01 Ω) unless entered.
"""

from __future__ import annotations

import pytest

from earthwright.assess import assess
from earthwright.site.events import Reading

from .made import bond, check, found, look, off, on, read, severities, visit


def conductor(name: str, shown: str) -> list:  # type: ignore[type-arg]
    return [off(name), read("conductor", name, shown), on(name), look(name)]


@pytest.mark.parametrize(
    ("shown", "family"),
    # 30 ± 0.5 m: 29.5 × 1.83 × 0.93 = 50.2 mΩ. (v + 25 mΩ)/0.97 reaches it from v = 23.7 mΩ on: 0.03 may be, 0.02 not.
    [("0.03", None), ("0.02", "copper.floor"), ("0.00", "copper.zero")],
)
def test_below_the_copper(shown: str, family: str | None) -> None:
    v = visit(*conductor("water", shown), bonds=(bond("water", 30.0),))
    for name in ("copper.floor", "copper.zero"):
        assert severities(v, name) == (["warning"] if name == family else [])


def test_zero_is_no_wonder_on_a_short_bond() -> None:
    # 10 ± 0.5 m: 16.2 mΩ, less than two and a half digits.
    v = visit(*conductor("water", "0.00"), bonds=(bond("water", 10.0),))
    assert severities(v, "copper.zero") == []


def test_together_may_be_lower_than_copper() -> None:
    v = visit(read("together", "water", "0.00"), bonds=(bond("water", 30.0),))
    assert severities(v, "copper.zero") == []


def test_the_finding_says_how_unlikely_and_begins_with_the_innocent() -> None:
    v = visit(*conductor("water", "0.00"), bonds=(bond("water", 30.0),))
    (f,) = found(v, "copper.zero")
    assert f.because.startswith("The clips may have touched each other")
    assert "less than 1 in a million" in f.because
    assert f.do


def test_too_much_nulled_over_two_bonds() -> None:
    # 30 m: at least 50 mΩ, 35 m: at least 59 mΩ; both show 0.00 and 0.01.
    v = visit(*conductor("water", "0.00"), *conductor("gas", "0.01"), bonds=(bond("water", 30.0), bond("gas", 35.0)))
    (f,) = found(v, "leads.too_much_nulled")
    assert f.severity.value == "warning"
    one = visit(*conductor("water", "0.00"), *conductor("gas", "0.08"), bonds=(bond("water", 30.0), bond("gas", 35.0)))
    assert found(one, "leads.too_much_nulled") == []


def test_a_common_offset_has_a_probability() -> None:
    v = visit(*conductor("water", "0.30"), *conductor("gas", "0.31"), bonds=(bond("water", 5.0), bond("gas", 20.0)))
    (f,) = found(v, "leads.offset")
    assert "If each bond had a fault of its own, this comes about by itself about 1 in" in f.because
    sound = visit(*conductor("water", "0.02"), *conductor("gas", "0.04"), bonds=(bond("water", 5.0), bond("gas", 20.0)))
    assert found(sound, "leads.offset") == []


@pytest.mark.parametrize(
    ("later", "said"),
    # From 0.60 Ω: 5 digits and 3 % of both allow 0.088 Ω upwards and 0.083 Ω downwards.
    [("0.68", False), ("0.69", True), ("0.51", True), ("0.52", False)],
)
def test_null_drift(later: str, said: bool) -> None:
    v = visit(
        check("shorted", "0.60"),
        *conductor("water", "0.63"),
        check("shorted", later),
        bonds=(bond("water", 10.0),),
        allowed="subtracted",
        lead_ohm=0.60,
    )
    assert severities(v, "leads.drift") == (["warning"] if said else [])


def test_a_nulled_set_that_is_suspect_is_said_once() -> None:
    v = visit(
        check("shorted", "0.00"), *conductor("water", "0.03"), check("shorted", "0.40"), bonds=(bond("water", 10.0),)
    )
    assert severities(v, "leads.drift") == []
    assert "error" in severities(v, "leads.suspect")


@pytest.mark.parametrize(
    ("second", "loud"),
    [("0.02", None), ("0.03", "note"), ("0.05", "note"), ("0.06", "warning")],  # 2 digits; 5 digits and 2 × 3 %
)
def test_repeats_of_a_joint(second: str, loud: str | None) -> None:
    v = visit(read("joint", "water", "0.00"), read("joint", "water", second), bonds=(bond("water", 10.0),))
    assert severities(v, "joint.unsteady") == ([loud] if loud else [])


def test_a_joint_that_was_mended_between_is_no_repeat() -> None:
    v = visit(
        read("joint", "water", "0.50"), look("water"), read("joint", "water", "0.00"), bonds=(bond("water", 10.0),)
    )
    assert severities(v, "joint.unsteady") == []


@pytest.mark.parametrize(
    ("second", "said"),
    [("0.55", False), ("0.59", True)],  # 0.50: 5 digits and 2 × 3 % of the mean allow 0.081 and 0.083
)
def test_forward_and_reverse(second: str, said: bool) -> None:
    pair = [read("joint", "water", "0.50", method="forward"), read("joint", "water", second, method="reverse")]
    v = visit(*pair, bonds=(bond("water", 10.0),))
    assert severities(v, "repeat.reversed") == (["warning"] if said else [])
    assert severities(v, "joint.unsteady") == []


@pytest.mark.parametrize(
    ("second", "said"),
    [("0.37", False), ("0.38", True)],  # from 0.30: 5 digits and 2 × 3 % of the mean allow 0.0701 and 0.0704
)
def test_repeats_of_together(second: str, said: bool) -> None:
    v = visit(read("together", "water", "0.30"), read("together", "water", second), bonds=(bond("water", 10.0),))
    assert severities(v, "repeat.spread") == (["warning"] if said else [])


@pytest.mark.parametrize(
    ("together", "said"),
    # c 0.05, p 0.05: c and p each 0.024 … 0.077, so together 0.012 … 0.039 is asked for; t reads (t ± 0.025).
    [("0.02", False), ("0.06", False), ("0.07", True)],
)
def test_three_readings_hang_together(together: str, said: bool) -> None:
    v = visit(
        off("water"), read("conductor", "water", "0.05"), read("path", "water", "0.05"), on("water"), read("together", "water", together),
        bonds=(bond("water", 27.0),),
    )  # fmt: skip
    assert severities(v, "sum.parallel") == (["warning"] if said else [])


def test_an_open_path_leaves_conductor_and_together_alike() -> None:
    def v(together: str):  # type: ignore[no-untyped-def]
        return visit(
            off("water"), read("conductor", "water", "0.05"), read("path", "water", "over-range"), on("water"),
            read("together", "water", together), bonds=(bond("water", 27.0),),
        )  # fmt: skip

    assert severities(v("0.05"), "sum.parallel") == []
    assert severities(v("0.15"), "sum.parallel") == ["warning"]


@pytest.mark.parametrize(("joint", "said"), [("0.05", False), ("0.07", True)])
def test_the_joint_is_part_of_the_conductor(joint: str, said: bool) -> None:
    # 10 m reads 0.02, at most (0.02 + 0.025)/0.97 = 0.046; copper at least 0.016, joint at least (0.07 − 0.025)/1.03 = 0.044.
    v = visit(read("joint", "water", joint), *conductor("water", "0.02"), bonds=(bond("water", 10.0),))
    assert severities(v, "joint.contradicts") == (["warning"] if said else [])


@pytest.mark.parametrize(("joint", "said"), [("0.00", False), ("0.07", True)])
def test_a_conductor_lower_than_its_copper_speaks_of_the_joint_only_where_that_is_higher_too(
    joint: str, said: bool
) -> None:
    # 28 m of 10 mm² is at least 0.047; 0.01 is at most (0.01 + 0.025)/0.97 = 0.036, and a joint of 0.07 at least 0.044.
    v = visit(read("joint", "water", joint), *conductor("water", "0.01"), bonds=(bond("water", 28.0),))
    assert severities(v, "joint.contradicts") == (["warning"] if said else [])


def test_a_limitation_in_place_of_a_reading_is_no_reading() -> None:
    absent = Reading(seq=0, id="", test="conductor", of="water", absent="LIM", note="no access")
    v = visit(absent, bonds=(bond("water", 10.0),))
    assert assess(v).bonds[0].readings == ()
