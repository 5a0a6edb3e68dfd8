"""What the row of a circuit prints for R1+R2 and R2: the sockets of a ring, and no reading that went past the cpc."""

from __future__ import annotations

from pathlib import Path

from earthwright.assess import assess
from earthwright.outcomes.assessment import Assessment
from earthwright.paper.boards import board_schedule
from earthwright.paper.circuits import DETAILS, RESULTS
from earthwright.paper.requirements import missing_fields
from earthwright.visitbook import read_text

COMPLETE = (Path(__file__).parent / "complete.toml").read_text(encoding="utf-8")
RING = COMPLETE.replace('use = "sockets"', 'use = "sockets"\nkind = "ring"').replace(
    'tests = { r1r2 = 0.37, "ins', 'tests = { "ins'
)
BEFORE = '[[step]]\ncheck = "shorted"\nshown = 0.00\n[[step]]\nclamp = "earthing"\nshown = 0.00\n'  # dead and isolated


def judged(text: str, *steps: str) -> Assessment:
    assert text.count(BEFORE) == 1
    book = read_text(text.replace(BEFORE, "".join(f"[[step]]\n{s}\n" for s in steps) + BEFORE))
    assert book.visit is not None
    assert [f.sentence() for f in book.findings if f.severity.value == "error"] == []
    return assess(book.visit, found=book.findings)


def row(a: Assessment, circuit: str) -> dict[str, str]:
    found = next(r for r in board_schedule(a, a.boards[0]).results if r[0] == circuit)
    return dict(zip(RESULTS, found, strict=True))


def read(test: str, of: str, shown: float, **more: str) -> str:
    return "\n".join(
        [f'read = "{test}"', f'of = "{of}"', f"shown = {shown:.2f}", *(f'{k} = "{v}"' for k, v in more.items())]
    )


def lacking(a: Assessment) -> list[str]:
    return [m.what for m in missing_fields(a, "condition report") if "R1+R2" in m.what]


def test_the_highest_reading_at_the_sockets_is_the_r1_r2_of_a_ring() -> None:
    """Nothing else can be read as R1+R2 on a ring, and its page asks for nothing else."""
    ends = read("ring r1", "1", 0.39), read("ring rn", "1", 0.39), read("ring r2", "1", 0.64)
    a = judged(RING, *ends)
    assert lacking(a) == ["Main board, circuit 1: L-cpc crossed or R1+R2"]
    at = read("ring le", "1", 0.26, point="by the window"), read("ring le", "1", 0.27, point="far end")
    a = judged(RING, *ends, *at)
    assert lacking(a) == []
    assert (row(a, "1")["R1+R2 Ω"], row(a, "1")["R2 Ω"]) == ("0.27", "–")
    assert "R1+R2 at the sockets, legs crossed" in row(a, "1")["Remarks"]


def test_what_was_read_past_a_cpc_that_is_off_is_not_printed_as_its_r2() -> None:
    """From the bar with the cpc off the digits are those of everything else; from its free end they are its own."""
    off, on = 'off = "2:cpc"', 'on = "2:cpc"'
    a = judged(COMPLETE, off, read("r2", "2", 0.26, point="boiler"), on)
    assert row(a, "2")["R2 Ω"] == "–"
    a = judged(
        COMPLETE,
        off,
        read("r2", "2", 0.26, point="boiler"),
        read("r2", "2", 0.20, point="boiler", between="free end"),
        on,
    )
    assert row(a, "2")["R2 Ω"] == "0.20"
    a = judged(COMPLETE, read("r2", "2", 0.21, point="boiler"))
    assert row(a, "2")["R2 Ω"] == "0.21"


def test_the_fault_current_of_a_board_is_the_greatest_that_flows_there() -> None:
    """Whichever was read last: breaking capacities are held against the greatest, and a lower one read later undoes nothing."""
    other = '[[step]]\nread = "fault current"\nof = "db1"\nbetween = "L-E"\nshown = 0.98\n'
    for first, second, printed in (("1.05", "1.05", "1.05 kA"), ("1.05", "1.01", "1.05 kA")):
        again = f'[[step]]\nread = "fault current"\nof = "db1"\nbetween = "L-N"\nshown = {second}\n'
        a = judged(COMPLETE + again + other)
        assert {x: value for x, value, _ in board_schedule(a, a.boards[0]).facts}["Ipf at the board"] == printed, first


def test_a_cable_that_changes_stands_length_by_length() -> None:
    one = "line_mm2 = 2.5\nneutral_mm2 = 2.5\ncpc_mm2 = 1.5\nlength_m = 20\n"
    assert COMPLETE.count(one) == 1
    a = judged(COMPLETE.replace(one, 'runs = "10 m 4/1.5 method C + 10 m 2.5/1.5 method B"\n'))
    board = board_schedule(a, a.boards[0])
    cells = dict(zip([head for head, *_ in DETAILS], board.details[0], strict=True))
    assert (cells["Live mm²"], cells["cpc mm²"], cells["Ref. method"]) == ("4, 2.5", "1.5", "C, B")
    assert list(board.lengths) == [
        "Circuit 1, cable 1 from the board: 10 m of 4 mm², cpc 1.5 mm², method C",
        "Circuit 1, cable 2 from the board: 10 m of 2.5 mm², cpc 1.5 mm², method B",
    ]
