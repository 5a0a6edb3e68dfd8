"""A forger's workshop: a genuine document of ours goes in, one that lies comes out. Each kind is a function by its name.

A forger here knows the program, its formats and its hashes, has a PDF library, and rewrites whatever names the original.
"""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name

from earthwright.paper.page import hash_of

Forge = Callable[[pikepdf.Pdf], None]
KINDS: dict[str, Forge] = {}
LIE = b"q 1 1 1 rg 0 300 600 500 re f Q BT /Lie 30 Tf 60 600 Td (All bonds proved) Tj ET"


def forger(kind: Forge) -> Forge:
    KINDS[kind.__name__.replace("_", " ")] = kind
    return kind


def forged(content: bytes, *kinds: str) -> bytes:
    """The document after one or more kinds of forgery, saved as a whole."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(content)) as pdf:
        for kind in kinds:
            KINDS[kind](pdf)
        pdf.save(out, static_id=True)
    return out.getvalue()


def attached(pdf: pikepdf.Pdf, name: str) -> Any:
    return json.loads(pdf.attachments[name].get_file().read_bytes())


def attach(pdf: pikepdf.Pdf, name: str, content: bytes) -> None:
    pdf.attachments[name] = pikepdf.AttachedFileSpec(pdf, content)


def rewritten(pdf: pikepdf.Pdf, record: Any, **facts: object) -> None:
    """Record, facts and keywords made to fit each other."""
    said = attached(pdf, "document.json")
    said.update({"record": hash_of(record), **facts})
    said["says"]["hash"] = hash_of(record)
    attach(pdf, "record.json", json.dumps(record).encode())
    attach(pdf, "document.json", json.dumps(said).encode())
    pdf.docinfo["/Keywords"] = f"record {hash_of(record)}"


def helvetica(pdf: pikepdf.Pdf) -> Any:
    return pdf.make_indirect(Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica))


def fonts_of(pdf: pikepdf.Pdf, page: int = 0) -> Any:
    return pdf.pages[page].obj.Resources.Font


# ---- what is seen ----


@forger
def painted_over(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0].obj
    fonts_of(pdf)["/Lie"] = helvetica(pdf)
    page.Contents = Array([page.Contents, pdf.make_stream(LIE)])


@forger
def whited_out(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0].obj
    page.Contents = Array([page.Contents, pdf.make_stream(b"q 1 1 1 rg 0 0 600 900 re f Q")])


@forger
def drawn_as_a_picture(pdf: pikepdf.Pdf) -> None:
    picture = pdf.make_stream(b"\xff" * 300, Type=Name.XObject, Subtype=Name.Image, Width=10, Height=10, BitsPerComponent=8, ColorSpace=Name.DeviceRGB)  # fmt: skip
    page = pdf.pages[0].obj
    page.Resources["/XObject"] = Dictionary(Lie=picture)
    page.Contents = Array([page.Contents, pdf.make_stream(b"q 500 0 0 700 40 40 cm /Lie Do Q")])


@forger
def pages_swapped(pdf: pikepdf.Pdf) -> None:
    first = pdf.pages[0]
    pdf.pages.append(first)
    del pdf.pages[0]


@forger
def page_repeated(pdf: pikepdf.Pdf) -> None:
    pdf.pages.append(pdf.pages[-1])


@forger
def page_removed(pdf: pikepdf.Pdf) -> None:
    del pdf.pages[-1]


@forger
def page_added(pdf: pikepdf.Pdf) -> None:
    pdf.add_blank_page(page_size=(595, 842))


@forger
def page_cropped(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.CropBox = Array([0, 500, 595, 842])


@forger
def page_turned(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Rotate = 180


@forger
def turned_from_above(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Pages.Rotate = 180


@forger
def drawn_larger(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.UserUnit = 3


@forger
def hidden_layer(pdf: pikepdf.Pdf) -> None:
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="x"))
    page = pdf.pages[0].obj
    page.Resources["/Properties"] = Dictionary(Off=layer)
    page.Contents = Array([pdf.make_stream(b"/OC /Off BDC"), page.Contents, pdf.make_stream(b"EMC")])
    pdf.Root.OCProperties = Dictionary(OCGs=Array([layer]), D=Dictionary(OFF=Array([layer])))


@forger
def note_on_top(pdf: pikepdf.Pdf) -> None:
    note = Dictionary(
        Type=Name.Annot, Subtype=Name.FreeText, Rect=[0, 300, 595, 800], Contents="All bonds proved", DA="/Helv 30 Tf"
    )
    pdf.pages[0].obj.Annots = Array([pdf.make_indirect(note)])


@forger
def stamp_on_top(pdf: pikepdf.Pdf) -> None:
    shown = pdf.make_stream(LIE, Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 595, 842], Resources=Dictionary(Font=Dictionary(Lie=helvetica(pdf))))  # fmt: skip
    note = Dictionary(Type=Name.Annot, Subtype=Name.Stamp, Rect=[0, 0, 595, 842], AP=Dictionary(N=shown), F=4)
    pdf.pages[0].obj.Annots = Array([pdf.make_indirect(note)])


@forger
def field_on_top(pdf: pikepdf.Pdf) -> None:
    field = pdf.make_indirect(
        Dictionary(
            Type=Name.Annot, Subtype=Name.Widget, FT=Name.Tx, T="x", V="All bonds proved", Rect=[0, 300, 595, 800], F=4
        )
    )
    pdf.pages[0].obj.Annots = Array([field])
    pdf.Root.AcroForm = Dictionary(Fields=Array([field]), NeedAppearances=True)


@forger
def glyphs_swapped(pdf: pikepdf.Pdf) -> None:
    """Two letters of the first font draw each other; not one byte of a page changes."""
    for font in fonts_of(pdf).values():
        inner = font.DescendantFonts[0]
        inner["/CIDToGIDMap"] = pdf.make_stream(b"".join((i ^ 1).to_bytes(2, "big") for i in range(256)))


@forger
def font_swapped(pdf: pikepdf.Pdf) -> None:
    name = next(iter(fonts_of(pdf).keys()))
    fonts_of(pdf)[name] = helvetica(pdf)


@forger
def text_of_the_font_swapped(pdf: pikepdf.Pdf) -> None:
    for font in fonts_of(pdf).values():
        font.ToUnicode.write(font.ToUnicode.read_bytes().replace(b"<0070>", b"<0071>"))


@forger
def see_through(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0].obj
    page.Resources["/ExtGState"] = Dictionary(Gone=Dictionary(ca=0, CA=0))
    page.Contents = Array([pdf.make_stream(b"/Gone gs"), page.Contents])


@forger
def letters_taken_out(pdf: pikepdf.Pdf) -> None:
    page = pdf.pages[0].obj
    page.Contents = pdf.make_stream(page.Contents.read_bytes()[:2000])


# ---- what lies behind ----


@forger
def script(pdf: pikepdf.Pdf) -> None:
    pdf.Root.OpenAction = Dictionary(S=Name.JavaScript, JS="app.alert('All bonds proved')")


@forger
def another_file(pdf: pikepdf.Pdf) -> None:
    attach(pdf, "certificate.txt", b"All bonds proved")


@forger
def title_changed(pdf: pikepdf.Pdf) -> None:
    pdf.docinfo["/Title"] = "Certificate: all bonds proved"


@forger
def metadata_changed(pdf: pikepdf.Pdf) -> None:
    pdf.Root.Metadata.write(pdf.Root.Metadata.read_bytes().replace(b"dc:title><", b"dc:title>x<"))


@forger
def outline_changed(pdf: pikepdf.Pdf) -> None:
    entry = pdf.Root.Outlines.get("/First") or pdf.Root.Outlines
    entry["/Title"] = pikepdf.String("All bonds proved")


@forger
def read_aloud_otherwise(pdf: pikepdf.Pdf) -> None:
    kids = pdf.Root.StructTreeRoot.get("/K")
    first = kids[0] if isinstance(kids, Array) else kids
    first["/ActualText"] = pikepdf.String("All bonds proved")


# ---- the record ----


@forger
def visit_book_removed(pdf: pikepdf.Pdf) -> None:
    del pdf.attachments["visit.toml"]


@forger
def visit_book_removed_and_record_rewritten(pdf: pikepdf.Pdf) -> None:
    del pdf.attachments["visit.toml"]
    verdict_turned(pdf)


@forger
def verdict_turned(pdf: pikepdf.Pdf) -> None:
    record = attached(pdf, "record.json")
    for bond in record["bonds"]:
        bond.update(verdict="proved", named="")
    rewritten(pdf, record)


@forger
def another_version(pdf: pikepdf.Pdf) -> None:
    record = attached(pdf, "record.json")
    record["program"] = "0.0.9"
    rewritten(pdf, record, program="0.0.9")


@forger
def another_version_and_verdict(pdf: pikepdf.Pdf) -> None:
    another_version(pdf)
    record = attached(pdf, "record.json")
    record["bonds"][0].update(verdict="disproved", named="open")
    rewritten(pdf, record)


@forger
def unknown_document(pdf: pikepdf.Pdf) -> None:
    rewritten(pdf, attached(pdf, "record.json"), document="safety certificate")


@forger
def another_creator(pdf: pikepdf.Pdf) -> None:
    pdf.docinfo["/Creator"] = "Typst 0.9"


@forger
def digits_changed(pdf: pikepdf.Pdf) -> None:
    book = pdf.attachments["visit.toml"].get_file().read_bytes().decode()
    place = book.index("shown = 0.") + len("shown = 0.")
    attach(pdf, "visit.toml", (book[:place] + ("9" if book[place] != "9" else "8") + book[place + 1 :]).encode())


@forger
def book_of_another_visit(pdf: pikepdf.Pdf) -> None:
    attach(pdf, "visit.toml", b'[visit]\nplace = "Elsewhere"\ndate = 2026-11-20\nkind = "bonding"\n')


@forger
def record_of_another_visit(pdf: pikepdf.Pdf) -> None:
    record = attached(pdf, "record.json")
    record["visit"]["site"]["place"] = "Elsewhere"
    rewritten(pdf, record)


@forger
def draft_mark_denied(pdf: pikepdf.Pdf) -> None:
    said = attached(pdf, "document.json")
    said["draft"] = "" if said["draft"] else "Draft: not everything is back"
    attach(pdf, "document.json", json.dumps(said).encode())


# Together with these a lie could pass before: what could not be checked was counted as agreement.
DOORS = ("another version", "visit book removed and record rewritten", "unknown document", "another creator")
