"""Assessments on the terminal: short by default, sums on request. Signs, words and colour say the same thing."""

from __future__ import annotations

import re
import textwrap

import click

from ..base.errors import Severity
from ..base.oneline import one_line
from ..evidence.bond import DISPROVED, NOT_SHOWN, PROVED, VERDICTS
from ..outcomes.assessment import LEAD_CHECK, Assessment
from ..outcomes.verdict import FAILS, with_named
from ..report.duties import KEEP, duties
from ..report.reviewed import notices
from ..report.stops import stops
from ..report.words import CAUTION_LINE, nothing_more
from .schedule_view import asks, counts_of_conductors, name_of, show_schedules
from .schedule_view import counts as counts_of_tests

SIGNS = {PROVED: "[=]", DISPROVED: "[/]"}
COLOURS = {PROVED: "green", DISPROVED: "red"}
# How lines of ours begin that say a verdict, a finding or a stop.
_OURS = re.compile(r"^( *)(?=\[.\]|(?:STOP|Error|Warning|Note|error|warning|note)\b)")
LOUD = {Severity.ERROR: "Error", Severity.WARNING: "Warning", Severity.NOTE: "Note"}


def show(a: Assessment, *, full: bool) -> None:
    """The whole assessment."""
    heading(a)
    alarms(a)
    for b in a.bonds:
        sign = SIGNS.get(b.verdict, "[?]")
        click.echo()
        click.secho(f"{sign} {b.part.title}: {with_named(b)}", bold=True, fg=COLOURS.get(b.verdict, "yellow"))
        paragraph(b.words)
        if full:
            for line in b.sum_in_words:
                paragraph(line, indent="      ")
    for n in a.not_judged:
        click.echo()
        click.secho(f"[!] {n.entry}: not judged, {n.why}", bold=True, fg="yellow")
    whole_site(a)
    show_schedules(a, full=full)
    findings(a)
    ledger(a)
    due(a)
    click.echo()
    paragraph(CAUTION_LINE, indent="")


def whole_site(a: Assessment) -> None:
    """What all bonds weighed as one network say, where that was worked out, and the reading that would tell most."""
    if a.site_evidence is None:
        return
    click.echo()
    click.secho("All bonds as one network", bold=True)
    paragraph(a.site_evidence.words)
    if a.site_next is not None:
        paragraph(f"Next for the whole visit: {a.site_next.blocked or a.site_next.do}")
        for caution in a.site_next.first:
            paragraph(f"- {caution}", hang="      ")


def alarms(a: Assessment) -> None:
    """Danger that is there now, before everything else."""
    for stop in stops(a):
        click.echo()
        click.secho(f"STOP. {stop.what}", bold=True, fg="red")
        for line in stop.do:
            paragraph(f"- {line}", hang="      ")
        for line in stop.because:
            paragraph(line, indent="      ")


def heading(a: Assessment) -> None:
    """Where, when, by which edition."""
    v = a.visit
    click.secho(f"{v.site.place}, {v.date.isoformat()}, {v.kind}", bold=True)
    for e in a.editions:
        click.echo(f"{e.title} ({e.why})")
    for line in notices(a):
        click.secho(line, bold=True, fg="yellow")
    counts = {w: sum(b.verdict == w for b in a.bonds) for w in VERDICTS}
    if a.bonds:
        click.echo("Bonds: " + ", ".join(f"{n} {w}" for w, n in counts.items()) + ".")
    if a.boards:
        click.echo(f"Tests of circuits: {counts_of_tests(a) or 'none entered'}.")
        conductors = counts_of_conductors(a)
        if conductors:
            click.echo(f"Protective conductors and rings: {conductors}.")
    if not (a.bonds or a.boards):
        click.echo("No bonds and no boards are entered. Add a [[part]] and a [[bond]], then the [[step]]s.")


