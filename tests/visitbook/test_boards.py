"""Fields of boards, main switches, separate residual current devices and codes: each has one place, bad input is told there."""

from __future__ import annotations

import pytest

from earthwright.base.errors import Severity
from earthwright.site.codes import LIVE, METHODS, WIRING, live_words
from earthwright.site.installation import Board, Circuit, Device, Supply, Switch
from earthwright.visitbook import ReadBook, read_tables, read_text

HEAD = '[visit]\nplace = "x"\ndate = 2026-11-20\n'
BOARD = HEAD + "[[board]]\nid = 'db1'\n"
CIRCUIT = BOARD + "[[circuit]]\nid = 'c'\n"
RCD = "[board.rcd]\nrcd_type = 'A'\nrcd_ma = 100\nstandard = 'BS EN 61008'\nrating_a = 80\n"


def places(book: ReadBook, severity: Severity = Severity.ERROR) -> list[str]:
    return [f.where for f in book.findings if f.severity is severity]


def board(text: str) -> Board:
    book = read_text(text)
    assert places(book) == [], [f.sentence() for f in book.findings]
    assert book.visit is not None
    return book.visit.site.boards[0]


def circuit(text: str) -> Circuit:
    book = read_text(text)
    assert book.findings == (), [f.sentence() for f in book.findings]
    assert book.visit is not None
    return book.visit.site.circuits[0]


# ---- what was there before reads as before ----


def test_a_board_of_an_earlier_book_reads_as_it_did() -> None:
    text = BOARD + "main_switch = '100 A, two-pole'\nspd = 'type 2'\n"
    assert board(text) == Board("db1", main_switch="100 A, two-pole", spd="type 2")
    old = circuit(CIRCUIT + "cable = 'flat twin'\nmethod = 'C'\nrcd_type = 'A'\nrcd_ma = 30\nrcd_delay = 'S'\n")
    assert old.device == Device(rcd_type="A", rcd_ma=30, rcd_delay="S")
    assert (old.cable, old.method, old.wiring, old.reference) == ("flat twin", "C", "", "")


def test_every_new_value_is_absent_until_it_is_entered() -> None:
    assert (Supply().u_v, Device().rcd_standard, Device().rcd_rating_a) == (None, "", None)
    b = board(BOARD)
    assert (b.switch, b.spd_type, b.current, b.live, b.u0_v, b.u_v, b.frequency_hz) == (
        None,
        "",
        "",
        "",
        None,
        None,
        None,
    )


# ---- main switch ----


def test_a_main_switch_has_a_field_for_each_thing() -> None:
    text = BOARD + (
        "[board.switch]\nkind = 'switch'\nstandard = 'BS EN 60947-3'\npoles = 2\nrating_a = 100\nrated_v = 230\n"
        "fuse_a = 80\nwhere = 'meter cupboard'\n"
    )
    assert board(text).switch == Switch("switch", "BS EN 60947-3", 2, 100, 230, 80, "meter cupboard")


def test_words_about_the_main_switch_may_stand_beside_its_fields() -> None:
    b = board(BOARD + "main_switch = 'put in in 2015'\n[board.switch]\npoles = 2\n")
    assert (b.main_switch, b.switch) == ("put in in 2015", Switch(poles=2))


def test_a_residual_current_device_as_main_switch_is_the_boards_own_and_said_once() -> None:
    switch = "[board.switch]\nkind = 'residual current device'\npoles = 2\n"
    b = board(BOARD + switch + RCD)
    assert b.switch == Switch("residual current device", poles=2)
    assert b.rcd == Device("BS EN 61008", rating_a=80, rcd_type="A", rcd_ma=100)
    assert places(read_text(BOARD + switch)) == ["board db1: switch: kind"]
    for key, value in (("standard", "'BS EN 61008'"), ("rating_a", "80")):
        told = read_text(BOARD + switch + f"{key} = {value}\n" + RCD)
        assert places(told) == [f"board db1: switch: {key}"]
        assert told.visit is not None
        assert [(u.of, u.key) for u in told.visit.unread] == [("db1", "switch")]


