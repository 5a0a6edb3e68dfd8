"""Ids in addresses: a board may be called ``DB1/A`` or ``..``, and its page is found all the same.

A slash, even written %2F, ends a part of an address, and browsers take ``.`` and ``..`` (even ``%2e%2e``) out before they
ask. So these are written with a tilde and their code: ``DB1~2FA``, ``~2E~2E``. Everything else stays as it is.
"""

from __future__ import annotations

import hashlib
import re
from urllib.parse import quote

from starlette.convertors import Convertor, register_url_convertor

_CODED = re.compile(r"~([0-9A-F]{2})")


def part_of_address(id_: str) -> str:
    """An id as one part of an address, e.g. ``1/L1`` → ``1~2FL1``."""
    marked = re.sub(r"[~/\\]", _code, id_)
    return quote(re.sub(r"\.", _code, marked) if marked in (".", "..") else marked, safe="")


def _code(found: re.Match[str]) -> str:
    return f"~{ord(found[0]):02X}"


def key_of(name: str, about: str, what: str) -> str:
    """A short key for what was noticed, the same at every look: what it says, and of what."""
    return hashlib.sha256(f"{name}|{about}|{what}".encode()).hexdigest()[:12]


class IdConvertor(Convertor[str]):
    """The id that a part of an address stands for; one that :func:`part_of_address` does not write is taken as it is."""

    regex = "[^/]+"

    def convert(self, value: str) -> str:
        """From the address to the id."""
        return _CODED.sub(lambda found: chr(int(found[1], 16)), value)

    def to_string(self, value: str) -> str:
        """From the id to the address."""
        return part_of_address(value)


register_url_convertor("thing", IdConvertor())
