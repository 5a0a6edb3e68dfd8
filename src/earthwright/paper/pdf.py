"""Pages as PDF, made to PDF/A-3a (archival) and PDF/UA-1 (accessible) at once, with files inside; the same bytes for the same input."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Literal

from attrs import frozen

from ..outcomes.assessment import Assessment
from .glyphs import printable
from .rowheaders import with_row_headers

HERE = Path(__file__).parent
STANDARDS: list[Literal["a-3a", "ua-1"]] = ["a-3a", "ua-1"]


@frozen
class Attached:
    """A file inside the PDF. ``relationship`` is that of ISO 19005-3: source, data, alternative, supplement."""

    name: str
    content: bytes
    mime: str
    relationship: str
    about: str


def bonding_record(
    a: Assessment, book: str = "", journal: tuple[int, str] = (0, ""), photos: Mapping[str, bytes | str] | None = None
) -> bytes:
    """The bonding record of an assessment as PDF, printed whatever is missing."""
    from .documents import make_document

    return make_document(a, "bonding record", book=book, draft=True, journal=journal, photos=photos or {})


def print_page(
    template: str, page: Mapping[str, object], figures: Mapping[str, str | bytes], attached: Sequence[Attached] = ()
) -> bytes:
    """Set a template with its data as PDF."""
    made = _set(template, page, figures, attached, format="pdf", pdf_standards=STANDARDS)
    assert isinstance(made, bytes)  # a single document comes back as bytes
    return with_row_headers(made)


def picture_pages(
    template: str, page: Mapping[str, object], figures: Mapping[str, str | bytes], ppi: float
) -> list[bytes]:
    """The pages of a template as PNG, to look at on a screen. ``ppi``: pixels for each inch."""
    made: Any = _set(template, page, figures, (), format="png", ppi=ppi)
    return [made] if isinstance(made, bytes) else list(made)


def _set(
    template: str,
    page: Mapping[str, object],
    figures: Mapping[str, str | bytes],
    attached: Sequence[Attached],
    **options: Any,
) -> object:
    """Set a template with its data in a folder of its own, which is gone afterwards."""
    import typst

    with tempfile.TemporaryDirectory(prefix="earthwright-") as folder:
        root = Path(folder)
        for part in (HERE / "templates").glob("*.typ"):
            (root / part.name).write_bytes(part.read_bytes())
        inside = [{"name": x.name, "mime": x.mime, "relationship": x.relationship, "about": x.about} for x in attached]
        for x in attached:
            (root / x.name).write_bytes(x.content)
        data = {**page, "attached": inside}
        (root / "page.json").write_text(json.dumps(printable(data), ensure_ascii=False), encoding="utf-8")
        for name, figure in figures.items():
            drawn = figure if isinstance(figure, bytes) else str(printable(figure)).encode()
            (root / name).write_bytes(drawn)
        made: object = typst.compile(
            str(root / template),
            root=str(root),
            font_paths=[str(HERE / "fonts")],
            ignore_system_fonts=True,
            timestamp=0,
            **options,
        )
    return made
