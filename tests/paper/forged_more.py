"""More kinds of forgery, by somebody who knows how a PDF is put together and how a document of ours is made.

Each takes a genuine document and gives one that lies in another way than those of :mod:`forged`.
"""

from __future__ import annotations

import io
import json
import re
import zlib
from collections.abc import Callable

import pikepdf
from forged import LIE, attach, attached, helvetica, rewritten
from pikepdf import Array, Dictionary, Name

MORE: dict[str, Callable[[bytes], bytes]] = {}


def saved(kind: Callable[[pikepdf.Pdf], None]) -> Callable[[pikepdf.Pdf], None]:
    """A forgery of the whole file."""

    def made(content: bytes) -> bytes:
        out = io.BytesIO()
        with pikepdf.open(io.BytesIO(content)) as pdf:
            kind(pdf)
            pdf.save(out, static_id=True)
        return out.getvalue()

    MORE[kind.__name__.replace("_", " ")] = made
    return kind


def raw(kind: Callable[[bytes], bytes]) -> Callable[[bytes], bytes]:
    """A forgery of the bytes."""
    MORE[kind.__name__.replace("_", " ")] = kind
    return kind


def facts_changed(pdf: pikepdf.Pdf, **new: object) -> None:
    said = attached(pdf, "document.json")
    said.update(new)
    attach(pdf, "document.json", json.dumps(said).encode())


@saved
def another_build_and_painted_over(pdf: pikepdf.Pdf) -> None:
    facts_changed(pdf, build="000000000000")
    page = pdf.pages[0].obj
    page.Resources.Font["/Lie"] = helvetica(pdf)
    page.Contents = Array([page.Contents, pdf.make_stream(LIE)])


@saved
def another_build_and_whited_out(pdf: pikepdf.Pdf) -> None:
    facts_changed(pdf, build="000000000000")
    page = pdf.pages[0].obj
    page.Contents = Array([page.Contents, pdf.make_stream(b"q 1 1 1 rg 0 0 600 900 re f Q")])


@saved
def another_build_and_verdict(pdf: pikepdf.Pdf) -> None:
    record = attached(pdf, "record.json")
    for bond in record["bonds"]:
        bond.update(verdict="disproved", named="open")
    rewritten(pdf, record, build="000000000000")


@saved
def no_build_said(pdf: pikepdf.Pdf) -> None:
    said = attached(pdf, "document.json")
    said.pop("build", None)
    attach(pdf, "document.json", json.dumps(said).encode())


@saved
def build_of_another_kind(pdf: pikepdf.Pdf) -> None:
    facts_changed(pdf, build=[["x"]])


@saved
def another_end_of_the_journal(pdf: pikepdf.Pdf) -> None:
    facts_changed(pdf, journal={"no": 7, "head": "a" * 64})


@saved
def version_number_with_a_blank(pdf: pikepdf.Pdf) -> None:
    record = attached(pdf, "record.json")
    record["program"] += " "
    rewritten(pdf, record, program=record["program"])


@saved
def says_otherwise(pdf: pikepdf.Pdf) -> None:
    said = attached(pdf, "document.json")
    said["says"]["place"] = "Somewhere else"
    attach(pdf, "document.json", json.dumps(said).encode())


@saved
def attached_twice(pdf: pikepdf.Pdf) -> None:
    names = pdf.Root.Names.EmbeddedFiles.Names
    names.extend([names[0], names[1]])


@saved
def record_hidden_behind_a_page(pdf: pikepdf.Pdf) -> None:
    spec = pikepdf.AttachedFileSpec(pdf, b"{}", filename="record.json").obj
    note = Dictionary(Type=Name.Annot, Subtype=Name.FileAttachment, Rect=[0, 0, 9, 9], FS=spec)
    pdf.pages[0].obj.Annots = Array([pdf.make_indirect(note)])


@saved
def stamp_below_the_page(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0].obj
    page.Resources.Font["/Lie"] = helvetica(pdf)
    page.Contents = Array([pdf.make_stream(LIE), page.Contents])


@saved
def words_moved(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0].obj
    page.Contents = Array([pdf.make_stream(b"q 1 0 0 1 2000 0 cm"), page.Contents, pdf.make_stream(b"Q")])


@saved
def mirrored(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0].obj
    page.Contents = Array([pdf.make_stream(b"q -1 0 0 1 595 0 cm"), page.Contents, pdf.make_stream(b"Q")])


@saved
def printed_otherwise(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.PZ = 2
    pdf.Root.ViewerPreferences = Dictionary(PrintPageRange=[2, 2])


@saved
def page_labels(pdf: pikepdf.Pdf) -> None:
    pdf.Root.PageLabels = Dictionary(Nums=[0, Dictionary(S=Name.D, St=5)])


@saved
def transition_and_timer(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Dur = 0
    pdf.pages[0].obj.Trans = Dictionary(S=Name.Dissolve)


@saved
def action_of_a_page(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.AA = Dictionary(O=Dictionary(S=Name.JavaScript, JS="this.pageNum=1"))


@saved
def trimmed(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.TrimBox = Array([0, 400, 595, 842])
    pdf.pages[0].obj.MediaBox = Array([0, 400, 595, 842])


@saved
def inherited_contents(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0].obj
    pdf.Root.Pages.Resources = page.Resources
    del page.Resources


@saved
def empty_signature_field(pdf: pikepdf.Pdf) -> None:
    field = pdf.make_indirect(
        Dictionary(FT=Name.Sig, T="x", V=Dictionary(Type=Name.Sig, Contents=b"", ByteRange=[0, 0, 0, 0]))
    )
    pdf.Root.AcroForm = Dictionary(Fields=Array([field]), SigFlags=3)


@saved
def saved_again(pdf: pikepdf.Pdf) -> None:
    """Nothing is changed, and yet it is not the file that we print."""


@raw
def blank_behind_the_end(content: bytes) -> bytes:
    return content + b"\n"


@raw
def another_document_before_it(content: bytes) -> bytes:
    return content[:9] + b"%All bonds proved\n" + content[9:]


@raw
def header_of_another_version(content: bytes) -> bytes:
    return content.replace(b"%PDF-1.7", b"%PDF-1.4", 1)


@raw
def packed_anew(content: bytes) -> bytes:
    """The same page packed by another packer: what is drawn is the same, the bytes are not."""
    for found in re.finditer(rb"stream\n(.*?)\nendstream", content, re.DOTALL):
        try:
            plain = zlib.decompress(found[1])
        except zlib.error:
            continue
        anew = zlib.compress(plain, 1)
        if len(anew) <= len(found[1]) and anew != found[1]:
            return content.replace(found[1], anew.ljust(len(found[1]), b"\0"), 1)
    return content + b" "


@raw
def two_documents_in_one(content: bytes) -> bytes:
    return content + content