def findings(a: Assessment) -> None:
    """The findings, loudest first; what stops the work stands at the top already."""
    quieter = [f for f in a.findings if f.severity is not Severity.STOP]
    if not quieter:
        return
    click.echo()
    click.secho("Findings", bold=True)
    for f in quieter:
        paragraph(f"{LOUD[f.severity]}: {f.sentence()}", indent="  ", hang="    ")


def due(a: Assessment) -> None:
    """What the law or the report asks for by a day, in one paragraph; whence each day comes is told by ``deadlines``."""
    dated = [d for d in duties(a).due if not d.now and d.what != KEEP]
    if dated:
        click.echo()
        days = "; ".join(f"{d.last_day} {d.what[0].lower()}{d.what[1:]}" for d in dated)
        paragraph(f"Due: {days}. How each was counted: earthwright deadlines.", indent="")


def ledger(a: Assessment) -> None:
    """What must still go back."""
    click.echo()
    if a.still_off:
        click.secho(
            "Still off: " + ", ".join(e.what for e in a.still_off) + ". Put back before anything is energised.",
            fg="red",
        )
    else:
        click.echo("Nothing is entered as still disconnected.")


def show_next(a: Assessment) -> None:
    """For each bond the next step, its worth, and the cautions before it; then circuits whose earth other metal speaks for."""
    heading(a)
    alarms(a)
    whole_site(a)
    # The leads first: the cheapest step there is, and it lets whole series count.
    order = sorted(
        a.bonds,
        key=lambda b: (
            b.next is None or b.next.test != LEAD_CHECK,
            -(b.next.worth.bits if b.next and b.next.worth else 0.0),
        ),
    )
    for b in order:
        click.echo()
        click.secho(f"{b.part.title} ({with_named(b)})", bold=True)
        if b.next is None:
            paragraph(nothing_more(b))
            continue
        paragraph(b.next.do)
        if b.next.worth is not None:
            w = b.next.worth
            paragraph(
                f"If the bond is sound, this reading proves it {w.proves:.0%} of the time; if it is broken, it shows that "
                f"{w.disproves:.0%} of the time, once the leads are shorted afterwards."
            )
        for caution in b.next.first:
            paragraph(f"- {caution}", hang="      ")
    for c in (c for c in a.circuits if asks(c.cpc)):
        assert c.cpc is not None  # one that asks is there
        click.echo()
        click.secho(f"Protective conductor of {c.circuit.id} ({c.cpc.verdict})", bold=True)
        paragraph(c.cpc.words)
    open_circuits(a)
    ledger(a)
    click.echo()
    paragraph(CAUTION_LINE, indent="")


def open_circuits(a: Assessment) -> None:
    """Circuits with a test that fails, and those whose protective conductor or ring is not proved, by their names."""
    circuits = a.circuits
    failing = {c.circuit.id: [name_of(t) for t in c.tests if t.outcome == FAILS] for c in circuits}
    said = [f"{name} ({', '.join(dict.fromkeys(tests))})" for name, tests in failing.items() if tests]
    loose = [c.circuit.id for c in circuits if (x := c.ring or c.cpc) is not None and x.verdict == NOT_SHOWN]
    for title, names, what in (
        ("Circuits that fail", said, "Put right, then test again."),
        (
            "Protective conductors not proved",
            loose,
            "R1+R2 or R2 to the furthest point; of a ring its ends and sockets.",
        ),
    ):
        if names:
            click.echo()
            click.secho(f"{title}: {len(names)}", bold=True)
            paragraph(f"{', '.join(names)}. {what}")


def paragraph(text: str, *, indent: str = "    ", hang: str | None = None) -> None:
    """Wrapped text. Only its first line may begin like a line of ours: a name in it that says ``[=]`` cannot fake a verdict."""
    rest = indent if hang is None else hang
    first, *more = textwrap.wrap(one_line(text), 98, initial_indent=indent, subsequent_indent=rest) or [indent]
    click.echo("\n".join((first, *(_OURS.sub(r"\1… ", line) for line in more))))
