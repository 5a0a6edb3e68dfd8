"""A works with as many boards and circuits as wanted: invented, sound, and the same on every run.

The values come from sums of their own (route times mΩ/m, legs in parallel), never from the package.
"""

from __future__ import annotations

import random
from decimal import Decimal

MOHM_PER_M = {1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83, 16.0: 1.15}
ZE_OHM = 0.18
# name, use, device, line, cpc, shortest and longest route [m], design current [A], kind
FINALS = (
    ("Sockets", "sockets", "B32", 2.5, 1.5, 48, 84, 16, "ring"),
    ("Lights", "lighting", "B6", 1.5, 1.0, 12, 34, 2, "radial"),
    ("Water heater", "fixed", "B16", 2.5, 1.5, 8, 24, 13, "radial"),
    ("Cooker", "cooker", "B32", 6.0, 2.5, 6, 18, 20, "radial"),
    ("Panel heaters", "heating", "B20", 4.0, 1.5, 10, 26, 12, "radial"),
)

HEAD = """# Invented works: {boards} boards, {circuits} circuits. Made by a script, the same on every run.
[visit]
place = "Invented works, Marrowdene"
date = 2026-11-20
kind = "initial"
inspector = "J. Example"
temp_c = 20

[supply]
system = "TN-C-S"
pme = true
phases = 3
neutral_at_most_mm2 = 35
line_mm2 = 25
earthing_mm2 = 16
fuse = "BS 88-3"
fuse_a = 100

[[instrument]]
id = "tester"
name = "multifunction tester"
serial = "0000"
valid_until = 2027-03-01
continuity = {{ pct = 3, digits = 2, step = 0.01, top = 99.99 }}

[[leads]]
id = "short"
allowed = "nulled"
null_ohm = 0.06

[usual]
standard = "BS EN 61009"
breaking_ka = 6
rcd_type = "A"
rcd_ma = 30
cable = "70 °C thermoplastic, two-core"
method = "C"
length_tol_pct = 8
"""


def show(ohm: float) -> str:
    """Two decimals, as a display shows them."""
    return f"{Decimal(repr(ohm)).quantize(Decimal('0.01'))}"


def many(boards: int = 10, circuits: int = 20, seed: int = 1) -> str:
    """The text of a visit book: a main board that feeds the others, ``circuits`` circuits on each."""
    draw = random.Random(seed)
    text = [HEAD.format(boards=boards, circuits=boards * circuits)]
    dead: list[str] = []
    live: list[str] = [_step(read="fault current", of="origin", between="L-N", shown="1.28")]
    upstream = {"db1": ZE_OHM}
    for b in range(1, boards + 1):
        feeder = f"db1.{b - 1}" if b > 1 else ""
        text.append(_table("board", id=f"db{b}", name=f"Board {b}", fed_by=feeder, phases="3" if b == 1 else "1"))
    for b in range(1, boards + 1):
        board = f"db{b}"
        for c in range(1, circuits + 1):
            feeds = f"db{c + 1}" if b == 1 and c < boards else ""
            one = _feeder(draw, c, feeds) if feeds else _final(draw, board, c)
            text.append(one.table(board))
            dead += one.dead(draw)
            live += one.live(draw, upstream[board])
            if feeds:
                upstream[feeds] = upstream[board] + one.r1r2
                live.append(_step(read="zdb", of=feeds, method="two-lead", shown=show(upstream[feeds])))
    stages = ("locked", "tester proved", "dead", "tester proved again")
    text += [_step(clamp="earthing", shown="0.04", load="on")]
    text += [_step(isolated=s) for s in stages]
    text += [_step(clamp="earthing", shown="0.02", load="main switch off")]
    # The supply's own earth: the installation is off, and nothing of it helps.
    text += [_step(off="earthing"), _step(read="ze", of="origin", method="two-lead", shown=show(ZE_OHM))]
    text += [_step(on="earthing"), _step(look="earthing", seen="back under its screw, tight", holds="true")]
    text += [_step(check="shorted", shown="0.00"), _step(check="open", shown="over-range")]
    text += [_step(off='["spd", "loads"]'), *dead, _step(on="all"), _step(check="shorted", shown="0.00")]
    text += [_step(isolated="restored"), *live]
    return "\n".join(text)