@pytest.mark.parametrize("key", ["rcd_standard", "rcd_rating_a"])
def test_the_device_of_a_board_is_not_called_separate(key: str) -> None:
    value = "'BS EN 61008'" if key == "rcd_standard" else "80"
    assert places(read_text(BOARD + f"[board.rcd]\nrcd_ma = 30\n{key} = {value}\n")) == [f"board db1: rcd: {key}"]


BAD_NUMBERS = ("true", "''", "'100'", "'100 A'", "inf", "-inf", "nan", "-1", "0", "1e300", "[]", "{ }", "2026-11-20")
BAD_TEXTS = ("true", "1", "[]", "{ }", "2026-11-20", "'" + "9" * 2001 + "'")
BAD_CODES = ("true", "''", "'Z'", "'a'", "-1", "inf", "[]", "1.5", "2026-11-20")


@pytest.mark.parametrize("typed", BAD_NUMBERS)
@pytest.mark.parametrize("key", ["rating_a", "rated_v", "fuse_a", "poles"])
def test_a_bad_number_of_a_main_switch_is_told_at_its_place(key: str, typed: str) -> None:
    book = read_text(BOARD + f"[board.switch]\nkind = 'switch'\n{key} = {typed}\n")
    assert places(book) == [f"board db1: switch: {key}"]
    assert book.visit is not None
    assert [(u.of, u.key) for u in book.visit.unread] == [("db1", "switch")]
    assert book.broken == ()


@pytest.mark.parametrize("typed", ["5", "1.5", "2.0"])
def test_a_switch_has_one_to_four_poles(typed: str) -> None:
    assert places(read_text(BOARD + f"[board.switch]\npoles = {typed}\n")) == ["board db1: switch: poles"]


@pytest.mark.parametrize("typed", BAD_TEXTS)
@pytest.mark.parametrize("key", ["standard", "where"])
def test_a_bad_text_of_a_main_switch_is_told_at_its_place(key: str, typed: str) -> None:
    assert places(read_text(BOARD + f"[board.switch]\npoles = 2\n{key} = {typed}\n")) == [f"board db1: switch: {key}"]


@pytest.mark.parametrize(
    ("typed", "where"),
    [
        ("switch = { }", "board db1: switch"),
        ("switch = 'isolator'", "board db1: switch"),
        ("switch = true", "board db1: switch"),
        ("switch = { kind = 'isolator' }", "board db1: switch: kind"),
        ("switch = { ka = 6 }", "board db1: switch: ka"),
        ("switch = { rating_A = 6 }", "board db1: switch: rating_A"),
    ],
)
def test_what_is_no_main_switch_is_refused(typed: str, where: str) -> None:
    book = read_text(BOARD + typed + "\n")
    assert where in places(book)
    assert book.visit is not None
    assert [(u.of, u.key) for u in book.visit.unread] == [("db1", "switch")]
    assert book.broken == ()


# ---- kind of supply of a board ----


@pytest.mark.parametrize("code", LIVE)
def test_a_code_of_live_conductors_says_current_and_phases_too(code: str) -> None:
    supply = "[supply]\nphases = 3\n"
    b = board(HEAD + supply + f"[[board]]\nid = 'db1'\nlive = '{code}'\n")
    assert (b.live, b.current, b.phases) == (code, LIVE[code].current, LIVE[code].phases)
    other = "DC" if LIVE[code].current == "AC" else "AC"
    told = read_text(HEAD + supply + f"[[board]]\nid = 'db1'\nlive = '{code}'\ncurrent = '{other}'\n")
    assert places(told) == ["board db1: current"]
    phases = 4 - LIVE[code].phases
    told = read_text(HEAD + supply + f"[[board]]\nid = 'db1'\nlive = '{code}'\nphases = {phases}\n")
    assert places(told) == ["board db1: phases"]


def test_three_lines_need_a_supply_that_has_them() -> None:
    assert places(read_text("[supply]\nphases = 1\n" + BOARD + "live = '3L+N'\n")) == ["board db1: phases"]


