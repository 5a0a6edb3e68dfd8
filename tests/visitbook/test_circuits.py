"""Boards, circuits, electrodes and their readings: what is usual is said once, every fault is told with its place."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from earthwright.base.digits import Kind
from earthwright.base.errors import Severity
from earthwright.site.events import CIRCUIT_TESTS, Off, On, Reading
from earthwright.site.installation import Circuit, Site
from earthwright.site.ledger import state_at, still_off
from earthwright.visitbook import ReadBook, read_tables, read_text
from earthwright.visitbook.blank import BLANK
from earthwright.visitbook.lines import Lines
from earthwright.visitbook.readings import test_of as name_of

HEAD = '[visit]\nplace = "x"\ndate = 2026-11-20\n'
ONE = "[supply]\nphases = 1\n"
BOARD = '[[board]]\nid = "db1"\n'
RING = '[[circuit]]\nid = "c1"\nkind = "ring"\ndevice = "B32"\nline_mm2 = 2.5\ncpc_mm2 = 1.5\nlength_m = 84\n'
RADIAL = '[[circuit]]\nid = "c2"\ndevice = "B6"\nlength_m = 30\npoints = ["hall", "loft"]\n'
BOOK = HEAD + "[[leads]]\nid = 'l'\nallowed = 'nulled'\n[[electrode]]\nid = 'rod'\n" + BOARD + RING + RADIAL
STEP = "[[step]]\n"


def whole(text: str) -> ReadBook:
    book = read_text(text)
    assert book.findings == (), [f.sentence() for f in book.findings]
    assert book.visit is not None
    return book


def site(text: str) -> Site:
    book = whole(text)
    assert book.visit is not None
    return book.visit.site


def events(text: str) -> tuple[object, ...]:
    book = whole(text)
    assert book.visit is not None
    return book.visit.events


def readings(text: str) -> list[Reading]:
    return [e for e in events(text) if isinstance(e, Reading)]


# ---- the installation ----


def test_what_is_usual_is_said_once_and_each_circuit_says_what_differs() -> None:
    text = (
        HEAD
        + "[supply]\nphases = 3\n[usual]\nstandard = 'BS EN 60898'\nbreaking_ka = 6\nlength_tol_pct = 10\n"
        + "[[board]]\nid = 'a'\nphases = 3\n[board.usual]\nstandard = 'BS EN 61009'\nrcd_type = 'A'\nrcd_ma = 30\n"
        + "[[board]]\nid = 'b'\nfed_by = 'a9'\n"
        + "[[circuit]]\nid = 'a1'\nboard = 'a'\ndevice = 'C16'\nphases = 3\nlength_m = 40\n"
        + "[[circuit]]\nid = 'a9'\nboard = 'a'\ndevice = 'BS 88-3 63'\nrcd_type = 'none'\nlength_m = 20\nlength_tol_m = 1\n"
        + "[[circuit]]\nid = 'b1'\nboard = 'b'\ndevice = { type = 'B', rating_a = 6 }\nbreaking_ka = 10\n"
    )
    a1, a9, b1 = site(text).circuits
    d = a1.device
    assert (d.standard, d.type, d.rating_a, d.breaking_ka, d.rcd_type, d.rcd_ma) == ("BS EN 61009", "C", 16, 6, "A", 30)
    assert (a1.phases, a1.length_tol_m) == (3, 4.0)
    d = a9.device
    assert (d.standard, d.type, d.rating_a, d.rcd_type, d.rcd_ma) == ("BS 88-3", "", 63, "", None)
    assert (a9.length_tol_m, a9.use) == (1.0, "distribution")
    d = b1.device
    assert (d.standard, d.type, d.rating_a, d.breaking_ka, d.rcd_type) == ("BS EN 60898", "B", 6, 10, "")


@pytest.mark.parametrize(
    ("typed", "standard", "kind", "rating"),
    [
        ("B32", "", "B", 32),
        ("C 6 A", "", "C", 6),
        ("30", "", "", 30),
        ("BS 3036 30", "BS 3036", "", 30),
        ("BS EN 60898 B32", "BS EN 60898", "B", 32),
        ("BS EN 60898-1 D 10A", "BS EN 60898-1", "D", 10),
        ("BS 88-2 gG 63", "BS 88-2", "gG", 63),
        ("BS 3871 type 2 15 A", "BS 3871", "2", 15),
        ("BS 1361 5", "BS 1361", "", 5),
        ("IEC 60898 C2.5", "IEC 60898", "C", 2.5),
    ],
)
def test_short_texts_of_devices(typed: str, standard: str, kind: str, rating: float) -> None:
    (c,) = site(HEAD + BOARD + f"[[circuit]]\nid = 'c'\ndevice = '{typed}'\n").circuits
    assert (c.device.standard, c.device.type, c.device.rating_a) == (standard, kind, rating)


@pytest.mark.parametrize(
    "typed", ["'B'", "'BS 3036'", "'32 mA'", "'B 32 kA'", "''", "32", "true", "[]", "'X32'", "'B0032000'"]
)
def test_what_is_no_device_is_refused(typed: str) -> None:
    book = read_text(HEAD + BOARD + f"[[circuit]]\nid = 'c'\ndevice = {typed}\n")
    assert [f.where for f in book.findings] == ["circuit c: device"]
    assert book.visit is not None
    assert [(u.of, u.key) for u in book.visit.unread] == [("c", "device")]
    assert book.broken == ()


def test_points_are_names_places_or_a_number() -> None:
    def points(typed: str) -> object:
        return site(HEAD + BOARD + f"[[circuit]]\nid = 'c'\nlength_m = 30\npoints = {typed}\n").circuits[0].points

    assert points('["hall", "12.5 m"]') == (("hall", None), ("12.5 m", 12.5))
    assert points("{ hall = 3, loft = 9.5 }") == (("hall", 3.0), ("loft", 9.5))
    assert points("3") == (("1", None), ("2", None), ("3", None))


def test_boards_hang_on_circuits_and_the_rest_of_a_board() -> None:
    text = (
        HEAD
        + "[[board]]\nid = 'a'\nname = 'Main'\nwhere = 'hall'\nmain_switch = '100 A'\nspd = 'type 2'\nnote = 'n'\n"
        + "[board.rcd]\nstandard = 'BS EN 61008'\nrcd_type = 'A'\nrcd_ma = 100\nrcd_delay = 'S'\n"
        + "[[electrode]]\nid = 'rod'\nkind = 'rod'\nlength_m = 2.4\ndiameter_mm = 16\ncount = 2\nspacing_m = 3\nsoil_ohm_m = 120\n"
    )
    (board,), (rod,) = site(text).boards, site(text).electrodes
    assert board.rcd is not None
    assert (board.rcd.rcd_type, board.rcd.rcd_ma, board.rcd.rcd_delay) == ("A", 100, "S")
    assert (board.name, board.where, board.main_switch, board.spd, board.note) == (
        "Main",
        "hall",
        "100 A",
        "type 2",
        "n",
    )
    assert (rod.length_m, rod.diameter_mm, rod.count, rod.spacing_m, rod.soil_ohm_m) == (2.4, 16, 2, 3, 120)


def circuit(more: str) -> str:
    return HEAD + BOARD + "[[circuit]]\nid = 'c'\nlength_m = 20\n" + more


@pytest.mark.parametrize(
    ("text", "where", "what"),
    [
        (HEAD + "[[circuit]]\nid = 'c'\n", "circuit c: board", "Which board"),
        (HEAD + BOARD + BOARD.replace("db1", "db2") + "[[circuit]]\nid = 'c'\n", "circuit c: board", "Which board"),
        (circuit("board = 'db2'\n"), "circuit c: board", "no board 'db2'"),
        (circuit("") + "[[circuit]]\nid = 'c'\n", "circuit c: id", "stands twice"),
        (HEAD + BOARD + BOARD, "board db1: id", "stands twice"),
        (HEAD + BOARD + "[[circuit]]\nid = 'db1'\n", "circuit db1: id", "stands twice"),
        (HEAD + BOARD + "[[circuit]]\nid = 'origin'\n", "circuit origin: id", "kept for something else"),
        (HEAD + BOARD + "[[circuit]]\nid = 'c:1'\n", "circuit c:1: id", "no colon"),
        (HEAD + BOARD + "[[circuit]]\nname = 'x'\n", "circuit 1: id", "needed and is missing"),
        (circuit("kind = 'rng'\n"), "circuit c: kind", "not one of the words"),
        (circuit("use = 'socket'\n"), "circuit c: use", "not one of the words"),
        (ONE + circuit("phases = 3\n"), "circuit c: phases", "has one phase"),
        (circuit("line_mm2 = 0\n"), "circuit c: line_mm2", "not possible"),
        (circuit("line_mm2 = true\n"), "circuit c: line_mm2", "cannot be read"),
        (circuit("cpc_mm2 = '1.5'\n"), "circuit c: cpc_mm2", "cannot be read"),
        (circuit("cpc = 'none'\ncpc_mm2 = 1.5\n"), "circuit c: cpc_mm2", "no cpc"),
        (circuit("power_factor = 1.01\n"), "circuit c: power_factor", "not possible"),
        (circuit("power_factor = 0\n"), "circuit c: power_factor", "not possible"),
        (circuit("conductor_c = 19.9\n"), "circuit c: conductor_c", "not possible"),
        (circuit("spurs = -1\n"), "circuit c: spurs", "not possible"),
        (circuit("spurs = 51\n"), "circuit c: spurs", "not possible"),
        (circuit("spurs = 1.0\n"), "circuit c: spurs", "cannot be read"),
        (circuit("length_tol_m = 20\n"), "circuit c: length_tol_m", "swallows"),
        (circuit("length_tol_m = 2\nlength_tol_pct = 10\n"), "circuit c: length_tol_pct", "given twice"),
        (circuit("device = 'B32'\nrating_a = 20\n"), "circuit c: rating_a", "given twice"),
        (circuit("device = 'B32'\ntype = 'C'\n"), "circuit c: type", "given twice"),
        (circuit("device = { raiting_a = 20 }\n"), "circuit c: device: raiting_a", "not known here"),
        (circuit("device = {}\n"), "circuit c: device", "says nothing"),
        (circuit(f"points = {[f'p{i}' for i in range(201)]}\n"), "circuit c: points", "too many points"),
        (circuit(f"points = {{ a = 1{'0' * 400} }}\n"), "circuit c: points", "no distance"),
        (circuit("points = []\n"), "circuit c: points", "no point here"),
        (circuit("points = {}\n"), "circuit c: points", "no point here"),
        (circuit("points = ['a|b']\n"), "circuit c: points", "no |"),
        (circuit("rcd_type = 'B+'\n"), "circuit c: rcd_type", "not one of the words"),
        (circuit("rcd_type = 'none'\nrcd_ma = 30\n"), "circuit c: rcd_ma", "no residual current"),
        (circuit("curve = [[87, 5], [200, 9]]\n"), "circuit c: curve", "falls from left"),
        (circuit("curve = [[87, 5], [80, 4]]\n"), "circuit c: curve", "falls from left"),
        (circuit("curve = [[0, 5]]\n"), "circuit c: curve", "falls from left"),
        (circuit("curve = [[87, true]]\n"), "circuit c: curve", "not points of a curve"),
        (circuit("curve = [[87]]\n"), "circuit c: curve", "not points of a curve"),
        (circuit("curve = []\n"), "circuit c: curve", "not points of a curve"),
        (circuit("curve = 5\n"), "circuit c: curve", "not points of a curve"),
        (circuit("points = { a = 22.1 }\n"), "circuit c: points", "beyond the end"),
        (circuit("points = { a = 5, b = 4 }\n"), "circuit c: points", "in their order"),
        (circuit("points = { a = '5' }\n"), "circuit c: points", "no distance"),
        (circuit("points = ['a', 'a']\n"), "circuit c: points", "name of its own"),
        (circuit("points = 0\n"), "circuit c: points", "not possible"),
        (circuit("points = true\n"), "circuit c: points", "cannot be read as points"),
        (circuit("points = 3.0\n"), "circuit c: points", "cannot be read as points"),
        (circuit("points = [1, 2]\n"), "circuit c: points", "cannot be read as points"),
        (
            ONE + circuit("line = 'L1'\n").replace("id = 'c'", "id = 'c'\nphases = 3"),
            "circuit c: phases",
            "has one phase",
        ),
        (
            HEAD + "[supply]\nphases = 3\n" + BOARD + "phases = 3\n[[circuit]]\nid = 'c'\nphases = 3\nline = 'L1'\n",
            "circuit c: line",
            "on every line",
        ),
        (
            HEAD + "[supply]\nphases = 3\n" + BOARD + "phases = 3\n[[circuit]]\nid = 'c'\nphases = 3\nkind = 'ring'\n",
            "circuit c: kind",
            "single-phase",
        ),
        (ONE + HEAD + BOARD + "phases = 3\n", "board db1: phases", "supply has one phase"),
        (HEAD + BOARD + "rcd = { rcd_ms = 30 }\n", "board db1: rcd: rcd_ms", "not known here"),
        (HEAD + BOARD + "[board.rcd]\npoles = 2\n", "board db1: rcd", "says nothing"),
        (HEAD + BOARD + "rcd = 30\n", "board db1: rcd", "not a table"),
        (HEAD + BOARD + "fed_by = 'c9'\n", "board db1: fed_by", "no circuit 'c9'"),
        (HEAD + BOARD + "fed_by = 'c'\n[[circuit]]\nid = 'c'\n", "board db1: fed_by", "fed by itself"),
        (HEAD + "[usual]\nrating = 32\n", "usual: rating", "not known here"),
        (HEAD + "[usual]\nid = 'x'\n", "usual: id", "not known here"),
        (HEAD + BOARD + "usual = 3\n", "board db1: usual", "not a table"),
        (HEAD + "[[electrode]]\nid = 'e'\nkind = 'road'\n", "electrode e: kind", "not one of the words"),
        (HEAD + "[[electrode]]\nid = 'e'\nlength_m = -2\n", "electrode e: length_m", "not possible"),
        (HEAD + "[[electrode]]\nid = 'MET'\n", "electrode MET: id", "kept for something else"),
    ],
)
def test_faults_of_the_installation(text: str, where: str, what: str) -> None:
    book = read_text(text, "v.toml")
    hits = [f for f in book.findings if f.where == where and what in f.what]
    assert hits, [f.sentence() for f in book.findings]
    assert all(f.severity is Severity.ERROR and f.expected and f.file == "v.toml" for f in hits)
    assert book.visit is not None
    held = {u.of for u in book.visit.unread} | set(book.broken)
    assert held or "electrode" in where or "circuit 1" in where or "board 1" in where or "usual" in where, (
        "nothing is held back"
    )
    standing = {c.id for c in book.visit.site.circuits} | {b.id for b in book.visit.site.boards}
    assert not standing & set(book.broken)


@pytest.mark.parametrize(("place", "fine"), [(21.9, True), (22.0, True), (22.1, False)])
def test_a_point_may_lie_as_far_as_the_length_and_its_tolerance(place: float, fine: bool) -> None:
    findings = read_text(circuit(f"length_tol_m = 2\npoints = {{ a = {place} }}\n")).findings
    assert (findings == ()) == fine


TREE = (
    HEAD
    + "[[board]]\nid = 'a'\n[[board]]\nid = 'b'\nfed_by = 'a1'\n[[board]]\nid = 'c'\nfed_by = 'b1'\n"
    + "[[circuit]]\nid = 'a1'\nboard = 'a'\n[[circuit]]\nid = 'a2'\nboard = 'a'\n[[circuit]]\nid = 'b1'\nboard = 'b'\n"
    + "[[circuit]]\nid = 'c1'\nboard = 'c'\n"
)


def test_a_tree_three_deep_is_whole() -> None:
    s = site(TREE)
    assert [b.id for b in s.boards] == ["a", "b", "c"]
    assert {c.id: c.use for c in s.circuits} == {
        "a1": "distribution",
        "a2": "final",
        "b1": "distribution",
        "c1": "final",
    }


def test_a_broken_feeder_takes_everything_below_it_along_and_nothing_else() -> None:
    book = read_text(TREE.replace("id = 'a1'\nboard", "id = 'a1'\nlenght = 1\ncolour = 1\nboard"))
    assert book.visit is not None
    assert set(book.broken) == {"a1", "b", "b1", "c", "c1"}
    assert [b.id for b in book.visit.site.boards] == ["a"]
    assert [c.id for c in book.visit.site.circuits] == ["a2"]
    assert len([f for f in book.findings if "not judged either" in f.what]) == 4


def test_a_cycle_of_boards_is_told_at_each_of_them() -> None:
    book = read_text(TREE.replace("id = 'b'\nfed_by = 'a1'", "id = 'b'\nfed_by = 'c1'"))
    assert {f.where for f in book.findings if "fed by itself" in f.what} == {"board b: fed_by", "board c: fed_by"}
    assert book.visit is not None
    assert [b.id for b in book.visit.site.boards] == ["a"]


@pytest.mark.parametrize(
    ("old", "new", "where", "what"),
    [
        ("id = 'c'\nfed_by = 'b1'", "id = 'c'\nfed_by = 'a1'", "board c: fed_by", "feeds board 'b' already"),
        ("id = 'a1'\n", "id = 'a1'\nuse = 'lighting'\n", "circuit a1: use", "feeds board 'b'"),
        ("id = 'a1'\n", "id = 'a1'\nkind = 'ring'\n", "circuit a1: kind", "no ring final"),
    ],
)
def test_faults_of_the_tree(old: str, new: str, where: str, what: str) -> None:
    book = read_text(TREE.replace(old, new))
    assert [f for f in book.findings if f.where == where and what in f.what], book.findings


def test_a_three_phase_board_needs_a_three_phase_feeder() -> None:
    text = TREE.replace("[[board]]\nid = 'a'\n", "[supply]\nphases = 3\n[[board]]\nid = 'a'\nphases = 3\n").replace(
        "id = 'b'\n", "id = 'b'\nphases = 3\n"
    )
    assert read_text(text).findings[0].where == "board b: phases"
    whole(text.replace("id = 'a1'\n", "id = 'a1'\nphases = 3\n"))


def test_a_fault_in_what_is_usual_is_told_once_and_its_circuits_are_not_judged() -> None:
    text = HEAD + BOARD + "[board.usual]\nbreaking_ka = -6\n" + RING + RADIAL
    book = read_text(text, "v.toml")
    (finding,) = book.findings
    assert finding.where == "board db1: usual: breaking_ka"
    assert text.splitlines()[finding.line - 1] == "breaking_ka = -6"
    assert book.visit is not None
    assert [(u.of, u.key) for u in book.visit.unread] == [("c1", "breaking_ka"), ("c2", "breaking_ka")]
    assert book.broken == ()


def test_lines_of_tables_inside_the_last_board() -> None:
    lines = Lines("[[board]]\nid = 1\n[[board]]\nrcd = { a = 1 }\n[board.usual]\nx = 1\n")
    assert lines.of("board.usual", 1, "x") == 6
    assert lines.of("board.usual", 0, "x") == 1
    assert lines.of("board.rcd", 1, "a") == 4


# ---- readings ----


def test_several_tests_in_one_go() -> None:
    found = readings(
        BOOK
        + STEP
        + "of = 'c2'\npoint = 'loft'\ntest_v = 500\nnote = 'cold'\n"
        + 'tests = { r1r2 = [0.62, 0.63], zs = 0.93, "insulation L-E" = ">299", polarity = "good", "rcd x1 0°" = 18.2 }\n'
    )
    assert [(r.test, r.between, r.method, r.point, r.test_v, r.leads) for r in found] == [
        ("r1r2", "", "", "loft", None, "l"),
        ("r1r2", "", "", "loft", None, "l"),
        ("zs", "", "", "loft", None, ""),
        ("insulation", "L-E", "", "", 500.0, ""),
        ("polarity", "", "", "", None, ""),
        ("rcd", "0°", "x1", "", None, ""),
    ]
    assert [r.shown and (r.shown.unit, r.shown.digits) for r in found] == [
        ("Ω", Decimal("0.62")),
        ("Ω", Decimal("0.63")),
        ("Ω", Decimal("0.93")),
        ("MΩ", Decimal(299)),
        None,
        ("ms", Decimal("18.2")),
    ]
    assert found[3].shown is not None
    assert found[3].shown.kind is Kind.OVER
    assert found[4].outcome == "good"
    assert {r.note for r in found} == {"cold"}
    assert len({r.id for r in found}) == 6


def test_a_profile_in_one_step_gives_the_circuit_its_points() -> None:
    text = BOOK + STEP + "read = 'ring le'\nof = 'c1'\nat_points = { '50 m' = 0.86, '2 m' = 0.63 }\n"
    assert [(r.point, r.shown and str(r.shown)) for r in readings(text)] == [("50 m", "0.86 Ω"), ("2 m", "0.63 Ω")]
    assert site(text).circuit("c1").points == (("2 m", 2.0), ("50 m", 50.0))


def test_a_profile_as_a_list_stands_in_the_order_of_the_points() -> None:
    found = readings(BOOK + STEP + "read = 'r1r2'\nof = 'c2'\nat_points = [0.31, 'LIM']\nnote = 'locked'\n")
    assert [(r.point, r.absent) for r in found] == [("hall", ""), ("loft", "LIM")]


def test_one_thing_there_is_goes_without_saying() -> None:
    found = readings(
        BOOK + STEP + "read = 'ze'\nshown = 0.21\nmethod = 'two-lead'\n" + STEP + "read = 'electrode'\nshown = 88.0\n"
    )
    assert [(r.of, r.method) for r in found] == [("origin", "two-lead"), ("rod", "")]


def test_words_and_absences_may_be_of_several_circuits() -> None:
    found = readings(
        BOOK
        + STEP
        + "read = 'polarity'\nof = ['c1', 'c2']\noutcome = 'good'\n"
        + STEP
        + "read = 'zs'\nof = ['c1', 'c2']\nabsent = 'LIM'\nnote = 'no access'\n"
        + STEP
        + "read = 'rcd'\nof = 'c2'\nabsent = 'N/A'\n"
        + STEP
        + "read = 'rcd button'\nof = 'c2'\nabsent = 'not tested'\n"
    )
    assert [(r.of, r.outcome, r.absent, r.note) for r in found] == [
        ("c1", "good", "", ""),
        ("c2", "good", "", ""),
        ("c1", "", "LIM", "no access"),
        ("c2", "", "LIM", "no access"),
        ("c2", "", "N/A", ""),
        ("c2", "", "not tested", ""),
    ]


def test_ends_of_circuits_are_part_of_the_state_and_go_back_together() -> None:
    text = (
        BOOK
        + STEP
        + "off = ['c1:neutral', 'c1: cpc', 'spd', 'db1:loads', 'rod']\n"
        + STEP
        + "read = 'r2'\nof = 'c1'\nshown = 0.31\n"
        + STEP
        + "on = 'c1'\n"
        + STEP
        + "on = 'db1:loads'\n"
        + STEP
        + "on = 'all'\n"
    )
    happened = events(text)
    (reading,) = [e for e in happened if isinstance(e, Reading)]
    assert state_at(happened, reading.seq).off == {"c1:neutral", "c1:cpc", "spd", "db1:loads", "rod"}  # type: ignore[arg-type]
    assert [e.what for e in happened if isinstance(e, On)] == ["c1:neutral", "c1:cpc", "db1:loads", "spd", "rod"]
    assert still_off(happened) == ()  # type: ignore[arg-type]
    assert len([e for e in happened if isinstance(e, Off)]) == 5


def test_other_steps_stand_beside_the_readings_of_circuits() -> None:
    found = events(
        BOOK
        + STEP
        + "look = 'c1'\nseen = 'loose line'\nholds = false\n"
        + STEP
        + "volts = 'L-N'\nshown = 236\nload = 'off'\n"
        + STEP
        + "override = 'clamp'\nreason = 'agreed'\nby = 'J. Example'\n"
    )
    assert [type(e).__name__ for e in found] == ["Look", "Volts", "Override"]


def test_a_clamp_may_go_round_a_whole_circuit() -> None:
    assert len(events(BOOK + STEP + "clamp = 'c1'\nshown = 3.20\n" + STEP + "clamp = 'rod'\nshown = 0.02\n")) == 2


def test_a_whole_number_of_digits_is_no_finer_than_the_display() -> None:
    """22000 Ω on a display in steps of 10 Ω: the trade's thresholds for extraneous parts are typed like that."""
    text = BOOK + "[[part]]\nid = 'steel'\nkind = 'steel'\n" + STEP + "read = 'extraneous'\nof = 'steel'\nshown = {}\n"
    whole(text.format("22000"))
    assert [f.severity for f in read_text(text.format("22005")).findings] == [Severity.WARNING]


