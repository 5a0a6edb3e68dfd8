"""Readings of circuits, boards, electrodes, parts and the origin: one at a time, a profile, or several tests in one go."""

from __future__ import annotations

import difflib
from functools import lru_cache
from typing import Any

from attrs import evolve, frozen

from ..base.errors import Finding, Severity
from ..site.events import ABSENT, BETWEEN, CIRCUIT_TESTS, METHODS, OUTCOMES, Reading
from ..site.tests import BY_LEADS, TESTS
from .fields import Entry, short
from .places import beyond, name_of_point, place_of
from .spellings import LIM, absent_of, outcome_of
from .walk import Walk

# What each test may be of, whether its point lies on the cable of a circuit, and whether it is read from point to point.
OF = {t.name: t.of for t in TESTS}
ON_CABLE = tuple(t.name for t in TESTS if t.point)
PROFILES = tuple(t.name for t in TESTS if t.profile)


@frozen
class How:
    """How the readings of one step were taken, and what they share."""

    of: tuple[str, ...]
    leads: str
    instrument: str
    point: str
    between: str
    method: str
    test_v: float | None
    common: dict[str, Any]


@lru_cache(maxsize=1024)
def test_of(key: str) -> tuple[str, str, str] | None:
    """Test, between and method of a name such as ``zs``, ``insulation L-E``, ``rcd x1 0°``; None for any other name."""
    words = " ".join(key.split())
    for test in sorted(CIRCUIT_TESTS, key=len, reverse=True):
        if words == test:
            return test, "", ""
        if not words.startswith(test + " "):
            continue
        rest = words[len(test) + 1 :]
        for between in BETWEEN.get(test, ("",)):
            for method in METHODS.get(test, ("",)):
                if rest in (f"{between} {method}".strip(), f"{method} {between}".strip()):
                    return test, between, method
    return None


def read_one(walk: Walk, entry: Entry, test: str, common: dict[str, Any]) -> None:
    """``read = "zs"``: one reading, repeats of it, a profile over points, a word, or why there is none."""
    how = _how(walk, entry, (test,), common)
    absent, note = absence(entry, "absent", entry.text("absent")) if entry.has("absent") else ("", common["note"])
    how = evolve(how, common={**common, "note": note})
    outcome = _outcome(entry, "outcome", entry.raw("outcome")) if entry.has("outcome") else ""
    values: list[tuple[str, object]] = []
    if entry.has("at_points"):
        values = _profile(walk, entry, how, test)
    elif entry.has("shown"):
        raw = entry.raw("shown")
        values = [(how.point, value) for value in (raw if isinstance(raw, list) else [raw])]
        if not values:
            entry.fault("shown", "The list of digits is empty.", "the digits as shown", "[]")
    given = [k for k in ("shown", "at_points", "outcome", "absent") if entry.has(k)]
    wants = "outcome" if not CIRCUIT_TESTS[test].unit else "shown"
    if len(given) > 1:
        entry.fault("", "There is one reading or none, not both.", f"{wants}, or absent", " and ".join(given))
    elif not given or (given[0] != "absent" and (given[0] == "outcome") != (wants == "outcome")):
        expected = f"{wants} = …, or absent with its reason"
        entry.fault(given[0] if given else wants, f"This is not how '{test}' is entered.", expected, short(given))
    if outcome or absent or not values:
        for of in how.of or ("",):
            _keep(walk, test, evolve(how, of=(of,)), how.point, absent=absent, outcome=outcome)
    elif len(how.of) > 1:
        entry.fault(
            "of", "Several things do not show one reading.", "one thing for each reading", ", ".join(how.of)[:80]
        )
    for point, value in values:
        _value(walk, entry, "at_points" if entry.has("at_points") else "shown", test, how, point, value)