def test_a_supply_whose_phases_nobody_said_is_one_question_and_no_error() -> None:
    """271 rows of three-phase circuits once brought 271 errors."""
    many = "".join(f"[[circuit]]\nid = 'c{i}'\nboard = 'db2'\nphases = 3\n" for i in range(20))
    book = read_text(BOARD + "phases = 3\n[[board]]\nid = 'db2'\n" + many)
    assert [(f.where, f.severity) for f in book.findings] == [("supply: phases", Severity.WARNING)]
    assert book.visit is not None
    assert (book.visit.site.supply.phases, [b.phases for b in book.visit.site.boards]) == (3, [3, 3])
    assert len(book.visit.site.circuits) == 20


def test_live_conductors_in_words() -> None:
    assert live_words("3L+N") == "three lines and neutral, 4 conductors"
    assert live_words("1-phase, 2-wire") == "1-phase, 2-wire"
    assert live_words("") == ""
    assert all(
        live.count == len(code.replace("3L", "LLL").replace("2L", "LL").replace("2P", "PP").replace("+", ""))
        for code, live in LIVE.items()
    )


@pytest.mark.parametrize("typed", BAD_CODES)
@pytest.mark.parametrize("key", ["live", "current", "spd_type"])
def test_a_bad_code_of_a_board_is_told_at_its_place(key: str, typed: str) -> None:
    assert places(read_text(BOARD + f"{key} = {typed}\n")) == [f"board db1: {key}"]


@pytest.mark.parametrize("typed", BAD_NUMBERS)
@pytest.mark.parametrize("key", ["u0_v", "u_v", "frequency_hz"])
def test_a_bad_voltage_or_frequency_is_told_at_its_place(key: str, typed: str) -> None:
    assert places(read_text(BOARD + f"{key} = {typed}\n")) == [f"board db1: {key}"]
    assert places(read_text(HEAD + f"[supply]\n{key} = {typed}\n")) == [f"supply: {key}"]


def test_between_lines_there_is_no_less_than_to_earth() -> None:
    assert places(read_text(BOARD + "u0_v = 230\nu_v = 229.9\n")) == ["board db1: u_v"]
    assert places(read_text(BOARD + "u0_v = 230\nu_v = 230\n")) == []
    assert places(read_text(HEAD + "[supply]\nu_v = 229\n")) == ["supply: u_v"]
    assert places(read_text(HEAD + "[supply]\nu0_v = 63.5\nu_v = 110\n")) == []


def test_direct_current_has_no_frequency_and_is_not_judged_in_silence() -> None:
    assert places(read_text(BOARD + "current = 'DC'\nfrequency_hz = 50\n")) == ["board db1: frequency_hz"]
    book = read_text(BOARD + "live = '2P'\nu0_v = 24\nu_v = 48\n")
    assert places(book) == []
    assert places(book, Severity.WARNING) == ["board db1: current"]
    assert places(read_text(BOARD + "u0_v = 230\n"), Severity.WARNING) == []
    assert places(read_text(BOARD + "u0_v = 55\n"), Severity.WARNING) == []  # its own voltage is what it is judged with


def test_a_type_of_surge_protection_may_stand_without_quotes() -> None:
    assert (board(BOARD + "spd_type = 2\n").spd_type, board(BOARD + "spd_type = '1+2'\n").spd_type) == ("2", "1+2")


# ---- a separate residual current device ----


def test_a_separate_device_has_standard_and_rating_of_its_own() -> None:
    text = (
        CIRCUIT
        + "device = 'BS EN 60898 B32'\nrcd_type = 'A'\nrcd_ma = 30\nrcd_standard = 'BS EN 61008'\nrcd_rating_a = 63\n"
    )
    d = circuit(text).device
    assert (d.standard, d.rating_a, d.rcd_standard, d.rcd_rating_a, d.rcd_ma) == (
        "BS EN 60898",
        32,
        "BS EN 61008",
        63,
        30,
    )