@pytest.mark.parametrize(
    ("step", "where", "what"),
    [
        ("read = 'zs'\nshown = 0.93\n", "step 1: of", "What was measured"),
        ("read = 'zs'\nof = 'c9'\nshown = 0.93\n", "step 1: of", "no 'c9'"),
        ("read = 'zs'\nof = 'db1'\nshown = 0.93\n", "step 1: of", "no test of a board"),
        ("read = 'zdb'\nof = 'c1'\nshown = 0.93\n", "step 1: of", "no test of a circuit"),
        ("read = 'electrode'\nof = 'c1'\nshown = 88.0\n", "step 1: of", "no test of a circuit"),
        ("read = 'zs'\nof = ['c1', 'c2']\nshown = 0.93\n", "step 1: of", "do not show one reading"),
        ("read = 'zs'\nof = 'c1'\n", "step 1: shown", "not how 'zs' is entered"),
        ("read = 'zs'\nof = 'c1'\noutcome = 'good'\n", "step 1: outcome", "not how 'zs' is entered"),
        ("read = 'polarity'\nof = 'c1'\nshown = 1\n", "step 1: shown", "not how 'polarity' is entered"),
        ("read = 'polarity'\nof = 'c1'\noutcome = 'fine'\n", "step 1: outcome", "is a word"),
        ("read = 'zs'\nof = 'c1'\nabsent = 'limm'\nnote = 'x'\n", "step 1: absent", "not one of the words"),
        ("read = 'zs'\nof = 'c1'\nabsent = 'LIM'\n", "step 1: absent", "has its reason"),
        ("read = 'zs'\nof = 'c1'\nabsent = 'N/A'\nshown = 0.93\n", "step 1", "one reading or none"),
        ("read = 'zs'\nof = 'c1'\nshown = []\n", "step 1: shown", "list of digits is empty"),
        ("read = 'zs'\nof = 'c1'\nshown = -0.93\n", "step 1: shown", "not negative"),
        ("read = 'zs'\nof = 'c1'\nshown = true\n", "step 1: shown", "not a reading"),
        ("read = 'zs'\nof = 'c1'\nshown = '1,234'\n", "step 1: shown", "A comma"),
        ("read = 'zs'\nof = 'c1'\nshown = inf\n", "step 1: shown", "not a reading"),
        ("read = 'zs'\nof = 'c1'\nshown = '0.93 MHz'\n", "step 1: shown", "not a unit"),
        ("read = 'zs'\nof = 'c1'\nshown = 0.93\nmethod = 'no trip'\n", "step 1: method", "not one of the words"),
        ("read = 'insulation'\nof = 'c1'\nshown = 210\nbetween = 'L-PE'\n", "step 1: between", "not one of the words"),
        ("read = 'zs'\nof = 'c1'\nshown = 0.93\ntest_v = 500\n", "step 1: test_v", "belongs to an insulation"),
        ("read = 'zs'\nof = 'c1'\nshown = 0.93\npoint = '120 m'\n", "step 1: point", "beyond the end"),
        ("read = 'zs'\nof = 'c1'\nshown = 0.93\npoint = 'a@b'\n", "step 1: point", "no |"),
        ("read = 'zs'\nof = 'c1'\nat_points = { 'a=b' = 0.93 }\n", "step 1: at_points", "no |"),
        ("read = 'rcd'\nof = 'c1'\nat_points = { a = 18.0 }\n", "step 1: at_points", "not read from point to point"),
        ("read = 'zs'\nof = 'c1'\nat_points = [0.93]\n", "step 1: at_points", "does not fit the points"),
        ("read = 'zs'\nof = 'c2'\nat_points = [0.93]\n", "step 1: at_points", "does not fit the points"),
        ("read = 'zs'\nof = 'c2'\nat_points = {}\n", "step 1: at_points", "no readings at points"),
        ("read = 'zs'\nof = 'c2'\nat_points = 0.93\n", "step 1: at_points", "no readings at points"),
        ("read = 'zs'\nof = 'c2'\nat_points = { '' = 0.93 }\n", "step 1: at_points", "has no name"),
        ("read = 'zs'\nof = 'c2'\npoint = 'hall'\nat_points = { loft = 0.93 }\n", "step 1: point", "given twice"),
        ("of = 'c1'\ntests = { zss = 0.93 }\n", "step 1: tests", "no test 'zss'"),
        ("of = 'c1'\ntests = { 'insulation L-PE' = 200 }\n", "step 1: tests", "no test"),
        ("of = 'c1'\ntests = {}\n", "step 1: tests", "no table of tests"),
        ("of = 'c1'\ntests = 3\n", "step 1: tests", "no table of tests"),
        ("of = 'c1'\ntests = { zs = [] }\n", "step 1: tests: zs", "list of digits is empty"),
        ("of = 'c1'\ntests = { zs = 'LIM' }\n", "step 1: tests: zs", "has its reason"),
        ("of = 'c1'\ntests = { polarity = 1 }\n", "step 1: tests: polarity", "is a word"),
        ("of = ['c1', 'c2']\ntests = { zs = 0.93 }\n", "step 1: of", "do not show one reading"),
        ("of = 'c1'\ntests = { zs = 0.93 }\nbetween = 'N-E'\n", "step 1: between", "not one of the words"),
        ("of = 'c1'\ntests = { zs = 0.93 }\nread = 'zs'\n", "step 1", "does one thing"),
        ("of = 'c1'\ntests = { zs = 0.93 }\nshown = 1\n", "step 1: shown", "not known here"),
        ("off = 'c1'\n", "step 1: off", "Which end"),
        ("off = 'c1:spd'\n", "step 1: off", "no end 'spd'"),
        ("off = 'c9:neutral'\n", "step 1: off", "no circuit or board"),
        ("off = 'rod:neutral'\n", "step 1: off", "no circuit or board"),
        ("off = 'water'\n", "step 1: off", "no conductor"),
        ("on = 'c1'\n", "step 1: on", "Nothing of 'c1' is off"),
        ("on = 'all'\n", "step 1: on", "Nothing of 'all' is off"),
        ("clamp = 'c9'\nshown = 0.10\n", "step 1: clamp", "no conductor"),
    ],
)
def test_faults_of_steps(step: str, where: str, what: str) -> None:
    book = read_text(BOOK + STEP + step)
    hits = [f for f in book.findings if f.where == where and what in f.what]
    assert hits, [f.sentence() for f in book.findings]
    assert all(f.severity is Severity.ERROR and f.expected and f.line for f in hits)
    assert book.visit is not None
    assert all(e.refused for e in book.visit.events if isinstance(e, Reading))


