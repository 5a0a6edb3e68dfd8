"""Honest visits as busy people write them: visit books as text, sound houses, the usual record and the usual slips of writing.

Lengths of circuits are not entered, cells are missing, values are rounded and spelt as the trade spells them. The house is sound
and every reading lies inside the instrument's limits, so whatever code comes up is a false one. A fault can be planted in each.
"""

from __future__ import annotations

import random
from collections.abc import Callable

# mΩ/m at 20 °C, class 2 (IEC 60228).
R = {1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08, 10.0: 1.83}
# use, kind, line, cpc, rating, least and greatest length [m]
KINDS = (
    ("lighting", "radial", 1.0, 1.0, 6, 12, 38),
    ("lighting", "radial", 1.5, 1.0, 6, 15, 45),
    ("sockets", "ring", 2.5, 1.5, 32, 40, 80),
    ("sockets", "radial", 2.5, 1.5, 20, 8, 28),
    ("cooker", "radial", 6.0, 2.5, 32, 5, 14),
    ("shower", "radial", 10.0, 4.0, 40, 5, 14),
    ("heating", "radial", 2.5, 1.5, 16, 6, 22),
)
GOOD = ("good", "good", "OK", "ok", "pass", "✓", "correct")
ABOVE = (">299", ">299", ">200", "200+", "INF", "> 299 MΩ", "OL", ">999")


