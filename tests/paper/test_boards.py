"""What the paper says of boards, main switches, separate residual current devices and codes; and what of it is missing."""

from __future__ import annotations

import json
import re
import tomllib
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.boards import board_schedule
from earthwright.paper.circuits import DETAILS
from earthwright.paper.documents import page_of
from earthwright.paper.requirements import groups_of, missing_fields
from earthwright.report.record import as_text, json_schema
from earthwright.visitbook import read_text

COMPLETE = (Path(__file__).parent / "complete.toml").read_text(encoding="utf-8")
OLD_ORIGIN = re.compile(r"^switch_\w+ = .*\n", re.MULTILINE)
FREE = 'main_switch = "100 A double-pole isolator"\nspd = "type 2, indicator good"\n'
RCD = '[board.rcd]\nstandard = "BS EN 61008"\nrating_a = 80\nrcd_type = "A"\nrcd_ma = 100\nrcd_delay = "S"\n'
SWITCH = '[board.switch]\nkind = "switch"\nstandard = "BS EN 60947-3"\npoles = 2\nrating_a = 100\nrated_v = 230\n'
AS_RCD = '[board.switch]\nkind = "residual current device"\npoles = 2\nrated_v = 230\n' + RCD


def judged(text: str) -> Assessment:
    book = read_text(text)
    assert book.visit is not None
    errors = [f.sentence() for f in book.findings if f.severity.value == "error"]
    assert errors == []
    return assess(book.visit, found=book.findings, broken=book.broken)


def facts(a: Assessment, board: int = 0) -> dict[str, str]:
    return {label: value for label, value, _ in board_schedule(a, a.boards[board]).facts}


def details(a: Assessment, circuit: str, board: int = 0) -> dict[str, str]:
    row = next(r for r in board_schedule(a, a.boards[board]).details if r[0] == circuit)
    return dict(zip([head for head, *_ in DETAILS], row, strict=True))


def particulars(a: Assessment, title: str) -> dict[str, str]:
    return {f.label: f.value for g in groups_of(a, "condition report") if g.title == title for f in g.fields}


def missing(a: Assessment, document: str = "condition report") -> list[str]:
    return [m.what for m in missing_fields(a, document) if not m.what.startswith("Signature")]


# ---- books of earlier days ----


def test_words_of_an_earlier_book_are_printed_as_they_were_and_nothing_new_is_asked() -> None:
    a = judged(COMPLETE)
    assert missing(a) == []
    assert facts(a)["Main switch"] == "100 A double-pole isolator"
    assert facts(a)["Surge protection"] == "type 2, indicator good"
    assert facts(a)["Live conductors"] == "1-phase, 2-wire, AC"
    assert details(a, "1")["Wiring"] == "flat twin with cpc"
    assert details(a, "1")["Ref. method"] == "C"
    at_origin = particulars(a, "Installation at its origin")
    assert at_origin["Main switch, place"] == "main board"
    assert at_origin["Residual current device as main switch"] == "none"
    assert "Time of that device at IΔn" not in at_origin


# ---- main switch ----


def test_the_main_switch_of_the_only_board_at_the_origin_is_that_of_the_installation() -> None:
    a = judged(OLD_ORIGIN.sub("", COMPLETE).replace(FREE, 'spd_type = "2"\n' + SWITCH))
    assert missing(a) == []
    found = particulars(a, "Installation at its origin")
    assert [found[k] for k in ("Main switch, place", "Kind", "Standard", "Poles", "Rated current", "Rated voltage")] == [
        "hall cupboard", "switch", "BS EN 60947-3", "2", "100 A", "230 V",
    ]  # fmt: skip
    assert found["Residual current device as main switch"] == "none"
    assert facts(a)["Main switch"] == "switch, BS EN 60947-3, two poles, 100 A, 230 V"


def test_what_the_origin_says_of_the_main_switch_comes_first() -> None:
    a = judged(COMPLETE.replace(FREE, 'spd_type = "2"\n' + SWITCH.replace("100", "80")))
    assert particulars(a, "Installation at its origin")["Rated current"] == "100 A"
    other = judged(COMPLETE.replace(FREE, 'spd_type = "2"\n' + SWITCH.replace("60947-3", "60947-2")))
    assert particulars(other, "Installation at its origin")["Standard"] == "BS EN 60947-3"
    assert "80 A" in facts(a)["Main switch"]