def test_a_point_that_is_not_named_is_told_and_its_reading_kept() -> None:
    book = read_text(BOOK + STEP + "read = 'zs'\nof = 'c2'\npoint = 'lofft'\nshown = 0.93\n")
    (finding,) = book.findings
    assert (finding.severity, finding.do) == (Severity.WARNING, "Did you mean 'loft'?")
    assert book.visit is not None
    assert [e.refused for e in book.visit.events if isinstance(e, Reading)] == [()]


def test_readings_of_a_broken_circuit_are_refused_and_the_others_not() -> None:
    book = read_text(
        BOOK.replace("length_m = 84", "colour = 84")
        + STEP
        + "read = 'zs'\nof = 'c1'\nshown = 0.93\n"
        + STEP
        + "read = 'zs'\nof = 'c2'\nshown = 1.20\n"
        + STEP
        + "off = 'c1:cpc'\n"
    )
    assert book.visit is not None
    assert [bool(e.refused) for e in book.visit.events if isinstance(e, Reading)] == [True, False]
    assert [f.where for f in book.findings] == ["circuit c1: colour", "step 1: of", "step 3: off"]


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("zs", ("zs", "", "")),
        ("ring  ln", ("ring ln", "", "")),
        ("rcd button", ("rcd button", "", "")),
        ("rcd x5 180°", ("rcd", "180°", "x5")),
        ("rcd 180° x5", ("rcd", "180°", "x5")),
        ("fault current L-L-L", ("fault current", "L-L-L", "")),
        ("electrode rod alone", ("electrode", "", "rod alone")),
        ("zs no-trip", ("zs", "", "no-trip")),
        ("zs loft", None),
        ("r1", None),
        ("", None),
    ],
)
def test_names_of_tests(name: str, found: object) -> None:
    assert name_of(name) == found


