"""The schedules of circuits: details and test results as rows of texts, and which of their entries are missing."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from attrs import evolve, frozen

from ..assess.circuits.highest_zs import permitted_zs
from ..assess.circuits.needs import needed
from ..base.digits import Shown
from ..base.errors import NoRule
from ..evidence.bond import DISPROVED, NOT_SHOWN
from ..outcomes.assessment import Assessment
from ..outcomes.circuits import CircuitJudged, TestJudged
from ..outcomes.verdict import FAILS, MEETS, NOT_DECIDED
from ..report.coding import edition_of
from ..report.rows import all_tests
from ..rules.circuits import disconnection_time
from ..site.at import Test
from ..site.codes import METHODS, OTHER_WIRING, WIRING
from ..site.events import Off, Reading
from ..site.fields import entered
from ..site.installation import Circuit, Device
from ..site.ledger import state_at
from ..site.needs import AFDD_BUTTON, LIVE_TO_LIVE, TO_EARTH, Need, has_rcd, lacking
from ..site.tests import BY_NAME, TESTS, called
from .digits import number, said

DASH = "–"  # does not apply to this circuit
SAME = "same"  # one device does both: its standard and rating stand with it
OF_BOARD = "board"  # the residual current device of the whole board
ONE_DEVICE = ("61009",)  # standards of devices that are both: BS EN 61009, by its title
BLANK = ""  # applies, and is not entered
BY_SYSTEM = ""  # in place of a field: it follows from the earthing arrangement
# Fields with a column of their own; the columns below say more than one field each.
MORE_DETAILS = tuple(f for f in entered(Circuit) if f.paper)
# Head of a column of the details, what it is called where it is blank, and the field of the circuit that fills it.
DETAILS = (
    ("No.", "number", "id"),
    ("Circuit", "description", "name"),
    ("Wiring", "kind of wiring", "wiring"),
    ("Ref. method", "reference method", "reference"),
    ("Points", "points served", "points"),
    ("Live mm²", "size of the live conductors", "line_mm2"),
    ("cpc mm²", "size of the protective conductor", "cpc_mm2"),
    ("Longest time to disconnect s", "longest disconnection time", BY_SYSTEM),
    ("Device, standard", "standard of the device", "device"),
    ("Type", "type of the device", "device"),
    ("In A", "rating of the device", "device"),
    ("Breaking capacity kA", "breaking capacity", "breaking_ka"),
    ("Highest Zs Ω", "highest permitted Zs", "device"),
    ("RCD, standard", "standard of the residual current device", "rcd_standard"),
    ("RCD type", "type of the residual current device", "rcd_type"),
    ("RCD In A", "rated current of the residual current device", "rcd_rating_a"),
    ("IΔn mA", "rated residual current", "rcd_ma"),
    *((f"{f.paper} {f.unit}".strip(), f.label[:1].lower() + f.label[1:], f.key) for f in MORE_DETAILS),
)


def whole(a: Assessment, c: CircuitJudged) -> CircuitJudged:
    """A circuit with every reading of it, judged or not; what was read past its cpc, while that was off, is no R2 of it."""
    tests = all_tests(a, c.circuit.id, c.tests)
    events, end = a.visit.events, f"{c.circuit.id}:cpc"
    if not any(isinstance(e, Off) and e.what == end for e in events):
        return evolve(c, tests=tests)

    def beside(r: Reading) -> bool:
        return r.test == "r2" and r.between != "free end" and end in state_at(events, r.seq).off

    kept = (evolve(t, readings=tuple(r for r in t.readings if not beside(r))) for t in tests)
    return evolve(c, tests=tuple(kept))


@frozen
class Fed:
    """What the row of a circuit needs of its board: AC or not, nominal voltage to earth [V], its residual current device.

    as_judged  whether that is what the rules were asked with; where it is not, no limit that was judged by is printed
    """

    ac: bool = True
    u0_v: float | None = None
    rcd: Device | None = None
    as_judged: bool = True


def details_row(a: Assessment, c: CircuitJudged, fed: Fed | None = None) -> tuple[str, ...]:
    """The details of a circuit in the order of :data:`DETAILS`; ``fed``: what its board has, that of the supply if left out."""
    k, d = c.circuit, c.circuit.device
    fed = fed or Fed(u0_v=a.visit.site.supply.u0_v)
    return (
        f"{k.id} {k.line}".strip(),
        k.name,
        each_length(k, "wiring") or _coded(k.wiring, k.cable),
        each_length(k, "method") or _coded(*_method(k)),
        str(len(k.points)) if k.points else BLANK,
        sized(k, "line_mm2"),
        sized(k, "cpc_mm2") if k.cpc == "core" else (sized(k, "cpc_mm2") + f" {k.cpc}").strip(),
        _longest_time(a, c, fed),
        d.standard,
        d.type,
        number(d.rating_a),
        number(d.breaking_ka),
        _highest_zs(a, c) if fed.as_judged else "no rule",
        *_rcd(d, fed.rcd),
        *(_stated(getattr(d if hasattr(d, f.name) else k, f.name)) for f in MORE_DETAILS),
    )


def sized(k: Circuit, name: str, unit: str = "") -> str:
    """A size; of a cable that changes that of each length."""
    each = each_length(k, name)
    return f"{each} {unit}".strip() if each else number(getattr(k, name), unit)


def each_length(k: Circuit, name: str) -> str:
    """What the lengths of a cable that changes say, each once and in their order; empty where not all of them do."""
    said = [getattr(s, name) for s in k.stretches]
    return ", ".join(dict.fromkeys(number(x) if isinstance(x, float) else x for x in said)) if all(said) else ""


def _stated(value: object) -> str:
    """A field in a column of its own; one that nothing is said of does not apply."""
    if isinstance(value, bool) or value is None or value in ("", ()):
        return "yes" if value is True else DASH
    return number(value) if isinstance(value, (int, float)) else str(value)


def _method(k: Circuit) -> tuple[str, str]:
    """Code of the reference method and words beside it; a code that stands where words may stand is the code."""
    return (k.reference or k.method, "") if k.method in METHODS else (k.reference, k.method)


def wiring_words(k: Circuit) -> str:
    """The kind of wiring where there is no legend of codes: what the code means, then what was said besides."""
    return ": ".join(x for x in (_meaning(WIRING, k.wiring), k.cable) if x) if _coded(k.wiring, k.cable) else BLANK


def method_words(k: Circuit) -> str:
    """The reference method where there is no legend of codes."""
    code, words = _method(k)
    return ": ".join(x for x in (_meaning(METHODS, code), words) if x)


def _meaning(known: Mapping[str, str], code: str) -> str:
    return f"{code} ({known[code]})" if code in known else code


def _coded(code: str, words: str) -> str:
    """A code with what was said besides; the code alone where nothing was. Code O without words says nothing."""
    if code == OTHER_WIRING and not words:
        return BLANK
    return f"{code}: {words}" if code and words else code or words


def _rcd(d: Device, of_board: Device | None) -> tuple[str, str, str, str]:
    """Standard, type with delay, rated current and rated residual current of the residual current device of a circuit.

    Where one device does both, its standard and rating stand once, with the device; ``board`` points to the board's own.
    """
    if not has_rcd(d):
        return (OF_BOARD if of_board is not None else DASH, DASH, DASH, DASH)
    kind = f"{d.rcd_type} {d.rcd_delay}".strip() if d.rcd_type else BLANK
    if not d.rcd_standard and d.rcd_rating_a is None and any(one in d.standard for one in ONE_DEVICE):
        return SAME, kind, SAME, number(d.rcd_ma)
    return d.rcd_standard, kind, number(d.rcd_rating_a), number(d.rcd_ma)


def _longest_time(a: Assessment, c: CircuitJudged, fed: Fed) -> str:
    """Longest time to disconnect [s]: the limit it was judged by, else the edition's for such a circuit."""
    for t in c.tests if fed.as_judged else ():
        for j in t.judged:
            if t.test == "disconnection" and j.limit is not None and j.limit.unit == "s":
                return f"{j.limit.value:g}"
    supply = a.visit.site.supply
    if supply.system is None or fed.u0_v is None:
        return BLANK
    try:
        rule = disconnection_time(
            edition_of(a),
            system=supply.system,
            u0_v=fed.u0_v,
            ac=fed.ac,
            distribution=c.circuit.use == "distribution",
            rated_a=c.circuit.device.rating_a,
            sockets=c.circuit.use == "sockets" or None,
        )
    except NoRule:
        return "no rule"
    return f"{float(rule.value):g}"