def test_a_main_switch_elsewhere_takes_nothing_from_the_board() -> None:
    text = OLD_ORIGIN.sub("", COMPLETE).replace("[origin]\n", '[origin]\nswitch_where = "meter cupboard"\n')
    a = judged(text.replace(FREE, 'spd_type = "2"\n' + SWITCH))
    found = particulars(a, "Installation at its origin")
    assert (found["Main switch, place"], found["Standard"], found["Rated current"]) == ("meter cupboard", "", "")
    same = judged(text.replace(FREE, 'spd_type = "2"\n' + SWITCH).replace("meter cupboard", "Hall Cupboard"))
    assert particulars(same, "Installation at its origin")["Rated current"] == "100 A"


def test_each_blank_of_the_main_switch_is_missing_by_its_place() -> None:
    a = judged(OLD_ORIGIN.sub("", COMPLETE).replace(FREE, 'spd_type = "2"\n[board.switch]\nfuse_a = 100\n'))
    assert missing(a) == [
        f"Installation at its origin: {x}"
        for x in ("Standard", "Poles", "Rated current", "Rated voltage", "Residual current device as main switch")
    ]
    places = [m.at.said() for m in missing_fields(a, "condition report")]
    assert "[origin] switch_a or [[board]] db1 switch.rating_a" in places


def test_two_boards_at_the_origin_have_no_main_switch_in_common() -> None:
    more = SWITCH + '[[board]]\nid = "db2"\n'
    a = judged(OLD_ORIGIN.sub("", COMPLETE).replace(FREE, 'spd_type = "2"\n' + more))
    assert "Installation at its origin: Standard" in missing(a)


def test_a_residual_current_device_as_main_switch_is_printed_with_its_measured_time() -> None:
    text = OLD_ORIGIN.sub("", COMPLETE).replace(FREE, 'spd_type = "2"\nmain_switch = "renewed in 2015"\n' + AS_RCD)
    a = judged(text)
    found = particulars(a, "Installation at its origin")
    assert (found["Standard"], found["Rated current"]) == ("BS EN 61008", "80 A")
    assert found["Residual current device as main switch"] == "type A"
    assert found["Rated residual current IΔn"] == "100 mA"
    assert found["Delay of that device"] == "S"
    assert missing(a) == [
        "Installation at its origin: Time of that device at IΔn",
        "Main board: RCD time at IΔn",
        "Main board: RCD button",
    ]
    a = judged(text + '[[step]]\nof = "db1"\ntests = { "rcd x1" = [210, 215], "rcd button" = "good" }\n')
    assert missing(a) == []
    assert particulars(a, "Installation at its origin")["Time of that device at IΔn"] == "215 ms"
    assert facts(a)["RCD time at IΔn"] == "215 ms"
    assert facts(a)["Main switch"] == "residual current device, BS EN 61008, two poles, 80 A, 230 V; renewed in 2015"
    assert facts(a)["Residual current device"] == "BS EN 61008, 80 A, RCD type A, 100 mA, S"
    a = judged(text + '[[step]]\nread = "rcd"\nof = "db1"\nabsent = "LIM"\nnote = "alarm fed from it"\n')
    assert facts(a)["RCD time at IΔn"] == "LIM: alarm fed from it"


def test_a_residual_current_device_at_the_origin_outside_a_board_has_its_time_there() -> None:
    coded = 'switch_rcd_type = "A"\nswitch_rcd_ma = 100\nswitch_rcd_delay = "150 ms"'
    text = COMPLETE.replace('switch_rcd = "none"', coded)
    assert missing(judged(text)) == ["Installation at its origin: Time of that device at IΔn"]
    a = judged(text + '[[step]]\nread = "rcd"\nof = "origin"\nmethod = "x1"\nshown = 180\n')
    found = particulars(a, "Installation at its origin")
    assert found["Residual current device as main switch"] == "type A"
    assert (found["Delay of that device"], found["Time of that device at IΔn"]) == ("150 ms", "180 ms")
    assert missing(a) == []


def test_words_about_that_device_are_printed_as_before() -> None:
    a = judged(COMPLETE.replace('switch_rcd = "none"', 'switch_rcd = "type A, 100 mA, S, 210 ms"'))
    assert particulars(a, "Installation at its origin")["Residual current device as main switch"] == (
        "type A, 100 mA, S, 210 ms"
    )
    assert missing(a) == []


