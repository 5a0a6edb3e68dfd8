"""The pass phrase: asked of every visitor, kept only as a slow hash, and slower to be asked after every wrong one."""

from __future__ import annotations

import hashlib
import hmac
import os
import time
from collections.abc import Callable
from typing import TypeVar

from attrs import define, field

T = TypeVar("T")

SHORTEST, LEAST_DIFFERENT = 12, 5
FREE = 5  # wrong ones in a row from one address before it has to wait
FREE_IN_ALL = 30  # wrong ones in an hour from everywhere before all but known addresses have to wait
LONGEST_WAIT_S, HOUR_S = 900.0, 3600.0
MOST_ADDRESSES = 10_000  # that are remembered; the oldest go first


def unfit(phrase: str) -> str:
    """Why a pass phrase cannot be used; empty when it can."""
    if len(phrase.strip()) < SHORTEST:
        return f"at least {SHORTEST} characters, blanks at its ends not counted"
    if len(set(phrase)) < LEAST_DIFFERENT:
        return f"at least {LEAST_DIFFERENT} different characters"
    return ""


@define
class _Wrong:
    """Wrong ones in a row from one address, when the last came, and until when it waits."""

    count: int = 0
    last: float = 0.0
    until: float = 0.0


@define
class Keeper:
    """Compares what visitors give with the pass phrase.

    scrypt (RFC 7914) with 16 MB makes each new guess cost tens of milliseconds; what was right once is known by a keyed
    hash that dies with this process. An address that guesses wrong waits twice as long after each: whatever it gives while
    it waits is not looked at. Guesses from many addresses slow down all that were never right.
    """

    phrase: str = field(repr=False)
    clock: Callable[[], float] = time.monotonic
    _salt: bytes = field(factory=lambda: os.urandom(16), init=False, repr=False)
    _slow: bytes = field(init=False, repr=False)
    _known: set[bytes] = field(factory=set, init=False, repr=False)
    _wrong: dict[str, _Wrong] = field(factory=dict, init=False, repr=False)
    _right: dict[str, float] = field(factory=dict, init=False, repr=False)
    _times: list[float] = field(factory=list, init=False, repr=False)

    def __attrs_post_init__(self) -> None:
        self._slow = self._scrypt(self.phrase)
        self.phrase = ""

    def wait_s(self, address: str) -> float:
        """How long an address still has to wait [s]; 0 when it may try."""
        now = self.clock()
        own = self._wrong.get(address)
        wait = own.until - now if own is not None else 0.0
        self._times = [t for t in self._times if now - t < HOUR_S]
        if len(self._times) >= FREE_IN_ALL and address not in self._right:
            wait = max(wait, self._times[-1] + min(LONGEST_WAIT_S, 2.0 * (len(self._times) - FREE_IN_ALL + 1)) - now)
        return max(0.0, wait)

    def right(self, address: str, given: str) -> bool:
        """Whether the pass phrase is right. Only to be asked of an address that need not wait."""
        quick = hmac.digest(self._salt, given.encode("utf-8", "replace"), "sha256")
        if quick in self._known or hmac.compare_digest(self._scrypt(given), self._slow):
            self._known = {quick}
            self._wrong.pop(address, None)
            _remember(self._right, address, self.clock())
            return True
        if given:  # a browser asks once without any before it asks its user
            self._count(address)
        return False

    def _count(self, address: str) -> None:
        now = self.clock()
        self._times.append(now)
        own = self._wrong.pop(address, _Wrong())
        own.count = own.count + 1 if now - own.last < HOUR_S else 1
        own.last = now
        own.until = now + min(LONGEST_WAIT_S, 2.0 ** (own.count - FREE)) if own.count >= FREE else now
        _remember(self._wrong, address, own)

    def _scrypt(self, given: str) -> bytes:
        plain = given.encode("utf-8", "replace")[:1024]
        return hashlib.scrypt(plain, salt=self._salt, n=2**14, r=8, p=1, maxmem=2**26) if plain else b""


def _remember(known: dict[str, T], address: str, value: T) -> None:
    known.pop(address, None)
    known[address] = value
    while len(known) > MOST_ADDRESSES:
        del known[next(iter(known))]