def test_every_test_can_be_entered_from_tables_of_texts() -> None:
    """As the journal and the forms give them."""
    of = {"ze": "origin", "zdb": "db1", "electrode": "rod", "extraneous": "steel"}
    steps = [
        {"read": test, "of": of.get(test, "c1"), **({"shown": "30"} if unit else {"outcome": "good"})}
        for test, unit in ((t.name, t.unit) for t in CIRCUIT_TESTS.values())
    ]
    book = read_tables(
        {
            "visit": {"place": "x", "date": "2026-11-20"},
            "board": [{"id": "db1", "rcd": {"rcd_type": "A", "rcd_ma": "30"}}],
            "circuit": [
                {
                    "id": "c1",
                    "length_m": "20.5",
                    "spurs": "2",
                    "points": {"hall": "3"},
                    "curve": [["87", "5"]],
                    "device": "B32",
                }
            ],
            "electrode": [{"id": "rod", "count": "2"}],
            "part": [{"id": "steel", "kind": "steel"}],
            "step": steps,
        }
    )
    assert book.findings == ()
    assert book.visit is not None
    assert len(book.visit.events) == len(CIRCUIT_TESTS)
    c: Circuit = book.visit.site.circuits[0]
    assert (c.length_m, c.spurs, c.points, c.device.curve) == (20.5, 2, (("hall", 3.0),), ((87.0, 5.0),))