# ---- a separate device, codes ----

SEPARATE = """
[[circuit]]
id = "9"
board = "db1"
name = "Garage"
device = "BS EN 60898 B32"
rcd_standard = "BS EN 61008"
rcd_rating_a = 63
rcd_type = "A"
rcd_ma = 30
rcd_delay = "S"
wiring = "F"
cable = "jointed in the hall"
reference = "D"
line_mm2 = 6
cpc_mm2 = 6
length_m = 20
"""


def with_circuit(text: str) -> Assessment:
    return judged(COMPLETE.replace("[[step]]", text + "\n[[step]]", 1))


def test_a_separate_device_is_printed_with_its_own_standard_and_rating() -> None:
    a = with_circuit(SEPARATE)
    row = details(a, "9")
    assert (row["Device, standard"], row["In A"]) == ("BS EN 60898", "32")
    assert [row[k] for k in ("RCD, standard", "RCD type", "RCD In A", "IΔn mA")] == ["BS EN 61008", "A S", "63", "30"]
    assert (row["Wiring"], row["Ref. method"]) == ("F: jointed in the hall", "D")
    codes = board_schedule(a, a.boards[0]).codes
    assert codes == (
        "Wiring: F thermoplastic cable with steel-wire armour",
        "Reference method: C fixed straight to a surface; D in the ground",
    )
    page = page_of(a, "condition report")
    assert page["schedules"][0]["codes"] == list(codes)  # type: ignore[index]
    assert "memory" in str(page["codes_note"])


def test_one_device_for_both_says_its_standard_once() -> None:
    row = details(judged(COMPLETE), "1")
    assert [row[k] for k in ("RCD, standard", "RCD type", "RCD In A", "IΔn mA")] == ["same", "A", "same", "30"]


def test_a_device_whose_standard_is_not_both_lacks_that_of_its_residual_current_device() -> None:
    text = SEPARATE.replace('rcd_standard = "BS EN 61008"\nrcd_rating_a = 63\n', "")
    row = details(with_circuit(text), "9")
    assert [row[k] for k in ("RCD, standard", "RCD type", "RCD In A", "IΔn mA")] == ["", "A S", "", "30"]
    lacks = [m for m in missing(with_circuit(text), "installation certificate") if "circuit 9" in m]
    assert "Main board, circuit 9: standard of the residual current device" in lacks
    assert "Main board, circuit 9: rated current of the residual current device" in lacks


def test_the_type_alone_asks_for_the_rest_and_for_its_tests() -> None:
    text = re.sub(r"rcd_(ma|standard|rating_a|delay).*\n", "", SEPARATE)
    lacks = [m for m in missing(with_circuit(text), "installation certificate") if "circuit 9" in m]
    assert "Main board, circuit 9: rated residual current" in lacks
    assert "Main board, circuit 9: RCD time" in lacks


def test_a_circuit_without_a_device_of_its_own_points_to_the_boards() -> None:
    bare = '[[circuit]]\nid = "9"\nboard = "db1"\ndevice = "BS EN 60898 B6"\n'
    row = details(judged(COMPLETE.replace("[[step]]", bare + "[[step]]", 1)), "9")
    assert [row[k] for k in ("RCD, standard", "RCD type", "RCD In A", "IΔn mA")] == ["–"] * 4
    a = judged(COMPLETE.replace(FREE, FREE + RCD).replace("[[step]]", bare + "[[step]]", 1))
    assert [details(a, "9")[k] for k in ("RCD, standard", "RCD type", "RCD In A", "IΔn mA")] == ["board", "–", "–", "–"]


@pytest.mark.parametrize(
    ("typed", "wiring", "method"),
    [
        ("wiring = 'A'\nreference = '101'", "A", "101"),
        ("cable = 'singles'\nmethod = 'in the duct'", "singles", "in the duct"),
        ("wiring = 'B'\ncable = 'singles'\nreference = 'B'\nmethod = 'painted'", "B: singles", "B: painted"),
        ("wiring = 'O'", "", ""),
        ("wiring = 'O'\ncable = 'busbar'\nmethod = 'G'", "O: busbar", "G"),
    ],
)
def test_codes_and_words_stand_in_one_place(typed: str, wiring: str, method: str) -> None:
    a = with_circuit(f"[[circuit]]\nid = '9'\nboard = 'db1'\n{typed}\n")
    assert (details(a, "9")["Wiring"], details(a, "9")["Ref. method"]) == (wiring, method)


