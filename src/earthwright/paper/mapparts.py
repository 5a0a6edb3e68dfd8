"""Sizes, colours and styles that the parts of the earth map share."""

from __future__ import annotations

WIDTH = 360
SHEET = 640  # on paper: the width of a page
X_MET, X_LINE = 18, 26
INK, PAPER, SOFT = "#16202a", "#ffffff", "#5b6770"
GOOD, BAD, OPEN_QUESTION = "#11603a", "#a11212", "#7a4b00"
COLOURS = {"good": GOOD, "bad": BAD, "open": OPEN_QUESTION, "soft": SOFT}
FONT = "Inter, system-ui, sans-serif"
# Dark colours for screens; the print variant leaves this out, for PDF renderers know no media queries.
DARK = (
    "@media (prefers-color-scheme: dark){.paper{fill:#12181e}.ink{fill:#eef2f4}.edge{stroke:#eef2f4}"
    ".soft{fill:#aab6bf}.softedge{stroke:#aab6bf}.good{fill:#6fd6a0}.goodedge{stroke:#6fd6a0}"
    ".bad{fill:#ff9d94}.badedge{stroke:#ff9d94}.open{fill:#f3c27a}.openedge{stroke:#f3c27a}.box{fill:#1b242c}}"
)
