"""Commands that sign and check: ``sign`` for a visit book or a document, ``verify`` for a document.

``verify`` has four answers, each with its exit code: those of :data:`EXITS`, and what is not a record of ours.
"""

from __future__ import annotations

import datetime as dt
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ..base.errors import EarthwrightError, VisitBookError
from ..base.oneline import one_line
from ..paper.answers import AGREES, CANNOT, DIFFERS, NOT_ASKED, Check, answer
from ..site.particulars import ELECTRONIC, PEN, ROLES, TYPED
from ..visitbook.write import toml_text
from .exits import Exit, Refused
from .files import REPLACE, free, read_bytes, write
from .main import main
from .screen import paragraph

if TYPE_CHECKING:
    from ..paper.verify import Verified
    from ..site.visit import Visit

LARGEST_SECRET = 4096
EXITS = {AGREES: Exit.DONE, DIFFERS: Exit.FOUND, CANNOT: Exit.UNCHECKED}
_SIGNS = {AGREES: "[=]", DIFFERS: "[/]", CANNOT: "[?]", NOT_ASKED: "[ ]"}
_CLOSING = {
    AGREES: "Agrees: paper, files inside, hashes, readings and signatures were compared, and nothing differs.",
    DIFFERS: "Differs. Do not rely on this document before that is cleared up.",
    CANNOT: "Cannot be checked here. Nothing was found that differs, but not everything was compared: do not take it as agreement.",
}


@main.command()
@click.argument("target", type=click.Path(path_type=Path))
@click.option(
    "--role",
    "roles",
    type=click.Choice(ROLES),
    required=True,
    multiple=True,
    help="In which role; once for each of them.",
)
@click.option("--name", default="", help="Who signs (visit book).")
@click.option("--position", default="", help="Their position (visit book).")
@click.option("--firm", default="", help="Their firm (visit book).")
@click.option("--pen", is_flag=True, help="The paper will be signed in ink (visit book).")
@click.option("--electronic", is_flag=True, help="The document will be signed with your certificate (visit book).")
@click.option("--key", type=click.Path(path_type=Path), help="Your certificate with its key, PKCS#12 (document).")
@click.option("--pass-fd", type=int, help="Read the pass phrase from this file descriptor instead of asking.")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), help="Where the signed document goes; else into the same file."
)
@REPLACE
def sign(
    target: Path,
    roles: tuple[str, ...],
    name: str,
    position: str,
    firm: str,
    pen: bool,
    electronic: bool,
    key: Path | None,
    pass_fd: int | None,
    output: Path | None,
    replace: bool,
) -> None:
    """Sign a visit book in a role, or a document electronically.

    A visit book gets a [[sign]] entry with name, time and the hash of what was signed; any later change of the visit
    voids it. A document (PDF) gets an electronic signature made with your own certificate; the pass phrase is asked for.
    """
    if target.suffix.lower() == ".pdf":
        if output is not None and output != target:
            free(output, replace=replace)
        _sign_document(target, roles, key, pass_fd, output or target)
    elif key is not None:
        raise click.UsageError("--key signs a document. A visit book is signed with --name.")
    else:
        if pen and electronic:
            raise click.UsageError("Either in ink or electronically.")
        _sign_book(target, roles, name, position, firm, PEN if pen else ELECTRONIC if electronic else TYPED)


def _sign_book(target: Path, roles: Sequence[str], name: str, position: str, firm: str, how: str) -> None:
    from ..visitbook import read_book, read_text

    if not name.strip():
        raise click.UsageError("Who signs? Give --name.")
    try:
        book = read_book(target)
        text = target.read_bytes().decode("utf-8-sig")
    except VisitBookError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.NOT_OURS)
    faults = [f for f in book.findings if f.not_read]
    if book.visit is None or faults:
        click.echo("Not signed: entries could not be read. See: earthwright judge", err=True)
        for f in faults:
            click.echo(f"  {f.sentence()}", err=True)
        sys.exit(Exit.UNREAD)
    for role in roles:
        _may_sign(book.visit, role)
    content = book.visit.paperwork.content
    given = {
        "name": name.strip(),
        "at": dt.datetime.now().astimezone().isoformat(timespec="minutes"),
        "position": position,
        "firm": firm,
        "content": content,
        "how": how,
    }
    signed = text if text.endswith("\n") or not text else text + "\n"
    for role in dict.fromkeys(roles):
        act = {"role": role, **given}
        signed += "\n[[sign]]\n" + "".join(f"{k} = {toml_text(v)}\n" for k, v in act.items() if v)
    after = read_text(signed, str(target)).visit
    assert after is not None  # it was readable, and one entry was added
    if not after.paperwork.holds(after.paperwork.signs[-1]):
        raise Refused("Not signed: the entry would not hold; the visit book ends in a way that swallows it.")
    write(target, signed.encode(), replace=True)
    click.echo(f"Signed: {', '.join(dict.fromkeys(roles))}, {name.strip()}. Version {content[:16]}…")
    click.echo(
        "This is a name, a time and a hash; it does not prove by itself who typed it. Any change of the visit voids it."
    )


def _may_sign(visit: Visit, role: str) -> None:
    """Nobody signs for new work that does not comply: it is put right, or its departure is entered before."""
    from ..assess import assess
    from ..paper.requirements import certificate_of, does_not_comply

    lacks = does_not_comply(assess(visit), certificate_of(visit.kind, role))
    if not lacks:
        return
    lines = "\n".join(f"  - {m.sentence()}" for m in lacks)
    raise Refused(f"Not signed as {role}: {len(lacks)} results do not comply, or are not decided.\n{lines}")