def test_minor_works_say_what_a_code_means_because_no_legend_stands_there() -> None:
    text = COMPLETE.replace('cable = "flat twin with cpc"\nmethod = "C"', 'wiring = "A"\nreference = "C"', 1)
    said = {f.label: f.value for g in groups_of(judged(text), "minor works certificate") for f in g.fields}
    assert said["Wiring"] == "A (thermoplastic cable with a sheath of its own)"
    assert said["Reference method"] == "C (fixed straight to a surface)"
    assert said["Residual current device"] == "type A, 30 mA"


# ---- the supply of a board ----

THREE = COMPLETE.replace('system = "TN-C-S"', 'system = "TN-C-S"\nphases = 3').replace(
    'live = "1-phase, 2-wire"', 'live = "3L+N"'
)


def test_a_board_says_its_live_conductors_where_it_has_other_phases_than_the_supply() -> None:
    a = judged(THREE)
    assert missing(a) == ["Main board: Live conductors"]
    assert facts(a)["Nominal voltage"] == "230 V to earth, 50 Hz"
    a = judged(THREE.replace("[[board]]\n", '[[board]]\nlive = "L+N"\n'))
    assert missing(a) == []
    assert facts(a)["Live conductors"] == "one line and neutral, 2 conductors, AC"
    a = judged(THREE.replace("[[board]]\n", "[[board]]\nphases = 3\n"))
    assert facts(a)["Live conductors"] == "three lines and neutral, 4 conductors, AC"
    assert facts(a)["Nominal voltage"] == "230 V to earth, 400 V between lines, 50 Hz"


def test_live_conductors_of_three_phases_do_not_come_down_to_a_board_with_one() -> None:
    text = THREE.replace("[[board]]\n", '[[board]]\nlive = "3L"\n')
    more = '[[board]]\nid = "db2"\nfed_by = "9"\n{}[[circuit]]\nid = "9"\nboard = "db1"\nphases = 3\n'
    assert facts(judged(text.replace("[[step]]", more.format("") + "\n[[step]]", 1)), 1)["Live conductors"] == ""
    three = judged(text.replace("[[step]]", more.format("phases = 3\n") + "\n[[step]]", 1))
    assert facts(three, 1)["Live conductors"] == "three lines, 3 conductors, AC"


def under(first: str, second: str, supply: str = "") -> Assessment:
    """A board below another, each with what it says of its supply."""
    text = COMPLETE.replace("[supply]\n", "[supply]\n" + supply).replace("[[board]]\n", "[[board]]\n" + first)
    more = f'[[board]]\nid = "db2"\nfed_by = "9"\n{second}[[circuit]]\nid = "9"\nboard = "db1"\n'
    return judged(text.replace("[[step]]", more + "\n[[step]]", 1))


def test_a_board_has_what_feeds_it_unless_it_says_otherwise() -> None:
    assert facts(under("", ""), 1)["Live conductors"] == "1-phase, 2-wire, AC"
    assert facts(under("live = 'L+L'\n", ""), 1)["Live conductors"] == "two lines, 2 conductors, AC"
    assert (
        facts(under("u0_v = 55\nu_v = 110\n", ""), 1)["Nominal voltage"] == "55 V to earth, 110 V between lines, 50 Hz"
    )
    assert facts(under("u0_v = 55\nu_v = 110\n", "u0_v = 230\n"), 1)["Nominal voltage"] == "230 V to earth, 50 Hz"
    assert facts(under("frequency_hz = 60\n", ""), 1)["Nominal voltage"] == "230 V to earth, 60 Hz"
    assert facts(under("", "", "u_v = 230\n"), 1)["Nominal voltage"] == "230 V to earth, 230 V between lines, 50 Hz"
    a = under("live = 'L+N'\n", "", "u_v = 230\n")
    assert facts(a)["Nominal voltage"] == "230 V to earth, 230 V between line and neutral, 50 Hz"


