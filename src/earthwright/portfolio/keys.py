"""Numbers in place of names: keyed, so that nobody without the key can try out addresses until one fits."""

from __future__ import annotations

import hashlib
import hmac
import os
import secrets
from pathlib import Path

from attrs import frozen

from ..base.errors import EarthwrightError

SIZE = 32  # bytes


@frozen
class Keys:
    """The secret of one portfolio. Two portfolios have no number in common."""

    secret: bytes

    def of(self, kind: str, text: str) -> int:
        """A positive number for a text: 63 bits of HMAC-SHA-256. Of 300,000 texts two meet with a chance of 5 in 10⁹."""
        said = hmac.new(self.secret, f"{kind}\x00{text}".encode("utf-8", "surrogatepass"), hashlib.sha256).digest()
        return int.from_bytes(said[:8], "big") >> 1

    def maybe(self, kind: str, text: str) -> int | None:
        """The same; None for an empty text."""
        return self.of(kind, " ".join(text.casefold().split())) if text.strip() else None


def keys_in(folder: Path, *, create: bool) -> Keys:
    """The key kept in a folder that is for its owner alone; made on first use. Raises EarthwrightError."""
    path = folder / "key"
    if not path.exists():
        if not create:
            raise EarthwrightError(
                f"{path} is not there: without it new visits get other numbers than those in the tables."
            )
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(secrets.token_bytes(SIZE))
    secret = path.read_bytes()
    if len(secret) != SIZE:
        raise EarthwrightError(f"{path}: expected a key of {SIZE} bytes, found {len(secret)}.")
    return Keys(secret)