def _highest_zs(a: Assessment, c: CircuitJudged) -> str:
    """Highest permitted Zs [Ω] as judged, else worked out from the device; ``no rule`` when the data have none for it."""
    d = c.circuit.device
    # Without its device nothing can be worked out: a residual current device in front does not make up for that here.
    none = "no rule" if d.standard and d.rating_a is not None else BLANK
    for t in c.tests:
        if t.test == "zs" and t.judged:
            limit = t.judged[0].limit  # the device's own; what a residual current device allows besides comes after it
            return f"{limit.value:.2f}" if limit is not None and limit.unit == "Ω" else none
    limit = permitted_zs(a.visit, c.circuit)
    return f"{limit.value:.2f}" if limit is not None else none


def _rows(c: CircuitJudged, test: str) -> list[TestJudged]:
    return [t for t in c.tests if t.test == test]


def _has(c: CircuitJudged, test: str) -> bool:
    return any(t.readings or (t.absent and t.absent != "missing") for t in _rows(c, test))


def _worst(
    c: CircuitJudged,
    test: str,
    pick: Callable[..., Shown],
    between: tuple[str, ...] = (),
    methods: tuple[str, ...] = (),
) -> str:
    """The worst of the last digits at each point; the reason's word (LIM, N/A …) when there are none."""
    last: dict[tuple[str, str, str], Shown] = {}
    for t in _rows(c, test):
        for r in t.readings:
            wanted = (not between or r.between in between) and (not methods or r.method in methods)
            if r.shown is not None and not r.refused and wanted:
                last[r.point, r.between, r.method] = r.shown
    if last:
        return said(pick(last.values(), key=lambda s: s.value))
    return next((t.absent for t in _rows(c, test) if t.absent and t.absent != "missing"), BLANK)


