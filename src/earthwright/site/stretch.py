"""Cable that changes along a circuit: its stretches from the board on, as a person writes them in one line."""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import pairwise

from attrs import frozen

from .codes import METHODS, WIRING

EXPECTED = "10 m 2.5/1.5 + 6 m 1.5/1.0, with 2 x for cables in parallel, method C, wiring A, fused 13 A, or spur at 4 m: before a branch"
CPCS = ("armour", "sheath", "conduit", "trunking")
MOST = 12
_PARTS = re.compile(r"\s*(?:\+|;|\||→|,(?=\s)|\band then\b|\bthen\b)\s*", re.IGNORECASE)
_SPUR = re.compile(r"spur(?:\s+at\s+([0-9]{1,4}(?:\.[0-9]{1,2})?)\s*m)?\s*:?\s*", re.IGNORECASE)
_METRES = re.compile(r"(?<![\w./])([0-9]{1,4}(?:\.[0-9]{1,2})?)\s*m(?![\w²])(?:\s+of\b)?", re.IGNORECASE)
_FUSE = re.compile(r"\bfused(?:\s+at)?\s+([0-9]{1,2})\s*A?(?!\w)", re.IGNORECASE)
_CODES = re.compile(
    rf"\b(wiring|method)\s+({'|'.join(sorted({*WIRING, *METHODS}, key=len, reverse=True))})(?!\w)", re.I
)
_SIZES = re.compile(
    rf"(?:([2-9])\s*[x×]\s*)?([0-9]{{1,3}}(?:\.[0-9]{{1,2}})?)"
    rf"(?:\s*/\s*(?:([0-9]{{1,3}}(?:\.[0-9]{{1,2}})?)|({'|'.join(CPCS)})))?\s*(?:mm²|mm2|sq\s?mm|mm)?",
    re.IGNORECASE,
)


@frozen
class Stretch:
    """One length of cable between two changes.

    length_m  None where it is not known;  line_mm2, cpc_mm2  of one cable [mm²], None: as the circuit says
    cpc       what its protective conductor is, empty: as the circuit says;  cables  how many lie side by side
    wiring, method  codes, empty: as the circuit says
    fuse_a    rated current of a fuse at its beginning, None where there is none
    spur      whether it branches off;  at_m  how far along the cable, None: somewhere
    """

    length_m: float | None
    line_mm2: float
    cpc_mm2: float | None = None
    cpc: str = ""
    cables: int = 1
    wiring: str = ""
    method: str = ""
    fuse_a: float | None = None
    spur: bool = False
    at_m: float | None = None

    def __str__(self) -> str:
        """As it is written, so that it reads back as the same."""
        spur = "" if not self.spur else "spur " if self.at_m is None else f"spur at {self.at_m:g} m: "
        metres = "" if self.length_m is None else f"{self.length_m:g} m "
        many = f"{self.cables} x " if self.cables > 1 else ""
        cpc = self.cpc if self.cpc_mm2 is None else f"{self.cpc_mm2:g}"
        codes = "".join(f" {name} {code}" for name, code in (("wiring", self.wiring), ("method", self.method)) if code)
        fuse = "" if self.fuse_a is None else f" fused {self.fuse_a:g} A"
        return f"{spur}{metres}{many}{self.line_mm2:g}{'/' if cpc else ''}{cpc}{codes}{fuse}"

    @property
    def words(self) -> str:
        """In words, as it is printed: ``10 m of 2.5 mm², cpc 1.5 mm², method C``."""
        metres = "length not known" if self.length_m is None else f"{self.length_m:g} m"
        where = "" if not self.spur else "spur: " if self.at_m is None else f"spur at {self.at_m:g} m: "
        many = f"{self.cables} cables side by side, each " if self.cables > 1 else ""
        cpc = self.cpc if self.cpc_mm2 is None else f"{self.cpc_mm2:g} mm²"
        more = [("cpc", cpc), ("wiring", self.wiring), ("method", self.method)]
        fuse = "" if self.fuse_a is None else f", behind a fuse of {self.fuse_a:g} A"
        said = "".join(f", {name} {value}" for name, value in more if value)
        return f"{where}{metres} of {many}{self.line_mm2:g} mm²{said}{fuse}"


@lru_cache(maxsize=1024)
def stretches_of(runs: str) -> tuple[Stretch, ...]:
    """The stretches in a text such as ``10 m 2.5/1.5 + 6 m 1.5/1.0``; empty for an empty one. Raises ValueError with what is wrong."""
    if not runs.strip():
        return ()
    found = tuple(_stretch(part) for part in _PARTS.split(runs.strip()))
    if len(found) > MOST:
        raise ValueError(f"There are {len(found)} lengths of cable, and at most {MOST} may be entered.")
    if all(s.spur for s in found):
        raise ValueError("A spur branches off a cable, and that cable is not here.")
    if any(a.spur and not b.spur for a, b in pairwise(found)):
        raise ValueError("Spurs stand behind the cable that they branch off.")
    main = [s.length_m for s in found if not s.spur]
    if None not in main and any(s.at_m is not None and s.at_m > sum(m or 0.0 for m in main) for s in found):
        raise ValueError("A spur begins beyond the end of the cable.")
    return found


def written(runs: str) -> str:
    """The same text as it is kept. Raises ValueError as :func:`stretches_of` does."""
    return " + ".join(map(str, stretches_of(runs)))


def _stretch(part: str) -> Stretch:
    rest, spur, at_m, length_m = " ".join(part.split()), False, None, None
    codes: dict[str, str] = {}
    if match := _SPUR.match(rest):
        spur, at_m, rest = True, float(match[1]) if match[1] else None, rest[match.end() :]
    if match := _METRES.search(rest):
        length_m, rest = float(match[1]), f"{rest[: match.start()]} {rest[match.end() :]}"
    fuse = _FUSE.search(rest)
    rest = _FUSE.sub("", rest)
    for match in _CODES.finditer(rest):
        name, code = match[1].lower(), match[2].upper()
        if name in codes or code not in (WIRING if name == "wiring" else METHODS):
            raise ValueError(f"'{part.strip()[:40]}' names no {name} that is known here, or two.")
        codes[name] = code
    sizes = _SIZES.fullmatch(_CODES.sub("", rest).strip())
    if sizes is None:
        raise ValueError(f"'{part.strip()[:40]}' is no length of cable.")
    line, cpc = float(sizes[2]), float(sizes[3]) if sizes[3] else None
    if not 0 < line <= 1000 or cpc == 0 or length_m == 0:
        raise ValueError(f"'{part.strip()[:40]}' has a size or a length that cannot be.")
    cables, fuse_a = int(sizes[1] or 1), float(fuse[1]) if fuse else None
    return Stretch(length_m, line, cpc, (sizes[4] or "").lower(), cables, fuse_a=fuse_a, spur=spur, at_m=at_m, **codes)