def test_a_separate_device_that_is_usual_is_turned_down_by_none() -> None:
    usual = "[board.usual]\nrcd_type = 'A'\nrcd_ma = 30\nrcd_standard = 'BS EN 61008'\nrcd_rating_a = 63\n"
    text = BOARD + usual + "[[circuit]]\nid = 'c'\n"
    d = circuit(text).device
    assert (d.rcd_standard, d.rcd_rating_a) == ("BS EN 61008", 63)
    d = circuit(text + "rcd_standard = 'none'\n").device
    assert (d.rcd_standard, d.rcd_rating_a, d.rcd_ma) == ("", None, 30)
    d = circuit(text + "rcd_type = 'none'\n").device
    assert (d.rcd_standard, d.rcd_rating_a, d.rcd_type, d.rcd_ma) == ("", None, "", None)
    assert places(read_text(text + "rcd_standard = 'none'\nrcd_rating_a = 40\n")) == ["circuit c: rcd_rating_a"]
    told = read_text(text + "rcd_type = 'none'\nrcd_rating_a = 40\nrcd_standard = 'BS EN 61008'\n")
    assert places(told) == ["circuit c: rcd_standard", "circuit c: rcd_rating_a"]


@pytest.mark.parametrize("typed", BAD_NUMBERS)
def test_a_bad_rating_of_a_separate_device_is_told_at_its_place(typed: str) -> None:
    assert places(read_text(CIRCUIT + f"rcd_rating_a = {typed}\n")) == ["circuit c: rcd_rating_a"]


@pytest.mark.parametrize("typed", BAD_TEXTS)
def test_a_bad_standard_of_a_separate_device_is_told_at_its_place(typed: str) -> None:
    assert places(read_text(CIRCUIT + f"rcd_standard = {typed}\n")) == ["circuit c: rcd_standard"]


@pytest.mark.parametrize(
    ("typed", "delay"),
    [("S", "S"), ("none", ""), ("150 ms", "150 ms"), ("150ms", "150 ms"), ("1 ms", "1 ms"), ("9999 ms", "9999 ms")],
)
def test_delays(typed: str, delay: str) -> None:
    assert circuit(CIRCUIT + f"rcd_delay = '{typed}'\n").device.rcd_delay == delay


@pytest.mark.parametrize(
    "typed",
    [
        "''",
        "'s'",
        "'slow'",
        "'0 ms'",
        "'-5 ms'",
        "'150'",
        "'1.5 ms'",
        "'10000 ms'",
        "'0.15 s'",
        "150",
        "true",
        "inf",
        "[]",
        "'inf ms'",
    ],
)
def test_what_is_no_delay_is_refused(typed: str) -> None:
    assert places(read_text(CIRCUIT + f"rcd_delay = {typed}\n")) == ["circuit c: rcd_delay"]
    assert places(read_text(BOARD + f"[board.rcd]\nrcd_ma = 30\nrcd_delay = {typed}\n")) == [
        "board db1: rcd: rcd_delay"
    ]
    assert places(read_text(HEAD + f"[origin]\nswitch_rcd_delay = {typed}\n")) == ["origin: switch_rcd_delay"]


# ---- codes of wiring and method ----


def test_codes_stand_beside_words_and_may_be_usual() -> None:
    c = circuit(CIRCUIT + "wiring = 'F'\ncable = 'jointed in the hall'\nreference = 100\nmethod = 'beside the duct'\n")
    assert (c.wiring, c.cable, c.reference, c.method) == ("F", "jointed in the hall", "100", "beside the duct")
    c = circuit(
        HEAD
        + "[usual]\nwiring = 'A'\nreference = 'C'\n[[board]]\nid = 'db1'\n[[circuit]]\nid = 'c'\nreference = '101'\n"
    )
    assert (c.wiring, c.reference) == ("A", "101")


@pytest.mark.parametrize("typed", BAD_CODES)
@pytest.mark.parametrize("key", ["wiring", "reference"])
def test_a_bad_code_of_a_circuit_is_told_at_its_place(key: str, typed: str) -> None:
    assert places(read_text(CIRCUIT + f"{key} = {typed}\n")) == [f"circuit c: {key}"]


def test_every_code_is_read_and_has_a_meaning_of_its_own() -> None:
    for key, known in (("wiring", WIRING), ("reference", METHODS)):
        for code in known:
            text = CIRCUIT + f"cable = 'x'\n{key} = '{code}'\n"
            assert getattr(circuit(text), key) == code
        assert len(set(known.values())) == len(known)


