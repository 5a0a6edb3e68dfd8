"""Single sums on loops, devices, electrodes and the rest as a person types them; figures as printed elsewhere."""

from __future__ import annotations

import json
from typing import Any

import pytest
from click.testing import CliRunner, Result

from earthwright.cli import main

ON = ("--on", "2026-11-20")


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["bench", *arguments])


def values(*arguments: str) -> dict[str, Any]:
    done = run(*arguments, "--json")
    assert done.exit_code == 0, done.output
    found: dict[str, Any] = json.loads(done.output)
    assert {"what", "result", "formula", "source"} <= set(found)
    return found


BREAKER = ("--device", "BS EN 60898", *ON)


@pytest.mark.parametrize(
    ("arguments", "name", "expected", "half_digit"),
    [
        (("zs-limit", *BREAKER, "--type", "B", "--rating", "32"), "limit_ohm", 1.37, 0.005),
        (("zs-limit", *BREAKER, "--type", "B", "--rating", "32"), "cold_customary_ohm", 1.10, 0.005),
        (("zs-limit", *BREAKER, "--type", "D", "--rating", "63"), "limit_ohm", 0.17, 0.005),
        (("zs-limit", "--device", "BS 3036", "--rating", "30", *ON), "limit_ohm", 1.04, 0.005),
        (("disconnection", *BREAKER, "--type", "B", "--rating", "32", "--time", "0.4"), "current_a", 160, 0.5),
        (("allowed-time", "--system", "TT", *ON), "time_s", 0.2, 0.05),
        (("allowed-time", "--system", "TN-S", *ON), "time_s", 0.4, 0.05),
        (("allowed-time", "--system", "TN-S", "--distribution", *ON), "time_s", 5, 0.5),
        (("fault-current", "--loop", "0.08", "--voltage", "240", *ON), "current_a", 3000, 0.5),
        (("fault-current", "--loop", "0.03", *ON), "low_a", 6571, 0.5),
        (("fault-current", "--loop", "0.03", *ON), "high_a", 9200, 0.5),
        (("tt-limit", "--ma", "30", *ON), "limit_ohm", 1667, 0.5),
        (("tt-limit", "--ma", "100", "--ra", "1840", *ON), "touch_v", 184, 0.5),
        (("electrode", "--soil", "55", "--length", "3", "--diameter", "25"), "r_ohm", 17.12, 0.005),
        (("electrode", "--shape", "plate", "--soil", "100", "--area", "1"), "r_ohm", 44.3, 0.05),
        (("insulation", *("--circuit", "4") * 4, *ON), "board_mohm", 1, 0.005),
        (("ring", "--r1", "0.62", "--rn", "0.62"), "ln_ohm", 0.31, 0.005),
        (("supplementary", "--ma", "30", *ON), "limit_ohm", 1667, 0.5),
        (
            ("supplementary", "--device", "BS EN 60898", "--type", "B", "--rating", "32", *ON),
            "limit_ohm",
            0.3125,
            0.00005,
        ),
        (("supplementary", "--current", "160", *ON), "limit_ohm", 0.3125, 0.00005),
        (("lost-neutral", "--ra", "12", "--load", "7"), "met_v", 141, 0.5),
        (("lost-neutral", "--ra", "12", "--load", "7"), "load_v", 89, 0.5),
        (("stakes", "98", "100", "102"), "mean_ohm", 100, 0.5),
    ],
)
def test_sums_give_the_published_figures(
    arguments: tuple[str, ...], name: str, expected: float, half_digit: float
) -> None:
    assert values(*arguments)[name] == pytest.approx(expected, abs=half_digit)


def test_the_text_names_formula_source_and_day() -> None:
    done = run("zs-limit", *BREAKER, "--type", "B", "--rating", "32", "--ze", "0.17")
    assert done.exit_code == 0
    assert "1.37 Ω warm" in done.output
    assert "1.17 Ω by temperature" in done.output
    assert "c_min" in done.output
    assert "411.4" in done.output
    assert "rules of 2026-11-20" in done.output


def test_a_figure_from_memory_says_so() -> None:
    assert "from memory, check it" in run("rcd", "--ma", "30", *ON).output


def test_the_tests_of_a_residual_current_device_follow_the_day() -> None:
    assert [t["multiple"] for t in values("rcd", "--ma", "30", *ON)["tests"]] == [1.0]
    assert [t["multiple"] for t in values("rcd", "--ma", "30", "--on", "2021-05-03")["tests"]] == [0.5, 1.0, 5.0]
    selective = values("rcd", "--ma", "100", "--kind", "S", *ON)["tests"]
    assert (selective[0]["min_ms"], selective[0]["max_ms"]) == (130.0, 500.0)