class _Circuit:
    """One circuit with the resistances its route gives."""

    def __init__(self, draw: random.Random, name: str, made: tuple[object, ...], extra: dict[str, str]) -> None:
        what, use, device, line, cpc, low, high, amperes, kind = made
        self.id, self.kind, self.extra, self.device = name, str(kind), extra, str(device)
        self.what, self.use, self.amperes = str(what), str(use), amperes
        self.line, self.cpc = float(str(line)), float(str(cpc))
        self.length = draw.randint(int(str(low)), int(str(high)))
        make = draw.uniform(0.95, 0.99)
        self.r1 = self.length * MOHM_PER_M[self.line] * make / 1000
        self.r2 = self.length * MOHM_PER_M[self.cpc] * make / 1000
        self.r1r2 = (self.r1 + self.r2) / (4 if self.kind == "ring" else 1)
        self.places = [round(self.length * share) for share in (0.1, 0.25, 0.4, 0.55, 0.7, 0.9)]

    def table(self, board: str) -> str:
        """Its entry."""
        keys = {
            "id": self.id,
            "board": board,
            "name": f"{self.what} {self.id}",
            "kind": self.kind,
            "use": self.use,
            "device": self.device,
            "line_mm2": f"{self.line:g}",
            "cpc_mm2": f"{self.cpc:g}",
            "length_m": str(self.length),
            "design_a": str(self.amperes),
        }
        return _table("circuit", **keys, **self.extra)

    def dead(self, draw: random.Random) -> list[str]:
        """Dead tests with the ends that are off."""
        high = draw.choice(('">299"', '">299"', str(draw.randint(120, 290))))
        rest = {"insulation L-N": high, "insulation LN-E": '">299"', "polarity": '"good"'}
        if self.kind != "ring":
            tests = {"r1r2": show(self.r1r2), **rest}
            return [_step(of=self.id, test_v="500", tests=_inline(tests))]
        ends = _inline({"ring r1": show(self.r1), "ring rn": show(self.r1), "ring r2": show(self.r2)})
        ln = {f"{x} m": show(self.r1 / 2) for x in self.places}
        le = {}
        for x in self.places:
            share = x / self.length
            one = share * self.r1 + (1 - share) * self.r2
            other = (1 - share) * self.r1 + share * self.r2
            le[f"{x} m"] = show(one * other / (one + other))
        return [
            _step(off=f'["{self.id}:line", "{self.id}:neutral", "{self.id}:cpc"]', of=self.id, tests=ends),
            _step(read="ring ln", of=self.id, at_points=_inline(ln)),
            _step(read="ring le", of=self.id, at_points=_inline(le)),
            _step(on=self.id),
            _step(of=self.id, test_v="500", tests=_inline({"r1r2": max(le.values()), **rest})),
        ]

    def live(self, draw: random.Random, upstream: float) -> list[str]:
        """Live tests."""
        tests = {"zs": show(upstream + self.r1r2 + draw.choice((0.0, 0.01, 0.02)))}
        if self.use != "distribution":
            tests |= {"rcd x1": f"{draw.uniform(14, 28):.1f}", "rcd button": '"good"'}
        tests["functional"] = '"good"'
        return [_step(of=self.id, tests=_inline(tests))]


def _feeder(draw: random.Random, c: int, feeds: str) -> _Circuit:
    made = (f"To {feeds}", "distribution", "BS EN 60898 B63", 16.0, 16.0, 12, 32, 30, "radial")
    extra = {"rcd_type": "none", "cable": "90 °C armoured", "line": f"L{c % 3 + 1}"}
    return _Circuit(draw, f"db1.{c}", made, extra)


def _final(draw: random.Random, board: str, c: int) -> _Circuit:
    extra = {"line": f"L{c % 3 + 1}"} if board == "db1" else {}
    return _Circuit(draw, f"{board}.{c}", FINALS[(c - 1) % len(FINALS)], extra)


def _inline(values: dict[str, str]) -> str:
    return "{ " + ", ".join(f'"{k}" = {v}' for k, v in values.items()) + " }"


def _table(table: str, /, **keys: str) -> str:
    lines = [f"[[{table}]]"]
    for key, value in keys.items():
        if value:
            plain = value == "true" or value[0] in "[{>" or value.replace(".", "", 1).isdigit()
            lines.append(f"{key} = {value}" if plain else f'{key} = "{value}"')
    return "\n".join(lines) + "\n"


def _step(**keys: str) -> str:
    return _table("step", **keys)


if __name__ == "__main__":
    print(many())
