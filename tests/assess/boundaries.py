"""Every limit of the live tests just below, at and just above: what is entered, and the outcome that must follow.

The limits are written here as printed, apart from the rule data.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from attrs import evolve, frozen
from live_visit import B32, clamp, isolated, judge, off, read, rows, visit, volts

from earthwright.outcomes.circuits import TestJudged
from earthwright.site.installation import Board, Circuit, Device, Electrode, Supply

M, F = "meets", "fails"
COLD20 = {"conductor_c": 20.0}  # conductors that stay as they are tested: hot and cold are the same


@frozen
class Edge:
    """One limit.

    what, limit  in words and as printed;  tries  entered digits with the outcome that must follow: below, at, above
    outcome  from the digits entered to the outcome that the tool gives
    """

    what: str
    limit: str
    tries: tuple[tuple[str, str], ...]
    outcome: Callable[[str], str]


def of_limit(row: TestJudged, what: str) -> str:
    """The outcome of the one comparison whose limit bears a name."""
    (only,) = [j for j in row.judged if j.limit is not None and what in j.limit.what]
    return only.outcome


def one(v: Any, of: str, test: str, what: str) -> str:
    (row,) = rows(v, of, test)
    return of_limit(row, what)


def circuit(**more: Any) -> Circuit:
    return evolve(Circuit("c1", "db1", use="sockets", device=B32), **more)


def _zs(device: Device, what: str, *, ze: str = "", supply: Supply | None = None, **more: Any) -> Callable[[str], str]:
    def outcome(digits: str) -> str:
        events = [read("zs", "c1", digits, method="two-lead")]
        if ze:
            events = [off("earthing"), read("ze", "origin", ze), *events]
        v = visit(*events, circuits=(circuit(device=device, **more),), supply=supply)
        return one(v, "c1", "zs", what)

    return outcome


def _rcd(device: Device, method: str, what: str, **more: Any) -> Callable[[str], str]:
    return lambda digits: one(
        visit(read("rcd", "c1", digits, method=method), circuits=(circuit(device=device),), **more), "c1", "rcd", what
    )


def _electrode(ma: float) -> Callable[[str], str]:
    def outcome(digits: str) -> str:
        v = visit(
            off("earthing"),
            read("electrode", "rod", digits, method="rod alone"),
            supply=Supply("TT"),
            boards=(Board("db1", rcd=Device(rcd_type="A", rcd_ma=ma)),),
            electrodes=(Electrode("rod"),),
        )
        return one(v, "rod", "electrode", f"{ma:g} mA")

    return outcome


def _stable(digits: str) -> str:
    v = visit(
        off("earthing"),
        read("electrode", "rod", digits, method="rod alone"),
        supply=Supply("TT"),
        electrodes=(Electrode("rod"),),
    )
    (row,) = rows(v, "rod", "electrode")
    return "noted" if "electrode.unstable" in {f.family for f in row.findings} else "not noted"


def _stakes(digits: str) -> str:
    # The mean is 20 Ω: one position lies at 20 + x, another at 20 - x, x is what was entered.
    near, far = f"{20 - float(digits):.2f}", f"{20 + float(digits):.2f}"
    v = visit(
        off("earthing"),
        read("electrode", "rod", near, method="stakes", point="nearer"),
        read("electrode", "rod", "20.00", method="stakes", point="middle"),
        read("electrode", "rod", far, method="stakes", point="farther"),
        supply=Supply("TT"),
        electrodes=(Electrode("rod"),),
    )
    (row,) = rows(v, "rod", "electrode")
    return "disagree" if "electrode.stakes" in {f.family for f in row.findings} else "agree"


def _breaking(digits: str) -> str:
    v = visit(read("fault current", "db1", digits, between="L-N"), circuits=(circuit(),))
    return one(v, "db1", "fault current", "breaking capacity")


def _ze(system: str) -> Callable[[str], str]:
    return lambda digits: one(
        visit(off("earthing"), read("ze", "origin", digits), supply=Supply(system)), "origin", "ze", "usually declared"
    )


def _drop(use: str, i_a: float) -> Callable[[str], str]:
    # 1.25 mV/(A·m): 35 mm², two-core, 70 °C.
    def outcome(digits: str) -> str:
        c = circuit(
            use=use,
            line_mm2=35.0,
            length_m=float(digits),
            length_tol_m=0.0,
            design_a=i_a,
            cable="70 °C thermoplastic, two-core",
        )
        return one(visit(circuits=(c,)), "c1", "voltage drop", "voltage drop")

    return outcome


def _supplementary(digits: str) -> str:
    c = circuit(location="701")
    v = visit(read("supplementary", "c1", digits, point="tap to radiator"), circuits=(c,))
    return one(v, "c1", "supplementary", "supplementary")


def _disconnection(digits: str) -> str:
    v = visit(read("zs", "c1", digits), circuits=(circuit(**COLD20),))
    return one(v, "c1", "disconnection", "0.4 s")


def _cpc(digits: str) -> str:
    device = Device("BS 3036", "", 30.0, curve=((100.0, 5.0), (230.0, 0.25), (400.0, 0.1)))
    c = circuit(device=device, cpc_mm2=float(digits), cable="70 °C thermoplastic", **COLD20)
    return one(visit(read("zs", "c1", "1.00"), circuits=(c,)), "c1", "adiabatic", "area")


def _let_through(digits: str) -> str:
    c = circuit(device=evolve(B32, let_through_a2s=float(digits)), cpc_mm2=1.0)
    v = visit(read("zdb", "db1", "0.20"), read("zs", "c1", "0.60"), circuits=(c,))
    return one(v, "c1", "adiabatic", "let-through")


def _special(digits: str) -> str:
    c = circuit(location="bathroom", device=evolve(B32, rcd_type="A", rcd_ma=float(digits)))
    return one(visit(circuits=(c,)), "c1", "special location", "residual")


def _met(digits: str) -> str:
    found = judge(visit(volts("MET to true earth", digits, "heater on"))).alarms
    return found[0].kind if found else "none"


def _ln(digits: str) -> str:
    v = visit(volts("L-N", digits, "heater on"), volts("MET-earth", "30", "heater on"))
    return judge(v).alarms[0].kind


def _after(digits: str) -> str:
    v = visit(isolated(), clamp("gas", digits, "after isolation"))
    found = judge(v).alarms
    return found[0].kind if found else "none"


def three(below: str, at: str, above: str, outcomes: tuple[str, str, str] = (M, M, F)) -> tuple[tuple[str, str], ...]:
    return tuple(zip((below, at, above), outcomes, strict=True))


DESIGN, BY_T, CUSTOM = "Zs at working temperature", "by temperature", "customary"
GENERAL = Device("BS EN 61009", "B", 32.0, rcd_type="A", rcd_ma=30.0)
S_TYPE = Device("BS EN 61008", "", None, rcd_type="A", rcd_ma=100.0, rcd_delay="S")
OLD_RCD = Device("BS 4293", "", None, rcd_type="AC", rcd_ma=30.0)
OLD_DAY = {"date": __import__("datetime").date(2021, 5, 3)}
LOST, SIGN, AFTER = "lost supply neutral", "sign of a lost supply neutral", "current after isolation"

EDGES = (
    Edge("Zs, B 32 A, 0.4 s", "1.37 Ω", three("1.36", "1.37", "1.38"), _zs(B32, DESIGN, **COLD20)),
    Edge(
        "Zs, C 16 A, 0.4 s",
        "1.37 Ω",
        three("1.36", "1.37", "1.38"),
        _zs(Device("BS EN 60898", "C", 16.0), DESIGN, **COLD20),
    ),
    Edge(
        "Zs, D 10 A, 0.4 s",
        "1.09 Ω",
        three("1.08", "1.09", "1.10"),
        _zs(Device("BS EN 60898", "D", 10.0), DESIGN, **COLD20),
    ),
    Edge(
        "Zs, BS 3036 30 A, 0.4 s",
        "1.04 Ω",
        three("1.03", "1.04", "1.05"),
        _zs(Device("BS 3036", "", 30.0), DESIGN, **COLD20),
    ),
    Edge(
        "Zs, BS 88-2 32 A, 5 s (distribution)",
        "1.70 Ω",
        three("1.69", "1.70", "1.71"),
        _zs(Device("BS 88-2", "gG", 32.0), DESIGN, **{**COLD20, "use": "distribution"}),
    ),
    Edge(
        "Zs, BS 88-3 32 A, 0.4 s",
        "0.91 Ω",
        three("0.90", "0.91", "0.92"),
        _zs(Device("BS 88-3", "", 32.0), DESIGN, **COLD20),
    ),
    Edge(
        "Zs measured cold by temperature, Ze 0.17 Ω: 0.17 + (1.37 − 0.17)/1.2",
        "1.17 Ω",
        three("1.16", "1.17", "1.18"),
        _zs(B32, BY_T, ze="0.17"),
    ),
    Edge("Zs measured cold, 0.8 × 1.37 Ω", "1.096 Ω", three("1.095", "1.096", "1.097"), _zs(B32, CUSTOM)),
    Edge(
        "Zs in a TT system, 30 mA",
        "1667 Ω",
        three("1666", "1667", "1668"),
        _zs(GENERAL, "30 mA", supply=Supply("TT")),
    ),
    Edge(
        "Zs in a TT system, 300 mA",
        "167 Ω",
        three("166", "167", "168"),
        _zs(Device(rcd_type="A", rcd_ma=300.0), "300 mA", supply=Supply("TT")),
    ),
    Edge(
        "disconnection, B 32 A: Ia 160 A at c·U0/Zs",
        "1.365625 Ω",
        three("1.365624", "1.365625", "1.365626"),
        _disconnection,
    ),
    Edge("RCD at its rated current", "300 ms", three("299.9", "300.0", "300.1"), _rcd(GENERAL, "x1", "within")),
    Edge("RCD at five times", "40 ms", three("39.9", "40.0", "40.1"), _rcd(GENERAL, "x5", "×5 IΔn opens within")),
    Edge(
        "RCD at half stays closed",
        "2000 ms",
        three("1999.9", "2000.0", "2000.1", (F, M, M)),
        _rcd(GENERAL, "x0.5", "closed"),
    ),
    Edge(
        "S type at its rated current, latest", "500 ms", three("499.9", "500.0", "500.1"), _rcd(S_TYPE, "x1", "within")
    ),
    Edge(
        "S type at its rated current, earliest",
        "130 ms",
        three("129.9", "130.0", "130.1", (F, M, M)),
        _rcd(S_TYPE, "x1", "not before"),
    ),
    Edge(
        "BS 4293 at its rated current",
        "200 ms",
        three("199.9", "200.0", "200.1"),
        _rcd(OLD_RCD, "x1", "×1 ", **OLD_DAY),
    ),
    Edge("RA with 30 mA", "1667 Ω", three("1666", "1667", "1668"), _electrode(30.0)),
    Edge("RA with 100 mA", "500 Ω", three("499", "500", "501"), _electrode(100.0)),
    Edge("RA with 300 mA", "167 Ω", three("166", "167", "168"), _electrode(300.0)),
    Edge("RA with 500 mA", "100 Ω", three("99.9", "100.0", "100.1"), _electrode(500.0)),
    Edge(
        "RA may not be stable",
        "200 Ω",
        three("199", "200", "201", ("not noted", "not noted", "noted")),
        _stable,
    ),
    Edge(
        "three stakes, furthest from their mean of 20 Ω",
        "5 % = 1.00 Ω",
        three("0.99", "1.00", "1.01", ("agree", "agree", "disagree")),
        _stakes,
    ),
    Edge("fault current, 6 kA device", "6 kA", three("5.99", "6.00", "6.01"), _breaking),
    Edge("Ze, TN-C-S", "0.35 Ω", three("0.34", "0.35", "0.36"), _ze("TN-C-S")),
    Edge("Ze, TN-S", "0.8 Ω", three("0.79", "0.80", "0.81"), _ze("TN-S")),
    Edge(
        "voltage drop, other uses: 115 A, 1.25 mV/(A·m)", "80 m", three("79.9", "80.0", "80.1"), _drop("sockets", 115.0)
    ),
    Edge("voltage drop, lighting: 69 A, 1.25 mV/(A·m)", "80 m", three("79.9", "80.0", "80.1"), _drop("lighting", 69.0)),
    Edge("supplementary bonding, B 32 A", "0.3125 Ω", three("0.3124", "0.3125", "0.3126"), _supplementary),
    Edge(
        "cpc: 230 A for 0.25 s, k 115",
        "1 mm²",
        three("0.999", "1.0", "1.001", (F, M, M)),
        _cpc,
    ),
    Edge("let-through energy, 1.0 mm², k 115", "13225 A²s", three("13224", "13225", "13226"), _let_through),
    Edge("RCD of a bathroom circuit", "30 mA", three("10", "30", "100"), _special),
    Edge("MET to true earth, looked into", "25 V", three("24", "25", "26", ("none", SIGN, SIGN)), _met),
    Edge("MET to true earth, danger", "50 V", three("49", "50", "51", (SIGN, LOST, LOST)), _met),
    Edge("line to neutral with load, lowest", "216.2 V", three("216", "216.2", "217", (LOST, SIGN, SIGN)), _ln),
    Edge("line to neutral with load, highest", "253 V", three("252", "253", "254", (SIGN, SIGN, LOST)), _ln),
    Edge("current in a bond after isolation", "1 A", three("0.99", "1.00", "1.01", ("none", "none", AFTER)), _after),
)