def test_two_codes_for_one_method_are_refused() -> None:
    assert places(read_text(CIRCUIT + "reference = 'B'\nmethod = 'C'\n")) == ["circuit c: method"]
    assert circuit(CIRCUIT + "reference = 'C'\nmethod = 'C'\n").reference == "C"


def test_another_wiring_is_named() -> None:
    assert places(read_text(CIRCUIT + "wiring = 'O'\n"), Severity.WARNING) == ["circuit c: cable"]
    assert circuit(CIRCUIT + "wiring = 'O'\ncable = 'busbar'\n").wiring == "O"


# ---- the origin ----


def origin(text: str) -> ReadBook:
    return read_text(HEAD + text)


@pytest.mark.parametrize("typed", BAD_NUMBERS)
def test_a_bad_residual_current_of_the_main_switch_is_told(typed: str) -> None:
    assert places(origin(f"[origin]\nswitch_rcd_ma = {typed}\n")) == ["origin: switch_rcd_ma"]


@pytest.mark.parametrize("key", ["switch_kind", "switch_rcd_type"])
@pytest.mark.parametrize("typed", BAD_CODES)
def test_a_bad_word_of_the_main_switch_is_told(key: str, typed: str) -> None:
    assert places(origin(f"[origin]\n{key} = {typed.replace('Z', 'q')}\n")) == [f"origin: {key}"]


def test_the_origin_may_not_contradict_itself() -> None:
    assert places(origin("[origin]\nlive = '3L+N'\n")) == ["origin: live"]
    assert places(origin("[supply]\nphases = 3\n[origin]\nlive = '3L+N'\n")) == []
    assert places(origin("[origin]\nlive = 'L+N'\ncurrent = 'DC'\n")) == ["origin: current"]
    assert places(origin("[origin]\nlive = '1-phase, 2-wire'\ncurrent = 'AC'\n")) == []
    for more in (
        "switch_rcd_type = 'A'",
        "switch_rcd_ma = 30",
        "switch_rcd_delay = 'S'",
        "switch_kind = 'residual current device'",
    ):
        assert places(origin(f"[origin]\nswitch_rcd = 'none'\n{more}\n")) == ["origin: switch_rcd"]
        assert places(origin(f"[origin]\nswitch_rcd = 'in the same box'\n{more}\n")) == []


def test_direct_current_at_the_origin_is_not_judged_in_silence() -> None:
    for text in ("current = 'DC'", "live = '2P'"):
        assert places(origin(f"[origin]\n{text}\n"), Severity.WARNING) == ["origin: current"]


def test_a_main_switch_said_twice_and_differently_is_asked_about() -> None:
    text = (
        "[[board]]\nid = 'db1'\n[board.switch]\nrating_a = 100\nstandard = 'BS EN 60947-3'\n[origin]\nswitch_a = {}\n"
    )
    assert places(origin(text.format(80)), Severity.WARNING) == ["origin: switch_a"]
    assert origin(text.format(100)).findings == ()
    for place, told in (("DB1", 1), ("meter cupboard", 0)):
        found = places(origin(text.format(80) + f"switch_where = '{place}'\n"), Severity.WARNING)
        assert found == ["origin: switch_a"] * told


def test_tables_from_a_form_read_as_the_book_does() -> None:
    """Every value of a form is a text; plain digits are numbers where a number is meant and a code where a code is."""
    data = {
        "visit": {"place": "x", "date": "2026-11-20"},
        "board": [
            {"id": "db1", "spd_type": "2", "u_v": "230", "switch": {"poles": "2", "rating_a": "100", "kind": "switch"}}
        ],
        "circuit": [{"id": "c", "reference": "100", "wiring": "A", "rcd_rating_a": "63", "rcd_delay": "150 ms"}],
    }
    book = read_tables(data)
    assert book.findings == ()
    assert book.visit is not None
    b, c = book.visit.site.boards[0], book.visit.site.circuits[0]
    assert (b.spd_type, b.u_v, b.switch) == ("2", 230, Switch("switch", poles=2, rating_a=100))
    assert (c.reference, c.device.rcd_rating_a, c.device.rcd_delay) == ("100", 63, "150 ms")
