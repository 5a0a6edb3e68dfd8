"""Pages as PDF: archival (PDF/A-2a) and accessible (PDF/UA-1) at once, the same bytes for the same input."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any, Literal

from ..judged import Assessment
from .earthmap import earth_map, text_of_map
from .glyphs import printable
from .page import bonding_page

HERE = Path(__file__).parent
STANDARDS: list[Literal["a-2a", "ua-1"]] = ["a-2a", "ua-1"]


def bonding_record(a: Assessment) -> bytes:
    """The bonding record of an assessment as PDF."""
    page = bonding_page(a)
    day = a.visit.date
    page |= {
        "year": day.year,
        "month": day.month,
        "day": day.day,
        "inspector": a.visit.inspector,
        "map_text": text_of_map(a),
    }
    return _print("bonding.typ", page, {"map.svg": earth_map(a, screen=False)})


def _print(template: str, page: dict[str, object], figures: dict[str, str]) -> bytes:
    """Set a template with its data in a folder of its own, which is gone afterwards."""
    import typst

    with tempfile.TemporaryDirectory(prefix="earthwright-") as folder:
        root = Path(folder)
        (root / "main.typ").write_bytes((HERE / "templates" / template).read_bytes())
        (root / "page.json").write_text(json.dumps(printable(page), ensure_ascii=False), encoding="utf-8")
        for name, figure in figures.items():
            (root / name).write_text(str(printable(figure)), encoding="utf-8")
        options: Any = {"pdf_standards": STANDARDS}  # the stub asks for the very list type of its own literals
        made = typst.compile(
            str(root / "main.typ"),
            root=str(root),
            format="pdf",
            font_paths=[str(HERE / "fonts")],
            ignore_system_fonts=True,
            timestamp=0,
            **options,
        )
    assert isinstance(made, bytes)  # a single document comes back as bytes
    return made