class Messy:
    """One visit: its numbers, and the text that somebody typed of it."""

    def __init__(self, number: int) -> None:
        self.rng = random.Random(f"messy {number}")
        rng = self.rng
        self.pme = rng.random() < 0.6
        self.ze = rng.uniform(0.10, 0.24) if self.pme else rng.uniform(0.12, 0.45)
        self.rcbo = rng.random() < 0.5
        self.parts = ["water", "gas"] if rng.random() < 0.7 else ["water"]
        self.bond_m = {p: rng.randint(4, 22) for p in self.parts}
        self.circuits = [rng.choice(KINDS) for _ in range(rng.randint(5, 11))]
        self.cells: dict[tuple[str, str], str] = {}
        self.bonds: dict[tuple[str, str], str] = {}
        self.end_check = rng.random() < 0.7
        self._measure()

    # ---- what the display showed ----

    def ohm(self, true: float, places: int = 2) -> str:
        """Digits of a continuity or loop reading, written as people write them."""
        rng = self.rng
        value = max(0.0, true * (1.0 + rng.uniform(-0.02, 0.02)) + rng.uniform(-0.012, 0.012))
        text = f"{value:.{places}f}"
        slip = rng.random()
        if slip < 0.04:
            return text.replace(".", ",")
        if slip < 0.08 and text.startswith("0."):
            return text[1:]
        if slip < 0.11:
            return text + " ohm"
        return text + " Ω" if slip < 0.14 else text

    def _measure(self) -> None:
        rng = self.rng
        for p in self.parts:
            c = self.bond_m[p] * R[10.0] / 1000.0 * rng.uniform(0.93, 1.0) + rng.uniform(0.0, 0.01)
            path = rng.uniform(0.03, 0.4)
            together = c * path / (c + path)
            for test, true in (("joint", 0.004), ("conductor", c), ("path", path), ("together", together)):
                self.bonds[p, test] = f"{max(0.0, true + rng.uniform(-0.006, 0.006)):.2f}"
        for i, (_, kind, line, cpc, _, low, high) in enumerate(self.circuits, 1):
            of, length = str(i), rng.uniform(low, high)
            r1, r2 = (length * R[x] / 1000.0 * rng.uniform(0.93, 1.0) for x in (line, cpc))
            if kind == "ring":
                for test, true in (("ring r1", r1), ("ring rn", r1 * rng.uniform(0.98, 1.02)), ("ring r2", r2)):
                    self.cells[of, test] = self.ohm(true)
                r1, r2 = r1 / 4.0, r2 / 4.0
            end = r1 + r2 + rng.uniform(0.0, 0.03)
            self.cells[of, "r1r2"] = self.ohm(end)
            self.cells[of, "insulation LN-E"] = (
                rng.choice(ABOVE) if rng.random() < 0.7 else f"{rng.uniform(12, 190):.1f}"
            )
            self.cells[of, "polarity"] = rng.choice(GOOD)
            uplift = rng.uniform(0.0, 0.12) if self.rcbo else 0.0
            helped = r2 * rng.choice((1.0, 1.0, rng.uniform(0.6, 1.0)))
            self.cells[of, "zs no-trip"] = self.ohm(self.ze + r1 + helped + uplift)
            if self.rcbo:
                self.cells[of, "rcd x1"] = f"{rng.uniform(14, 38):.1f}"
                self.cells[of, "rcd button"] = rng.choice(GOOD)
        for key in list(self.cells):
            if rng.random() < 0.03:
                del self.cells[key]  # the cell was left empty
        if rng.random() < 0.3:  # one circuit could not be got at
            of = str(rng.randint(1, len(self.circuits)))
            for test in ("ring r1", "ring rn", "ring r2", "r1r2", "insulation LN-E"):
                if (of, test) in self.cells:
                    self.cells[of, test] = "LIM"

    # ---- what was typed ----

    def text(self) -> str:
        """The visit book."""
        rng = self.rng
        out = ['[visit]\nplace = "An invented house"\ndate = 2026-11-12\nkind = "periodic"\ntemp_c = 17\n']
        pme = "pme = true\n" if self.pme else ""
        system = "TN-C-S" if self.pme else "TN-S"
        out.append(
            f'[supply]\nsystem = "{system}"\n{pme}line_mm2 = 25\nearthing_mm2 = 16\nneutral_at_most_mm2 = 35\nfuse_a = 80\n'
        )
        out.append('[[leads]]\nid = "long"\nallowed = "nulled"\nnull_ohm = 0.21\n')
        out.append('[[instrument]]\nid = "mft"\nname = "multifunction"\n')
        for p in self.parts:
            out.append(f'[[part]]\nid = "{p}"\nkind = "{p}"\nname = "{p}"\n')
        for p in self.parts:
            out.append(f'[[bond]]\npart = "{p}"\ncsa_mm2 = 10\nlength_m = {self.bond_m[p]}\n')
        rcd = "" if self.rcbo else 'rcd = { standard = "BS EN 61008", rating_a = 80, rcd_type = "A", rcd_ma = 30 }\n'
        out.append(f'[[board]]\nid = "db1"\nname = "CU"\n{rcd}')
        for i, (use, kind, line, cpc, rating, _, _) in enumerate(self.circuits, 1):
            device = (
                rng.choice((f"BS EN 61009 B{rating}", f"61009 B{rating}")) if self.rcbo else f"BS EN 60898 B{rating}"
            )
            own = 'rcd_type = "A"\nrcd_ma = 30\n' if self.rcbo else ""
            out.append(f'[[circuit]]\nid = "{i}"\nname = "{use} {i}"\nuse = "{use}"\nkind = "{kind}"\ndevice = "{device}"\n'
                       f"line_mm2 = {line:g}\ncpc_mm2 = {cpc:g}\n{own}")  # fmt: skip
        return "\n".join(out) + "\n" + "\n".join(self._steps())

    def _steps(self) -> list[str]:
        def step(*lines: str) -> str:
            return "[[step]]\n" + "\n".join(lines) + "\n"

        found = [step(f'clamp = "{x}"', 'shown = "0.0"') for x in ("earthing", *self.parts)]
        found += [step(f'isolated = "{x}"') for x in ("locked", "tester proved", "dead", "tester proved again")]
        found += [
            step(f'clamp = "{x}"', 'shown = "0.0"', 'load = "main switch off"') for x in ("earthing", *self.parts)
        ]
        found += [step('off = "earthing"'), step('read = "ze"', 'method = "two-lead"', f'shown = "{self.ze:.2f}"')]
        found += [step('on = "earthing"'), step('look = "earthing"', 'seen = "tight"', "holds = true")]
        found.append(step('check = "shorted"', 'shown = "0.00"'))
        for p in self.parts:
            found.append(step('read = "joint"', f'bond = "{p}"', f'shown = "{self.bonds[p, "joint"]}"'))
            found.append(
                step(f'off = "{p}"', 'read = "conductor"', f'bond = "{p}"', f'shown = "{self.bonds[p, "conductor"]}"')
            )
            found.append(step('read = "path"', f'bond = "{p}"', f'shown = "{self.bonds[p, "path"]}"'))
            found.append(
                step(f'on = "{p}"', 'read = "together"', f'bond = "{p}"', f'shown = "{self.bonds[p, "together"]}"')
            )
        found += self._cells(
            step, ("ring r1", "ring rn", "ring r2", "r1r2", "insulation LN-E", "polarity"), "test_v = 500"
        )
        if self.end_check:
            found.append(step('check = "shorted"', 'shown = "0.01"'))
        found.append(step('isolated = "restored"'))
        found += self._cells(step, ("zs no-trip", "rcd x1", "rcd button"), "")
        if not self.rcbo:
            found.append(
                step('of = "db1"', f'tests = {{ "rcd x1" = "{self.rng.uniform(15, 36):.1f}", "rcd button" = "pass" }}')
            )
        ka = 0.23 / self.ze
        found.append(step('read = "fault current"', 'of = "origin"', 'between = "L-N"', f'shown = "{ka * 1.05:.2f}"'))
        found.append(step('read = "fault current"', 'of = "origin"', 'between = "L-E"', f'shown = "{ka:.2f}"'))
        return found

    def _cells(self, step: Callable[..., str], tests: tuple[str, ...], more: str) -> list[str]:
        found = []
        for i in range(1, len(self.circuits) + 1):
            row = {t: self.cells[str(i), t] for t in tests if (str(i), t) in self.cells}
            if not row:
                continue
            inside = ", ".join(f'"{t}" = "{v}"' for t, v in row.items())
            lines = [f'of = "{i}"', *([more] if more else []), f"tests = {{ {inside} }}"]
            if "LIM" in row.values():
                lines.append('note = "could not be isolated, agreed with the client"')
            found.append(step(*lines))
        return found