def _end(c: CircuitJudged, test: Test) -> str:
    """A conductor of a ring, end to end [Ω]."""
    return _worst(c, test[0], max) if c.circuit.kind == "ring" else DASH


def _line_and_cpc(c: CircuitJudged, test: Test) -> str:
    """R1+R2 [Ω]; of a ring that of its sockets will do, and R2 stands in the place of either."""
    return _worst(c, test[0], max) or _at_sockets(c) or (DASH if _has(c, "r2") else BLANK)


def _cpc_alone(c: CircuitJudged, test: Test) -> str:
    """R2 [Ω]; R1+R2 will do."""
    return _worst(c, test[0], max) or (DASH if _has(c, "r1r2") or _at_sockets(c) else BLANK)


def _insulation(c: CircuitJudged, test: Test) -> str:
    """Insulation resistance [MΩ] between live conductors or to earth."""
    return _worst(c, test[0], min, next(pairs for pairs in (LIVE_TO_LIVE, TO_EARTH) if test[1] in pairs))


def _figure(c: CircuitJudged, test: Test) -> str:
    return _worst(c, test[0], max)


def _outcome(c: CircuitJudged, test: Test) -> str:
    return _word(c, test[0])


def _rcd_time(c: CircuitJudged, test: Test) -> str:
    """Time of the residual current device at its rated residual current [ms]."""
    return _worst(c, test[0], max, methods=(test[2], "")) if has_rcd(c.circuit.device) else DASH


def _rcd_button(c: CircuitJudged, test: Test) -> str:
    return _outcome(c, test) if has_rcd(c.circuit.device) else DASH


def _afdd_button(c: CircuitJudged, test: Test) -> str:
    return _word(c, test[0], test[2]) if c.circuit.device.afdd else DASH


def _own(c: CircuitJudged, test: Test) -> str:
    """A test with a column of its own; one that nothing is said of does not apply."""
    return (_figure(c, test) if BY_NAME[test[0]].unit else _outcome(c, test)) or DASH


def _at_sockets(c: CircuitJudged) -> str:
    """R1+R2 of a ring: the highest reading line to earth at its sockets, with the legs crossed [Ω]."""
    return _worst(c, "ring le", max) if c.circuit.kind == "ring" else BLANK


def _word(c: CircuitJudged, test: str, point: str = "") -> str:
    for t in _rows(c, test):
        if point and t.point and t.point != point:
            continue
        if t.word:
            return {"good": "good", "bad": "BAD"}.get(t.word, t.word)
        if t.absent and t.absent != "missing":
            return t.absent
    return BLANK


def _test_volts(c: CircuitJudged, _: Test) -> str:
    volts = [r.test_v for t in _rows(c, "insulation") for r in t.readings if r.test_v is not None]
    return (
        f"{volts[-1]:g}" if volts else next((t.absent for t in _rows(c, "insulation") if t.absent != "missing"), BLANK)
    )