def read_many(walk: Walk, entry: Entry, common: dict[str, Any]) -> None:
    """``tests = { r1r2 = 0.62, "insulation L-E" = ">299" }``: several tests of one thing in one go."""
    tests = entry.raw("tests")
    known: list[tuple[str, tuple[str, str, str], object]] = []
    unread: list[tuple[str, Finding]] = []
    if not isinstance(tests, dict) or not tests:
        entry.fault(
            "tests", "This is no table of tests.", '{ r1r2 = 0.62, zs = 0.98, "insulation L-E" = ">299" }', short(tests)
        )
        tests = {}
    for key, value in tests.items():
        found = test_of(str(key))
        if found is None:
            near = difflib.get_close_matches(str(key), CIRCUIT_TESTS, 1)
            do = f"Did you mean '{near[0]}'?" if near else ""
            fault = (f"There is no test '{str(key)[:60]}'.", "one of: " + ", ".join(CIRCUIT_TESTS), str(key)[:80], do)
            if near:  # its value is lost, so nothing is said of the test that was meant
                unread.append((near[0], entry.cell("tests", *fault)))
            else:
                entry.fault("tests", *fault)
        else:
            known.append((str(key), found, value))
    how = _how(walk, entry, tuple(found[0] for _, found, _ in known), common)
    if len(how.of) > 1:
        entry.fault("of", "Several things do not show one reading.", "one thing for each step", ", ".join(how.of)[:80])
    # The point is where the loop or the long lead was; insulation of the same step is of the whole circuit.
    placed = [test for _, (test, _, _), _ in known if test in ON_CABLE] or [test for _, (test, _, _), _ in known]
    for key, (test, between, method), value in known:
        own = How(
            of=how.of,
            leads=how.leads if test in BY_LEADS or entry.has("leads") else "",
            instrument=how.instrument,
            point=how.point,
            between=between or (how.between if how.between in BETWEEN.get(test, ()) else ""),
            method=method or (how.method if how.method in METHODS.get(test, ()) else ""),
            test_v=how.test_v if test == "insulation" else None,
            common=how.common,
        )
        for repeat in value if isinstance(value, list) else [value]:
            _value(walk, entry, f"tests: {key}", test, own, how.point if test in placed else "", repeat)
        if isinstance(value, list) and not value:
            entry.fault(f"tests: {key}", "The list of digits is empty.", "the digits as shown", "[]")
    for test, finding in unread:
        for of in how.of[:1]:
            _keep(walk, test, evolve(how, of=(of,), leads="", test_v=None), how.point, refused=(finding,))


def _how(walk: Walk, entry: Entry, tests: tuple[str, ...], common: dict[str, Any]) -> How:
    continuity = any(t in BY_LEADS for t in tests)
    how = How(
        of=_things(walk, entry, tests),
        leads=walk.leads(entry, only=continuity),
        instrument=walk.instrument(entry),
        point=entry.text("point"),
        between=_word(entry, "between", tests, BETWEEN),
        method=_word(entry, "method", tests, METHODS),
        test_v=entry.number("test_v", "V", above=0, most=10000),
        common=common,
    )
    if (
        how.test_v is not None and "insulation" not in tests and not entry.has("tests")
    ):  # a row may lack its insulation cell
        entry.fault("test_v", "A test voltage belongs to an insulation test.", "no test_v here", f"{how.test_v:g} V")
    name_of_point(entry, "point", how.point)
    if how.point:
        for of in how.of:
            for test in tests:
                _point(walk, entry, "point", of, test, how.point)
    return how


def _word(entry: Entry, key: str, tests: tuple[str, ...], words: dict[str, tuple[str, ...]]) -> str:
    """A word of how a test was made; it must be known to one of the tests of the step."""
    typed = entry.text(key)
    if not typed or any(test not in words or typed in words[test] for test in tests):
        return typed
    known = list(dict.fromkeys(w for test in tests for w in words.get(test, ()) if w))
    if known:
        near = difflib.get_close_matches(typed, known, 1)
        do = f"Did you mean '{near[0]}'?" if near else ""
        entry.fault(key, "This is not one of the words known here.", "one of: " + ", ".join(known), typed[:80], do)
    return typed


def _things(walk: Walk, entry: Entry, tests: tuple[str, ...]) -> tuple[str, ...]:
    """What the tests were made of, each one of the right kind."""
    names = entry.names("of")
    kinds = {kind for test in tests for kind in OF[test]}
    if not names and tests:
        fitting = [name for name, kind in walk.things.items() if kind in kinds]
        if len(fitting) == 1:
            return (fitting[0],)
        entry.fault("of", "What was measured?", "one of: " + (", ".join(fitting)[:200] or "nothing entered"), "nothing")
    for name in names:
        kind = walk.things.get(name)
        if kind is None and name in walk.book.broken:
            what = f"The entry of '{name}' is broken, so its reading is not judged."
            entry.fault("of", what, "an entry that can be read", name)
        elif kind is None:
            near = difflib.get_close_matches(name, walk.things, 1)
            do = f"Did you mean '{near[0]}'?" if near else ""
            entry.fault("of", f"There is no '{name[:60]}'.", "a " + " or ".join(sorted(kinds)), name[:80], do)
        else:
            for test in tests:
                if kind not in OF[test]:
                    fits = " or ".join(OF[test])
                    entry.fault("of", f"'{test}' is no test of a {kind}.", f"a {fits}", name)
    return names