def test_no_voltage_of_an_ac_supply_comes_down_to_direct_current() -> None:
    assert facts(under("", "current = 'DC'\n"), 1)["Nominal voltage"] == ""
    assert "db2: Nominal voltage" in missing(under("", "current = 'DC'\n"))
    a = under("", "live = '2P'\nu0_v = 24\nu_v = 48\n")
    assert facts(a, 1)["Nominal voltage"] == "24 V to earth, 48 V between poles, direct current"
    assert facts(a, 1)["Live conductors"] == "two poles, 2 conductors, DC"
    assert facts(under("current = 'DC'\nu0_v = 24\n", ""), 1)["Nominal voltage"] == "24 V to earth, direct current"


def test_no_limit_of_another_voltage_or_current_is_printed_in_a_row() -> None:
    """BS 7671 table 41.1, final circuits in TN: 0.4 s at 230 V AC; 0.8 s from 50 V to 120 V AC; direct current apart."""
    as_supply = details(judged(COMPLETE), "1")
    assert (as_supply["Longest time to disconnect s"], as_supply["Highest Zs Ω"]) == ("0.4", "2.19")
    other = details(judged(COMPLETE.replace("[[board]]\n", "[[board]]\nu0_v = 110\n")), "1")
    assert (other["Longest time to disconnect s"], other["Highest Zs Ω"]) == ("0.8", "no rule")
    direct = details(judged(COMPLETE.replace("[[board]]\n", "[[board]]\ncurrent = 'DC'\nu0_v = 230\n")), "1")
    assert direct["Highest Zs Ω"] == "no rule"
    unknown = details(judged(COMPLETE.replace("[[board]]\n", "[[board]]\ncurrent = 'DC'\n")), "1")
    assert unknown["Longest time to disconnect s"] == ""


def test_the_supply_says_both_voltages_and_no_frequency_of_direct_current() -> None:
    said = particulars(judged(COMPLETE), "Supply")
    assert said["Nominal voltage to earth, U0"] == "230 V"
    assert said["Nominal voltage between lines, U"] == "230 V, line and neutral"
    assert particulars(judged(THREE), "Supply")["Nominal voltage between lines, U"] == "400 V"
    typed = COMPLETE.replace("[supply]\n", "[supply]\nu_v = 240\n")
    assert particulars(judged(typed), "Supply")["Nominal voltage between lines, U"] == "240 V"
    split = judged(COMPLETE.replace('live = "1-phase, 2-wire"', 'live = "2L+N"'))
    assert missing(split) == ["Supply: Nominal voltage between lines, U"]
    direct = judged(COMPLETE.replace('live = "1-phase, 2-wire"\ncurrent = "AC"', 'live = "2P"'))
    said = particulars(direct, "Supply")
    assert (said["Kind of current"], said["Frequency"]) == ("DC", "N/A, direct current")
    assert said["Nominal voltage between lines, U"] == ""


def test_the_kind_of_current_follows_from_the_code_and_is_not_typed_again() -> None:
    a = judged(COMPLETE.replace('live = "1-phase, 2-wire"\ncurrent = "AC"', 'live = "L+N"'))
    assert particulars(a, "Supply")["Kind of current"] == "AC"
    assert facts(a)["Live conductors"] == "one line and neutral, 2 conductors, AC"
    assert missing(a) == []


# ---- the rest of the head of a schedule ----


@pytest.mark.parametrize(
    ("entered", "looked", "said"),
    [
        ('spd_type = "1+2"\n', "good", "type 1 and 2 in one, its indicator is good"),
        ('spd_type = "2"\nspd = "in its own box"\n', "bad", "type 2, in its own box, its indicator is BAD"),
        ('spd_type = "none"\nspd = "none"\n', "", "none"),
        ("", "", ""),
    ],
)
def test_surge_protection_has_a_type_and_its_indicator_is_a_look_of_the_day(
    entered: str, looked: str, said: str
) -> None:
    look = f'[[step]]\nread = "functional"\nof = "db1"\npoint = "SPD"\noutcome = "{looked}"\n' if looked else ""
    a = judged(COMPLETE.replace('spd = "type 2, indicator good"\n', entered) + look)
    assert facts(a)["Surge protection"] == said


def test_a_board_says_what_feeds_it_who_tested_it_and_when() -> None:
    found = facts(judged(COMPLETE))
    assert found["Device that feeds it"] == "supply device: BS 88-3 gG 80 A"
    assert found["Tested by, on"] == "J. Example, 20 November 2026"
    a = with_circuit(SEPARATE + '[[board]]\nid = "db2"\nfed_by = "9"\n')
    assert facts(a, 1)["Device that feeds it"] == "BS EN 60898, B 32 A, RCD BS EN 61008 63 A, type A, 30 mA, S"