def test_the_blank_book_is_whole_with_its_circuits_as_well() -> None:
    text = BLANK.format(today="2026-11-20").replace('place = ""', 'place = "x"')
    book = whole(re.sub(r"^#(?! )", "", text, flags=re.M))
    assert book.visit is not None
    assert [c.id for c in book.visit.site.circuits] == ["c1", "c2"]
    assert {e.test for e in book.visit.events if isinstance(e, Reading)} >= {"ring ln", "zs", "ze", "rcd", "insulation"}


@pytest.mark.parametrize(
    ("typed", "standard", "kind", "rating"),
    [
        ("60898-1 B20", "60898-1", "B", 20.0),
        ("BS EN 61009 B-32", "BS EN 61009", "B", 32.0),
        ("32B", "", "B", 32.0),
        ("B curve 32A", "", "B", 32.0),
        ("MCB (C) 16 Amp", "MCB", "C", 16.0),
        ("T2 30A BS3871", "BS3871", "2", 30.0),
        ("30A rewireable", "BS 3036", "", 30.0),
        ("BS 3036 semi-enclosed 15A", "BS 3036", "", 15.0),
        ("15A cartridge BS1361", "BS1361", "", 15.0),
        ("FCU 13A", "BS 1362", "", 13.0),
        ("MCCB 100A", "BS EN 60947-2", "", 100.0),
        ("BS EN IEC 61009-1 B20", "BS EN IEC 61009-1", "B", 20.0),
        ("BSEN61009 C20", "BSEN61009", "C", 20.0),
        ("bs en 60898 b32", "bs en 60898", "B", 32.0),
        ("32A Type B", "", "B", 32.0),
        ("MCB B20", "MCB", "B", 20.0),
        ("B32 RCBO", "RCBO", "B", 32.0),
        ("BS 3036 30A", "BS 3036", "", 30.0),
        ("3871 type 3 30A", "3871", "3", 30.0),
        ("BS88-3 gG 80", "BS88-3", "gG", 80.0),
    ],
)
def test_devices_as_people_spell_them(typed: str, standard: str, kind: str, rating: float) -> None:
    read = read_text(f'[visit]\nplace="x"\ndate=2026-11-20\n[[board]]\nid="d"\n[[circuit]]\nid="c"\ndevice="{typed}"\n')
    assert read.findings == ()
    assert read.visit is not None
    device = read.visit.site.circuits[0].device
    assert (device.standard, device.type, device.rating_a) == (standard, kind, rating)