# Head of a column of the results, the reading that it shows, and how that is printed.
_RESULTS: tuple[tuple[str, Test, Callable[[CircuitJudged, Test], str]], ...] = (
    ("r1 Ω", ("ring r1", "", ""), _end),
    ("rn Ω", ("ring rn", "", ""), _end),
    ("r2 Ω", ("ring r2", "", ""), _end),
    ("R1+R2 Ω", ("r1r2", "", ""), _line_and_cpc),
    ("R2 Ω", ("r2", "", ""), _cpc_alone),
    ("Test V", ("insulation", "", ""), _test_volts),
    ("L–L, L–N MΩ", ("insulation", LIVE_TO_LIVE[0], ""), _insulation),
    ("L–E MΩ", ("insulation", TO_EARTH[0], ""), _insulation),
    ("Polarity", ("polarity", "", ""), _outcome),
    ("Zs Ω", ("zs", "", ""), _figure),
    ("RCD ms", ("rcd", "", "x1"), _rcd_time),
    ("RCD button", ("rcd button", "", ""), _rcd_button),
    ("AFDD button", ("functional", "", AFDD_BUTTON), _afdd_button),
    *((f"{t.paper} {t.unit}".strip(), (t.name, "", ""), _own) for t in TESTS if t.paper),
)
RESULTS_READ = {head: test for head, test, _ in _RESULTS}
RESULTS = ("No.", "Circuit", *RESULTS_READ, "Remarks")
# Columns of words share what the others leave, in these parts; a column of figures is as wide as its longest figure.
_DETAILS_WIDE = {"Circuit": 1.5, "Wiring": 1.3, "Device, standard": 1.0, "RCD, standard": 0.85}
_RESULTS_WIDE = {"Circuit": 1.2, "Remarks": 2.0}
DETAILS_WIDE = tuple(_DETAILS_WIDE.get(head, 0.0) for head, *_ in DETAILS)
RESULTS_WIDE = tuple(_RESULTS_WIDE.get(head, 0.0) for head in RESULTS)


def results_row(c: CircuitJudged) -> tuple[str, ...]:
    """The test results of a circuit in the order of :data:`RESULTS`."""
    return (c.circuit.id, c.circuit.name, *(shown(c, test) for _, test, shown in _RESULTS), remarks(c))


def missing_tests(a: Assessment, c: CircuitJudged) -> tuple[Need, ...]:
    """Tests that a circuit needs and that have neither a result nor a stated reason."""
    return tuple(n for n in lacking(needed(a.visit, c.circuit), c.tests) if n.printed)


def remarks(c: CircuitJudged) -> str:
    """What must be said in the row: what fails or is not decided, why tests are absent, the ring's or the cpc's verdict, the note."""
    said_here: list[str] = []
    for outcome in (FAILS, NOT_DECIDED):
        names = dict.fromkeys(called(t.test) for t in c.tests if t.outcome == outcome and not t.absent)
        if names:
            said_here.append(f"{', '.join(names)}: {outcome}")
    if any(_by_residual(t) for t in c.tests):
        said_here.append("Zs above the highest of the overcurrent device: the residual current device disconnects")
    if c.ring is not None:
        said_here.append(f"ring {c.ring.verdict}" + (f": {c.ring.named}" if c.ring.named not in ("", "whole") else ""))
        if _at_sockets(c) and not _worst(c, "r1r2", max):
            said_here.append("R1+R2 at the sockets, legs crossed")
    cpc = c.cpc
    if cpc is not None and (cpc.verdict == DISPROVED or (cpc.verdict == NOT_SHOWN and cpc.others)):
        said_here.append(f"protective conductor {cpc.verdict}" + (f": {cpc.named}" if cpc.named else ""))
    reasons: dict[str, list[str]] = {}
    for t in c.tests:
        if t.absent and t.absent != "missing":
            reasons.setdefault(f"{t.absent}: {t.reason}" if t.reason else t.absent, []).append(called(t.test))
    said_here += [f"{', '.join(dict.fromkeys(tests))} {why}" for why, tests in reasons.items()]
    if c.circuit.note:
        said_here.append(c.circuit.note)
    return "; ".join(said_here)


def _by_residual(t: TestJudged) -> bool:
    """Whether a loop is too high for its overcurrent device and meets its limit by a residual current device."""
    return t.test == "zs" and t.outcome == MEETS and bool(t.judged) and t.judged[0].outcome == FAILS


def instruments(a: Assessment) -> tuple[tuple[str, ...], ...]:
    """Every instrument with serial number, last check and end of validity, as entered."""
    return tuple((i.name or i.id, i.serial, i.checked, i.valid_until) for i in a.visit.instruments)