def test_a_residual_current_device_at_the_origin_stands_with_what_feeds_the_board() -> None:
    coded = 'switch_rcd_type = "A"\nswitch_rcd_ma = 100\nswitch_rcd_delay = "none"'
    found = facts(judged(COMPLETE.replace('switch_rcd = "none"', coded)))
    assert found["Device that feeds it"] == "supply device: BS 88-3 gG 80 A; RCD type A, 100 mA"


# ---- electrodes ----

ROD = """
[[electrode]]
id = "{0}"
where = "{1}"
[[step]]
off = "{0}"
[[step]]
read = "electrode"
of = "{0}"
method = "{2}"
shown = {3}
[[step]]
on = "{0}"
"""


def electrodes(*rods: tuple[str, str, str, float]) -> dict[str, str]:
    text = COMPLETE.replace('earthing = "distributor"', 'earthing = "electrode"')
    return particulars(judged(text + "".join(ROD.format(*r) for r in rods)), "Installation at its origin")


def test_every_electrode_is_printed_with_its_place_and_resistance() -> None:
    one = electrodes(("rod", "garden", "rod alone", 142))
    assert (one["Electrode, kind"], one["Electrode, place"], one["Electrode, resistance"]) == ("rod", "garden", "142 Ω")
    two = electrodes(("a", "garden", "rod alone", 142), ("b", "yard", "rod alone", 96.5))
    assert two["Electrode, place"] == "a: garden; b: yard"
    assert two["Electrode, resistance"] == "a: 142 Ω; b: 96.5 Ω"
    assert electrodes(("a", "garden", "rod alone", 142), ("b", "", "rod alone", 96.5))["Electrode, place"] == ""


def test_a_reading_with_bonds_joined_is_not_printed_as_the_electrodes_own() -> None:
    said = electrodes(("rod", "garden", "with bonds", 3.2))["Electrode, resistance"]
    assert said == "3.2 Ω, with bonds: not the electrode by itself"
    more = ROD.partition("[[step]]")[2]
    text = COMPLETE.replace('earthing = "distributor"', 'earthing = "electrode"') + ROD.format(
        "rod", "garden", "rod alone", 142
    )
    a = judged(text + "[[step]]" + more.format("rod", "", "with bonds", 3.2))
    assert particulars(a, "Installation at its origin")["Electrode, resistance"] == "142 Ω"


# ---- the record as data ----


def test_the_record_with_every_new_field_follows_its_schema_and_keeps_them() -> None:
    text = OLD_ORIGIN.sub("", COMPLETE).replace(FREE, 'spd_type = "2"\nlive = "L+N"\nu_v = 230\n' + AS_RCD)
    a = judged(text.replace("[[step]]", SEPARATE + "\n[[step]]", 1))
    made = json.loads(as_text(a))
    jsonschema.Draft202012Validator(json_schema()).validate(made)
    board = made["visit"]["site"]["boards"][0]
    assert board["switch"] == {
        "is": "Switch", "kind": "residual current device", "standard": "", "poles": 2, "rating_a": None, "rated_v": 230,
        "fuse_a": None, "where": "",
    }  # fmt: skip
    assert (board["live"], board["current"], board["u_v"], board["spd_type"]) == ("L+N", "AC", 230, "2")
    circuit = next(c for c in made["visit"]["site"]["circuits"] if c["id"] == "9")
    assert (circuit["wiring"], circuit["reference"], circuit["device"]["rcd_rating_a"]) == ("F", "D", 63)
    made["visit"]["site"]["boards"][0]["switch"]["poles"] = "2"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(json_schema()).validate(made)


def test_the_visit_book_inside_a_document_reads_as_the_same_site() -> None:
    from earthwright.records.booktext import as_toml

    text = COMPLETE.replace(FREE, 'spd_type = "2"\n' + AS_RCD).replace("[[step]]", SEPARATE + "\n[[step]]", 1)
    again = as_toml(tomllib.loads(text, parse_float=Decimal))
    first, second = read_text(text).visit, read_text(again).visit
    assert first is not None
    assert second is not None
    assert second.site == first.site
