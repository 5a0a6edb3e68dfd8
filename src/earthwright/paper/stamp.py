"""Time stamps after RFC 3161 over the end of a journal, by a server that the user names (extra ``sign``).

What is sent is the hash of the last event and a random number, nothing else. The stamp is over that hash itself, so any
program for such stamps can check it against the 64 digits.
"""

from __future__ import annotations

import asyncio
import urllib.error
import urllib.request
from collections.abc import Sequence
from typing import Any

from ..base.oneline import one_line
from ..records.trouble import JournalError

LARGEST_ANSWER = 200_000
SECONDS = 20
NEEDS = "Time stamps need the extra 'sign' (pyHanko is not installed)."


def stamped(head: str, server: str) -> bytes:
    """A time stamp for the hash of an event from a server at an http(s) address. Raises JournalError."""
    if not server.lower().startswith(("http://", "https://")):
        raise JournalError(f"{one_line(server)}: a time stamp server is named by its http:// or https:// address.")
    try:
        from asn1crypto import tsp
        from pyhanko.sign.timestamps import TimeStamper
    except ModuleNotFoundError as error:
        raise JournalError(NEEDS) from error

    class Asked(TimeStamper):
        async def async_request_tsa_response(self, req: Any) -> Any:
            return tsp.TimeStampResp.load(_sent(server, req.dump()))

    try:
        token = asyncio.run(
            Asked().async_timestamp(bytes.fromhex(head), "sha256")  # type: ignore[no-untyped-call]
        ).dump()
    except JournalError:
        raise
    except Exception as error:  # whatever the parsers stumble over in an answer that anybody may have written
        raise JournalError(
            f"{one_line(server)}: the answer is not a time stamp: {one_line(str(error))[:160]}."
        ) from error
    good, words = checked_stamp(token, head, ())
    if not good:
        raise JournalError(f"{one_line(server)}: {words}")
    return bytes(token)


def _sent(server: str, question: bytes) -> bytes:
    request = urllib.request.Request(server, question, {"Content-Type": "application/timestamp-query"})
    try:
        with urllib.request.urlopen(request, timeout=SECONDS) as answer:
            content: bytes = answer.read(LARGEST_ANSWER + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "reason", None) or error
        raise JournalError(f"{one_line(server)}: no time stamp: {one_line(str(reason))[:160]}.") from error
    if len(content) > LARGEST_ANSWER:
        raise JournalError(f"{one_line(server)}: the answer is too large for a time stamp.")
    return content


def checked_stamp(token: bytes, head: str, trusted: Sequence[bytes]) -> tuple[bool, str]:
    """Whether a stamp is for this hash and unchanged, and by a server that is trusted where that is asked; in words."""
    try:
        from asn1crypto import cms
        from pyhanko.keys import load_certs_from_pemder_data
        from pyhanko.sign.validation.generic_cms import validate_tst_signed_data
        from pyhanko_certvalidator import ValidationContext
    except ModuleNotFoundError:
        return False, f"A time stamp is there and was not checked. {NEEDS}"
    from .signing import quiet

    short = f"event {head[:12]}…"
    try:
        roots = [c for pem in trusted for c in load_certs_from_pemder_data(pem)]
        signed = cms.ContentInfo.load(token)["content"]
        context = ValidationContext(trust_roots=roots, allow_fetching=False, revocation_mode="soft-fail")
        with quiet():
            status = asyncio.run(validate_tst_signed_data(signed, context, lambda algorithm: _imprint(algorithm, head)))
    except Exception as error:  # as above
        return (
            False,
            f"The time stamp for {short} cannot be read: {one_line(str(error))[:160] or type(error).__name__}.",
        )
    if not (status["intact"] and status["valid"]):
        return False, f"The time stamp for {short} does not hold: it was changed, or was made for something else."
    who = one_line(str(status["signing_cert"].subject.human_friendly))
    at = f"{status['timestamp']:%Y-%m-%d %H:%M:%S} UTC"
    if roots and status.get("trust_problem_indic") is not None:
        return False, f"The time stamp for {short} is by {who}, which leads to none you trust."
    known = "" if roots else " Whether that server is who it says was not asked: name its certificate with --trust."
    return True, f"{who} saw {short} at {at}.{known}"


def _imprint(algorithm: str, head: str) -> bytes:
    return bytes.fromhex(head) if algorithm == "sha256" else b""