@pytest.mark.parametrize(
    ("typed", "more"),
    [
        ("B32 RCBO 30mA A type", {"rcd_ma": 30.0, "rcd_type": "A"}),
        ("61009-1 B40 30mA A", {"rcd_ma": 30.0, "rcd_type": "A"}),
        ("RCBO B32/30mA type AC", {"rcd_ma": 30.0, "rcd_type": "AC"}),
        ("C20 100 ma type A S", {"rcd_ma": 100.0, "rcd_type": "A", "rcd_delay": "S"}),
        ("C32 10kA TPN", {"breaking_ka": 10.0, "poles": 3}),
        ("double pole B16 6 kA", {"breaking_ka": 6.0, "poles": 2}),
        ("AFDD B32", {"afdd": True}),
    ],
)
def test_what_else_stands_on_a_device_is_read_with_it(typed: str, more: dict[str, object]) -> None:
    device = (
        site(f'[visit]\nplace="x"\ndate=2026-11-20\n[[board]]\nid="d"\n[[circuit]]\nid="c"\ndevice="{typed}"\n')
        .circuits[0]
        .device
    )
    assert {key: getattr(device, key) for key in more} == more


@pytest.mark.parametrize(
    ("typed", "said", "rating"),
    [
        ("Invented B32", "Not used: Invented", 32.0),
        ("63A main switch", "no overcurrent device", None),
        ("N/A", "no device entered", None),
        ("spare B32", "cannot be read", None),
    ],
)
def test_a_word_that_is_not_understood_is_named_and_a_switch_is_no_device(
    typed: str, said: str, rating: float | None
) -> None:
    read = read_text(f'[visit]\nplace="x"\ndate=2026-11-20\n[[board]]\nid="d"\n[[circuit]]\nid="c"\ndevice="{typed}"\n')
    assert any(said in f.sentence() for f in read.findings), [f.sentence() for f in read.findings]
    assert read.visit is not None
    assert read.visit.site.circuits[0].device.rating_a == rating


