"""What the pages of a PDF say, run by run, and which of it neither the record inside nor our templates say.

Only for documents that cannot be printed again here (another version made them, or the visit book is missing). Text is
read as the fonts of the file declare it, so nothing is proved by it: it can only contradict.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from .attachments import CannotRead, opened, printable_line, unpacked

LARGEST_PAGE = 2_000_000
LARGEST_TEXT = 20_000_000  # all pages together
MOST_LETTERS = 100_000  # of one font
MOST_PAGES_READ = 500
MOST_NAMED = 5
# Words that carry a verdict. A run with one of them that nothing inside the file says is no matter of layout.
VERDICT = re.compile(
    r"proved|not shown|\bmeets\b|\bfails\b|\bpass|satisfactory|acceptable|\bsafe|\bC[123]\b|\bFI\b|no rule|not decided|compl(?:y|ies)"
    r"|void|draft",
    re.IGNORECASE,
)
_SHOWING = ("Tj", "TJ", "'", '"')
_CODE = re.compile(rb"<([0-9A-Fa-f]+)>")
_TYPST_CALL = re.compile(r"#[a-z.\-]+(?:\([^()]*\))?")


def runs(content: bytes) -> list[list[str]]:
    """The text of each page, one entry a text that was set in one go. Raises CannotRead."""
    import pikepdf

    found: list[list[str]] = []
    left, known = LARGEST_TEXT, dict[Any, dict[bytes, str]]()
    with opened(content) as pdf:
        if len(pdf.pages) > MOST_PAGES_READ:
            raise CannotRead(f"The text of {len(pdf.pages)} pages is not read; at most {MOST_PAGES_READ}.")
        for page in pdf.pages:
            fonts = {}
            for name, font in (page.obj.get("/Resources", {}).get("/Font") or {}).items():
                key = font.objgen if font.is_indirect else (len(found), str(name))
                fonts[str(name)] = known[key] = known[key] if key in known else _letters(font)
            streams = page.obj.get("/Contents", [])
            for stream in [streams] if isinstance(streams, pikepdf.Stream) else streams:
                left -= len(unpacked(stream, "A page", LARGEST_PAGE))
            if left < 0:
                raise CannotRead(f"The pages hold more than {LARGEST_TEXT} bytes.")
            found.append(list(_said(pikepdf.parse_content_stream(page), fonts)))
    return found


def _said(instructions: Iterable[Any], fonts: dict[str, dict[bytes, str]]) -> Iterator[str]:
    letters: dict[bytes, str] = {}
    line = ""
    for operands, operator in instructions:
        name = str(operator)
        if name == "Tf":
            letters = fonts.get(str(operands[0]), {})
        elif name in _SHOWING:
            parts = operands[-1] if name == "TJ" else [operands[-1]]
            line += "".join(_decoded(bytes(p), letters) for p in parts if not _is_number(p))
        elif name in ("ET", "Td", "Tm", "T*") and line:
            yield line
            line = ""
    if line:
        yield line


def _is_number(value: object) -> bool:
    return not hasattr(value, "__bytes__")


def _decoded(raw: bytes, letters: dict[bytes, str]) -> str:
    if not letters:
        return raw.decode("latin-1")
    width = len(next(iter(letters)))
    return "".join(letters.get(raw[i : i + width], "�") for i in range(0, len(raw), width))


def _letters(font: Any) -> dict[bytes, str]:
    """Code → text of a font, by its ToUnicode."""
    table = font.get("/ToUnicode")
    if table is None:
        return {}
    text = unpacked(table, "A font", LARGEST_PAGE)
    found: dict[bytes, str] = {}
    for kind, block in re.findall(rb"beginbf(char|range)(.*?)endbf", text, re.DOTALL):
        codes = _CODE.findall(block)
        if kind == b"char":
            found |= {bytes.fromhex(a.decode()): _utf16(b) for a, b in zip(codes[::2], codes[1::2], strict=False)}
            continue
        for first, last, base in zip(codes[::3], codes[1::3], codes[2::3], strict=False):
            letter = _utf16(base)
            for step in range(min(int(last, 16) - int(first, 16) + 1, MOST_LETTERS - len(found)) if letter else 0):
                code = (int(first, 16) + step).to_bytes(len(first) // 2, "big")
                found[code] = letter[:-1] + chr(ord(letter[-1]) + step)
    return found


def _utf16(digits: bytes) -> str:
    return bytes.fromhex(digits.decode()).decode("utf-16-be", "replace")


def unexplained(pages: list[list[str]], said: object) -> list[tuple[int, str]]:
    """Runs with their page that are no part of anything said inside the file or set by our templates."""
    known = _squeezed("\n".join(_texts(said))) + _labels()
    found = []
    for number, page in enumerate(pages, 1):
        for run in page:
            words = [w for w in (_squeezed(x) for x in re.split(r"\s+", run)) if w]
            if not _covered(words, known):
                found.append((number, printable_line(run.strip(), 80)))
    return found


def _covered(words: list[str], known: str) -> bool:
    """Whether a run is put together from pieces that are known, of two words or more where it has so many."""
    at = 0
    while at < len(words):
        end = len(words)
        while end > at and "".join(words[at:end]) not in known:
            end -= 1
        if end == at or (end - at == 1 < len(words) and VERDICT.search(words[at])):
            return False
        at = end
    return True


def _squeezed(text: str) -> str:
    return "".join(c for c in text.casefold() if c.isalnum() or c == "\n")


def _texts(value: object) -> Iterator[str]:
    waiting = [value]
    while waiting:
        node = waiting.pop()
        if isinstance(node, dict):
            waiting.extend(node.values())
            short = [v for v in node.values() if isinstance(v, str) and len(v) < 200][:12]
            yield from (
                f"{a}{b}" for a in short for b in short
            )  # a template prints two fields of one thing side by side
        elif isinstance(node, list):
            waiting.extend(node)
        elif node is not None:
            yield str(node)


@lru_cache(maxsize=1)
def _labels() -> str:
    """The words of our templates, and numbers of pages."""
    folder = Path(__file__).parent / "templates"
    texts = [_TYPST_CALL.sub("\n", p.read_text(encoding="utf-8")) for p in sorted(folder.glob("*.typ"))]
    return "\n" + _squeezed("\n".join(texts).replace('"', "\n").replace("[", "\n").replace("]", "\n"))