# ---- faults, planted ----


def _any(m: Messy, test: str, kind: str = "") -> str | None:
    some = [
        of for of, t in m.cells if t == test and m.cells[of, t] != "LIM" and kind in ("", m.circuits[int(of) - 1][1])
    ]
    return m.rng.choice(some) if some else None


def _cell(test: str, digits: Callable[[random.Random], str], kind: str = "") -> Callable[[Messy], bool]:
    def plant(m: Messy) -> bool:
        of = _any(m, test, kind)
        if of is not None:
            m.cells[of, test] = digits(m.rng)
            m.end_check = True
        return of is not None

    return plant


def _bond_open(m: Messy) -> bool:
    """The conductor is cut: nothing by itself, and the pipes answer for it with all connected."""
    p = m.rng.choice(m.parts)
    m.bonds[p, "conductor"], m.bonds[p, "together"], m.end_check = "over-range", m.bonds[p, "path"], True
    return True


def _bond_high(m: Messy) -> bool:
    p = m.rng.choice(m.parts)
    m.bonds[p, "conductor"], m.end_check = f"{m.rng.uniform(0.4, 2.0):.2f}", True
    return True


def _ring_unequal(m: Messy) -> bool:
    of = _any(m, "ring rn")
    if of is None:
        return False
    m.cells[of, "ring rn"] = f"{m.rng.uniform(1.4, 2.5):.2f}"
    return True


def _ring_undivided(m: Messy) -> bool:
    """R1+R2 written down as r1 + r2."""
    of = _any(m, "r1r2", "ring")
    if of is None:
        return False
    m.cells[of, "r1r2"] = f"{m.rng.uniform(1.3, 2.2):.2f}"
    return True


# Family → how it is planted, what of the proposals or findings names it, and whether a code is asked for (else a finding will do).
FAULTS: dict[str, tuple[Callable[[Messy], bool], str, bool]] = {
    "cpc open": (_cell("r1r2", lambda _: "over-range", "radial"), r"R1\+R2|r1r2|protective conductor", True),
    "Zs too high": (_cell("zs no-trip", lambda r: f"{r.uniform(9, 30):.1f}"), r"disconnected|loop", True),
    "insulation low": (_cell("insulation LN-E", lambda r: f"{r.uniform(0.02, 0.9):.2f}"), r"insulation", True),
    "polarity wrong": (_cell("polarity", lambda _: "bad"), r"polarity", True),
    "ring cpc open": (_cell("ring r2", lambda _: "over-range"), r"ring", True),
    "ring line open": (_cell("ring r1", lambda _: "over-range"), r"ring", True),
    "ring r1 and rn apart": (_ring_unequal, r"ring", True),
    "ring R1+R2 undivided": (_ring_undivided, r"ends|ring", False),
    "RCD slow": (_cell("rcd x1", lambda r: f"{r.uniform(320, 900):.0f}"), r"residual", True),
    "RCD button dead": (_cell("rcd button", lambda _: "bad"), r"button", True),
    "bond open": (_bond_open, r"bond", True),
    "bond impaired": (_bond_high, r"bond", True),
}


def messy(number: int, fault: str = "") -> Messy | None:
    """The visit of a number, with a fault in it if one is named; None when it has no place for that fault."""
    m = Messy(number)
    return m if not fault or FAULTS[fault][0](m) else None