def _point(walk: Walk, entry: Entry, key: str, of: str, test: str, point: str) -> None:
    """A point that the circuit does not name is told; one that says its own place (``12 m``) is taken on."""
    circuit = walk.circuits.get(of)
    if circuit is None or test not in ON_CABLE or not point:
        return
    place, named = place_of(point), [name for name, _ in circuit.points]
    if point in named:
        return
    if place is None and named:
        near = difflib.get_close_matches(point, named, 1)
        do = f"Did you mean '{near[0]}'?" if near else "Name it in the circuit's points, or write its place, e.g. 12 m."
        what = f"Circuit '{of}' has no point '{point[:60]}', so where it lies is not known."
        entry.fault(key, what, "one of: " + ", ".join(named)[:200], point[:60], do, Severity.WARNING)
    if beyond(circuit, place):
        entry.fault(key, "This lies beyond the end of the cable.", f"up to {circuit.length_m:g} m", point)
    elif place is not None and not named:
        walk.places.setdefault(of, {})[point] = place


def _profile(walk: Walk, entry: Entry, how: How, test: str) -> list[tuple[str, object]]:
    """Readings at several points: a table point = digits, or a list in the order of the circuit's points."""
    raw = entry.raw("at_points")
    if test not in PROFILES:
        entry.fault("at_points", f"'{test}' is not read from point to point.", "one of: " + ", ".join(PROFILES), test)
    if entry.has("point"):
        entry.fault("point", "The points are given twice.", "point or at_points", "both")
    found: list[tuple[str, object]] = []
    if isinstance(raw, dict) and raw:
        found = [(str(point).strip(), value) for point, value in raw.items()]
    elif isinstance(raw, list) and raw and how.of and how.of[0] in walk.circuits:
        points = [name for name, _ in walk.circuits[how.of[0]].points]
        if len(points) != len(raw):
            expected = f"{len(points)} values, one for each point of '{how.of[0]}'"
            entry.fault("at_points", "The list does not fit the points.", expected, f"{len(raw)} values")
        found = list(zip(points, raw, strict=False)) if points else []
    elif not isinstance(raw, list) or not raw:
        entry.fault("at_points", "These are no readings at points.", '{ "2 m" = 0.18, hall = 0.20 }', short(raw))
    for point, _ in found:
        name_of_point(entry, "at_points", point)
        _point(walk, entry, "at_points", how.of[0] if how.of else "", test, point)
        if not point:
            entry.fault("at_points", "A point has no name.", "a name or a place such as 12 m", "an empty name")
    return found


def _value(walk: Walk, entry: Entry, key: str, test: str, how: How, point: str, value: object) -> None:
    """One value of one test: digits, a word, or why there is none. One that cannot be read costs itself and no other."""
    unit, function = CIRCUIT_TESTS[test].unit, CIRCUIT_TESTS[test].function
    with entry.one_cell() as said:
        what: dict[str, Any] = {}
        if absent_of(value)[0]:
            absent, note = absence(entry, key, value)
            how, what = evolve(how, common={**how.common, "note": note}), {"absent": absent}
        elif not unit:
            what = {"outcome": _outcome(entry, key, value)}
        else:
            # A few ohms to a part are read in the range for continuity, with its decimals.
            low = function == "extraneous" and "." in str(value)
            shown = entry.digits(key, value, unit, walk.step_of(how.instrument, "continuity" if low else function))
            if shown is not None and shown.digits < 0:
                entry.fault(key, "A reading of this kind is not negative.", f"0 {unit} or more", shown.text)
            what = {"shown": shown}
    _keep(walk, test, how, point, refused=said(), **what)


def _outcome(entry: Entry, key: str, value: object) -> str:
    """``good`` or ``bad``, however it was written; empty, with a finding, for anything else."""
    found = outcome_of(value)
    if not found:
        expected = "one of: " + ", ".join(OUTCOMES) + ", or a tick"
        entry.fault(key, "The outcome of this test is a word.", expected, short(value))
    return found


def absence(entry: Entry, key: str, typed: object) -> tuple[str, str]:
    """Why there is no reading (LIM, N/A …), and the reason: written beside the word, as the step's note, or both."""
    absent, own = absent_of(typed)
    note = "; ".join(x for x in (own, entry.text("note")) if x)
    if not absent:
        entry.fault(key, "This is not one of the words known here.", "one of: " + ", ".join(ABSENT), short(typed))
    elif absent == LIM and not note:
        entry.fault(key, "A limitation has its reason.", "note = why it could not be measured", "no note")
    return absent, note


def _keep(walk: Walk, test: str, how: How, point: str, **what: Any) -> None:
    walk.readings += 1
    reading = Reading(
        seq=walk.seq,
        id=f"r{walk.readings}",
        test=test,
        of=how.of[0] if how.of else "",
        leads=how.leads,
        instrument=how.instrument,
        method=how.method,
        between=how.between,
        point=point,
        test_v=how.test_v,
        **what,
        **how.common,
    )
    walk.events.append(reading)