def _sign_document(target: Path, roles: Sequence[str], key: Path | None, pass_fd: int | None, output: Path) -> None:
    from ..paper.requirements import does_not_comply
    from ..paper.signatures import signature_checks
    from ..paper.signing import sign_pdf
    from ..paper.verify import verify as ask

    if key is None:
        raise click.UsageError("A document is signed with your own certificate: give --key FILE.p12")
    content = _bytes(target)
    try:
        found = ask(content, dt.date.today())
        if found.draft:
            raise Refused(f"Not signed: this is a draft ({found.draft}). Complete the visit and print it again.")
        checks = (*found.checks, *signature_checks(content, found.assessment, found.record, announced=False))
        if answer(checks) != AGREES:
            _show(found, checks)
            raise Refused("Not signed: not everything in this document could be compared and agrees.")
        lacks = does_not_comply(found.assessment, found.document) if found.assessment else []
        if lacks:
            raise Refused("Not signed: " + "; ".join(m.what[0].lower() + m.what[1:] for m in lacks) + ".")
        signed, phrase = content, _pass_phrase(pass_fd)
        for role in dict.fromkeys(roles):
            signed = sign_pdf(signed, role, key, phrase, found.record)
    except EarthwrightError as error:
        raise Refused(str(error)) from error
    write(output, signed, replace=True)
    click.echo(
        f"Signed electronically: {', '.join(dict.fromkeys(roles))}. Check it with: earthwright verify {one_line(str(output))}"
    )


def _pass_phrase(pass_fd: int | None) -> bytes:
    """The pass phrase, asked for without echo or read from an open file descriptor; never from the command line."""
    if pass_fd is None:
        return str(click.prompt("Pass phrase of the key", hide_input=True, default="", show_default=False)).encode()
    try:
        with os.fdopen(pass_fd, "rb", closefd=False) as pipe:
            return pipe.read(LARGEST_SECRET).rstrip(b"\r\n")
    except OSError as error:
        raise click.UsageError(f"File descriptor {pass_fd} cannot be read: {error.strerror}.") from error


def _bytes(path: Path) -> bytes:
    from ..paper.attachments import LARGEST_FILE

    return read_bytes(path, LARGEST_FILE + 1)


@main.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--trust",
    multiple=True,
    type=click.Path(path_type=Path),
    help="Certificate of a signer or authority you trust (PEM, DER).",
)
@click.option("--journal", default="", help="Journal to look the visit up in: a file, or postgresql://… of an office.")
def verify(file: Path, trust: tuple[Path, ...], journal: str) -> None:
    """Check a document: do paper, record, readings, signatures and journal agree, and what would today's rules say."""
    from ..paper.attachments import CannotRead
    from ..paper.signatures import signature_checks
    from ..paper.signing import CannotSign
    from ..paper.verify import verify as ask

    content = _bytes(file)
    try:
        found = ask(content, dt.date.today())
        signatures = signature_checks(content, found.assessment, found.record, [_bytes(p) for p in trust])
    except CannotRead as error:
        click.echo(f"{one_line(str(file))}: not a record of ours. {one_line(str(error))}", err=True)
        sys.exit(Exit.NOT_OURS)
    except CannotSign as error:
        raise click.UsageError(str(error)) from error
    checks = (*found.checks, *signatures, _journal(journal, found))
    _show(found, checks)
    click.echo()
    for line in found.today:
        paragraph(line, indent="")
    click.echo()
    click.secho(_CLOSING[answer(checks)], bold=True)
    sys.exit(EXITS[answer(checks)])


def _show(found: Verified, checks: Sequence[Check]) -> None:
    click.secho(f"{found.document}, record {found.record}", bold=True)
    if found.draft:
        paragraph(f"{found.draft}. This is not a finished document.", indent="")
    for c in checks:
        paragraph(f"{_SIGNS[c.outcome]} {c.name}: {c.outcome}. {one_line(c.words)}", indent="", hang="    ")


def _journal(journal: str, found: Verified) -> Check:
    """Whether the journal is whole and holds the very visit that stands in the document, signatures and all."""
    from .keep import opened

    name = "journal"
    if not journal:
        return Check(name, NOT_ASKED, "Name one with --journal.")
    if found.assessment is None:
        return Check(name, CANNOT, "Without the visit book inside, nothing can be looked for.")
    with opened(journal) as desk:
        from ..desk.anchors import events_since, printed_from
        from ..records.verify import Head

        signed = found.assessment.visit.paperwork.given()
        quick = printed_from(desk, found.content, signed, found.journal)
        if quick is not None:
            visit, count, fault = quick
            since = f"; entries made in it since: {count}" if count else ""
            if fault:
                return Check(name, DIFFERS, f"Visit {visit[:8]}: {fault} See: earthwright keep check")
            return Check(
                name,
                AGREES,
                f"Visit {visit[:8]} in it is the one this document was printed from{since}; its entries are as they were kept. "
                "The rest of the journal was not looked at: earthwright keep check does.",
            )
        whole = desk.verify(heads=[Head("document", *found.journal)] if found.journal[0] else [])
        if not whole.whole:
            said = " ".join(f.what for f in whole.faults[:3])
            return Check(name, DIFFERS, f"{said} See: earthwright keep check")
        v = (
            found.assessment.visit
        )  # of a document that was never issued nothing is noted: those of the same day come first
        for line in sorted(desk.visits(), key=lambda x: (x.date != v.date.isoformat(), x.place != v.site.place)):
            later = events_since(line.id, desk.store.arrivals(line.id), found.content, signed)
            if later is not None:
                since = f"; entries made in it since: {later}" if later else ""
                words = f"Whole, and visit {line.id[:8]} in it is the one this document was printed from{since}."
                return Check(name, AGREES, words)
    return Check(name, DIFFERS, "Whole, but no visit in it is or was the one this document was printed from.")