def test_a_time_is_read_from_points_and_never_outside_them() -> None:
    fuse = ("disconnection", "--device", "BS 3036", "--rating", "30", "--curve", "87:5,200:0.4,350:0.1")
    assert values(*fuse, "--current", "235")["time_s"] == pytest.approx(0.27, abs=0.005)
    assert values(*fuse, "--time", "0.4")["current_a"] == pytest.approx(200, abs=0.5)
    assert values(*fuse, "--current", "200")["time_s"] == pytest.approx(0.4, abs=0.005)
    outside = run(*fuse, "--current", "400")
    assert outside.exit_code == 2
    assert "350 A" in outside.output


def test_voltage_drop_from_the_table_and_from_the_conductor() -> None:
    table = values(
        "voltage-drop",
        "--csa",
        "2.5",
        "--length",
        "30",
        "--current",
        "20",
        "--cable",
        "70 °C thermoplastic, two-core",
        *ON,
    )
    assert table["drop_v"] == pytest.approx(10.8, abs=0.05)
    assert table["meets"] is True
    own = values("voltage-drop", "--csa", "2.5", "--length", "30", "--current", "20", "--use", "lighting", *ON)
    assert own["drop_v"] == pytest.approx(2 * 7.41e-3 * 1.2 * 20 * 30, abs=0.005)
    assert own["meets"] is False


def test_the_electrode_of_a_strip_and_a_round_conductor() -> None:
    strip = values(
        "electrode", "--shape", "strip", "--soil", "100", "--length", "20", "--width", "25", "--depth", "0.6"
    )
    wire = values(
        "electrode", "--shape", "round", "--soil", "100", "--length", "20", "--diameter", "25", "--depth", "0.6"
    )
    # the shape terms differ by 0.3: 0.3 · ρ/(2πL)
    assert strip["r_ohm"] - wire["r_ohm"] == pytest.approx(0.3 * 100 / (2 * 3.14159265 * 20), abs=1e-6)
    assert "for planning only" in run("electrode", "--shape", "plate", "--soil", "100", "--area", "1").output


def test_who_pulls_a_board_down() -> None:
    found = values("insulation", "--circuit", "210", "--circuit", "180", "--circuit", "0.32", "--circuit", "55", *ON)
    assert found["culprits"] == [3]
    assert found["board_mohm"] == pytest.approx(0.317, abs=0.0005)
    assert "number 3 (0.32 MΩ)" in found["result"]


def test_stakes_that_disagree_are_to_be_repeated() -> None:
    assert values("stakes", "80", "100", "120")["agree"] is False
    assert "further away" in run("stakes", "80", "100", "120").output


def test_the_limit_of_a_tt_system_with_a_measured_electrode() -> None:
    assert "does not meet 1667 Ω: 55.2 V; above it" in run("tt-limit", "--ma", "30", "--ra", "1840", *ON).output
    assert "meets 1667 Ω" in run("tt-limit", "--ma", "30", "--ra", "1667", *ON).output


def test_a_loop_of_0_00_has_no_current_to_state() -> None:
    found = values("fault-current", "--loop", "0", *ON)
    assert found["current_a"] == "over-range"
    assert "too low a loop" in found["result"]


def test_a_ring_with_its_protective_conductor() -> None:
    assert values("ring", "--r1", "0.62", "--rn", "0.62", "--r2", "1.02")["le_ohm"] == pytest.approx(0.41, abs=0.0005)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("zs-limit", "--device", "BS 9999", "--rating", "32", *ON), "no data for devices to 'BS 9999'"),
        (("zs-limit", *BREAKER, "--type", "B", "--rating", "-1"), "more than 0"),
        (("disconnection", *BREAKER, "--rating", "32"), "Give --time or --current"),
        (("disconnection", *BREAKER, "--rating", "32", "--current", "160"), "--curve"),
        (("disconnection", *BREAKER, "--rating", "32", "--current", "160", "--curve", "87"), "expected A:s"),
        (("disconnection", *BREAKER, "--rating", "32", "--current", "160", "--curve", "a:b"), "expected A:s"),
        (("electrode", "--soil", "100", "--length", "3"), "A rod needs --diameter"),
        (("supplementary", *ON), "Give one of"),
        (("supplementary", "--device", "BS 3036", *ON), "needs --rating"),
        (("tt-limit", "--ma", "0", *ON), "no row"),
        (("allowed-time", "--system", "TN-S", "--u0", "40", *ON), "no row"),
        (("rcd", "--ma", "30", "--kind", "BS 4293", "--set", "single", *ON), "BS 4293"),
        (("zs-limit", *BREAKER, "--rating", "32", "--type", "B", "--ze", "5"), "at most the limit"),
    ],
)
def test_what_cannot_be_worked_out_is_one_line_and_exit_code_2(arguments: tuple[str, ...], said: str) -> None:
    done = run(*arguments)
    assert done.exit_code == 2
    assert said in done.output
    assert "Traceback" not in done.output
