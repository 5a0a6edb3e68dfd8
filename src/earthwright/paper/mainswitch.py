"""The main switch among the particulars: as the origin says, and for the rest as the board at the origin does."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from ..outcomes.assessment import Assessment
from ..outcomes.circuits import TestJudged
from ..report.rows import all_tests
from ..site.at import At, field_at, reading_at
from ..site.codes import RCD_SWITCH
from ..site.events import ORIGIN
from ..site.installation import Board, Device, Switch
from .boards import rcd_time
from .digits import number


def first_board(a: Assessment) -> Board | None:
    """The board whose main switch is that of the installation: the only one at the origin.

    None when there are several, and when the origin has its main switch elsewhere.
    """
    place = a.visit.paperwork.origin.switch_where
    found = [b for b in a.visit.site.boards if not b.fed_by]
    return found[0] if len(found) == 1 and (not place or found[0].is_at(place)) else None


def switch_rows(a: Assessment) -> tuple[tuple[str, str, At, bool], ...]:
    """The main switch: label, value, where it is entered, whether it is needed."""
    o, board = a.visit.paperwork.origin, first_board(a)
    s = board.switch if board and board.switch else Switch()
    rcd = board.rcd if board and s.kind == RCD_SWITCH else None
    own = rcd or Device()
    place = o.switch_where or s.where or (board.where if board and board.switch else "")

    def at(of_origin: str, of_switch: str) -> At:
        """One of the two places is enough."""
        here = field_at("origin", of_origin)
        return here.or_at(At("board", board.id, f"switch.{of_switch}")) if board else here

    poles = o.switch_poles or (str(s.poles) if s.poles else "")
    return (
        ("Main switch, place", place, at("switch_where", "where"), True),
        ("Kind", o.switch_kind or s.kind, at("switch_kind", "kind"), False),
        (
            "Standard",
            o.switch_standard or own.standard or s.standard,
            at("switch_standard", "standard"),
            True,
        ),
        ("Poles", poles, at("switch_poles", "poles"), True),
        (
            "Rated current",
            number(_or(o.switch_a, own.rating_a, s.rating_a), "A"),
            at("switch_a", "rating_a"),
            True,
        ),
        ("Rated voltage", number(_or(o.switch_v, s.rated_v), "V"), at("switch_v", "rated_v"), True),
        (
            "Fuse or setting",
            number(_or(o.switch_fuse_a, s.fuse_a), "A"),
            at("switch_fuse_a", "fuse_a"),
            False,
        ),
        *_rcd(a, board, rcd),
    )


def _rcd(a: Assessment, board: Board | None, rcd: Device | None) -> Iterable[tuple[str, str, At, bool]]:
    o = a.visit.paperwork.origin
    title, of_board = "Residual current device as main switch", partial(At, "board", board.id if board else "")
    at_origin = o.switch_rcd_type or o.switch_rcd_ma is not None or o.switch_kind == RCD_SWITCH
    if rcd is None and not at_origin:
        kind = o.switch_kind or (board.switch.kind if board and board.switch else "")
        none = "none" if kind not in ("", "other") else ""
        where = field_at("origin", "switch_rcd").or_at(field_at("origin", "switch_rcd_type"), of_board("rcd.rcd_type"))
        return ((title, o.switch_rcd or none, where, True),)
    if at_origin or board is None or rcd is None:
        kind, ma, delay, of = o.switch_rcd_type, o.switch_rcd_ma, o.switch_rcd_delay, ORIGIN
        tests, entry, prefix = a.origin, partial(At, "origin", ""), "switch_rcd_"
    else:
        kind, ma, delay, of = rcd.rcd_type, rcd.rcd_ma, rcd.rcd_delay or "none", board.id
        tests = next((b.tests for b in a.boards if b.board.id == board.id), ())
        entry, prefix = of_board, "rcd.rcd_"
    beside = f", {o.switch_rcd}" if o.switch_rcd and kind else ""
    return (
        (title, f"type {kind}{beside}" if kind else "", entry(f"{prefix}type"), True),
        ("Rated residual current IΔn", number(ma, "mA"), entry(f"{prefix}ma"), True),
        ("Delay of that device", delay, entry(f"{prefix}delay"), True),
        ("Time of that device at IΔn", rcd_time(_test(a, of, tests)), reading_at(of, "rcd", method="x1"), True),
    )


def _test(a: Assessment, of: str, tests: Iterable[TestJudged]) -> TestJudged | None:
    return next((t for t in all_tests(a, of, tests) if t.test == "rcd" and t.of == of), None)


def _or(*values: float | None) -> float | None:
    return next((v for v in values if v is not None), None)