@pytest.mark.parametrize("typed", ["MCB", "foo 32", "B 32 16", "B32 B16", "32 mA", "", "BS EN 60898"])
def test_what_is_no_device_is_not_guessed(typed: str) -> None:
    read = read_text(f'[visit]\nplace="x"\ndate=2026-11-20\n[[board]]\nid="d"\n[[circuit]]\nid="c"\ndevice="{typed}"\n')
    assert "This cannot be read as a device." in [f.what for f in read.findings]


@pytest.mark.parametrize(
    ("cell", "absent", "note"),
    [
        ("LIM: locked", "LIM", "locked"),
        ("lim - locked", "LIM", "locked"),
        ("N/V", "N/V", ""),
        ("n/a (no RCD)", "N/A", "no RCD"),
        ("N.T.", "not tested", ""),
        ("N\\A", "N/A", ""),
        ("N/A class II", "N/A", "class II"),
        ("LIM no access", "LIM", "no access"),
        ("No access, locked", "LIM", "No access, locked"),
        ("not done: load connected", "not tested", "load connected"),
    ],
)
def test_why_there_is_no_reading_as_people_write_it(cell: str, absent: str, note: str) -> None:
    (found,) = readings(BOOK + STEP + f"of = 'c1'\ntests = {{ zs = '{cell}' }}\n")
    assert (found.absent, found.note, found.refused) == (absent, note, ())


@pytest.mark.parametrize("word", ["OK", "pass", "✓", "✔\ufe0f", "✅", "tick", "Correct", "yes", "good"])
def test_a_tick_is_good(word: str) -> None:
    (found,) = readings(BOOK + STEP + f"of = 'c1'\ntests = {{ polarity = '{word}' }}\n")
    assert found.outcome == "good"


def test_one_bad_cell_costs_that_cell() -> None:
    book = read_text(BOOK + STEP + "of = 'c1'\ntests = { r1r2 = '0.4x', zs = 0.93, zss = 0.5, polarity = 'perhaps' }\n")
    assert book.visit is not None
    found = [(r.test, bool(r.refused)) for r in book.visit.events if isinstance(r, Reading)]
    assert found == [("r1r2", True), ("zs", False), ("polarity", True), ("zs", True)]
