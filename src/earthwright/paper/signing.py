"""Electronic signatures inside a PDF (PAdES), by pyHanko, the extra ``sign``, with the user's own certificate.

Keys and pass phrases are used and forgotten: they are in no record, no log and no argument list.
"""

from __future__ import annotations

import datetime as dt
import io
import logging
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from attrs import frozen

from ..base.errors import EarthwrightError
from ..base.oneline import one_line

NEEDS = "Electronic signatures need the extra 'sign' (pyHanko is not installed). Without it, a signature is a name, a time and a hash."
GOOD, ALTERED, APPENDED, UNKNOWN, EXPIRED, UNREADABLE = (
    "good",
    "altered",
    "appended",
    "unknown signer",
    "expired",
    "cannot be read",
)
SAID = {
    GOOD: "what was signed is unchanged, and the signer is one you trust",
    ALTERED: "what was signed has been changed since; the signature is void",
    APPENDED: "what was signed is unchanged, but something that is no signature was added after it",
    UNKNOWN: "what was signed is unchanged; whether the signer is who the certificate says is not known, for it leads to none you trust",
    EXPIRED: "what was signed is unchanged; the certificate was not valid at the time of this check",
    UNREADABLE: "the signature cannot be read",
}


class CannotSign(EarthwrightError):
    """A document cannot be signed: no library, no usable certificate, a wrong pass phrase, or a draft."""


class NoLibrary(CannotSign):
    """The library that makes and reads signatures is not there."""


@frozen
class SignatureFound:
    """One signature in a file: the field (its role), who the certificate names, when by the signer's own clock, and how it stands."""

    role: str
    signer: str
    at: str
    outcome: str
    words: str
    reason: str = ""


# What is read here was written by anybody, and the libraries below raise whatever their parsers stumble over.
_JUNK = Exception


def _said(error: Exception) -> str:
    return one_line(str(error))[:160] or type(error).__name__


@contextmanager
def quiet() -> Iterator[None]:
    """The library's own log stays silent: what is to be said, we say, and nothing of a key reaches a log."""
    logs = [logging.getLogger(name) for name in ("pyhanko", "pyhanko_certvalidator")]
    before = [log.level for log in logs]
    for log in logs:
        log.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for log, level in zip(logs, before, strict=True):
            log.setLevel(level)


def sign_pdf(content: bytes, role: str, key: Path, pass_phrase: bytes | None, record: str) -> bytes:
    """Add an invisible PAdES signature for a role to a document. Raises CannotSign.

    key  a PKCS#12 file of the signer;  record  hash that the reason names. Earlier signatures stay valid.
    """
    try:
        from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
        from pyhanko.pdf_utils.misc import PdfError
        from pyhanko.sign import fields, signers
        from pyhanko.sign.general import SigningError
    except ModuleNotFoundError as error:
        raise NoLibrary(NEEDS) from error
    with quiet():
        signer = _signer(signers, key, pass_phrase)
        try:
            writer = IncrementalPdfFileWriter(io.BytesIO(content))
            name = _free_name(writer, role)
            meta = signers.PdfSignatureMetadata(
                field_name=name,
                reason=f"{role}; record {record}",
                subfilter=fields.SigSeedSubFilter.PADES,
                md_algorithm="sha256",
            )
            spec = fields.SigFieldSpec(name, on_page=0, readable_field_name=f"Signature, {role}")
            out = signers.PdfSigner(meta, signer=signer, new_field_spec=spec).sign_pdf(writer)
        except (PdfError, SigningError, ValueError) as error:
            raise CannotSign(f"The document cannot be signed: {error}") from error
    return bytes(out.getvalue())


def _signer(signers: Any, key: Path, pass_phrase: bytes | None) -> Any:
    try:
        packed = key.read_bytes()
    except OSError as error:
        raise CannotSign(f"{key}: cannot be read: {error.strerror}.") from error
    try:
        signer = signers.SimpleSigner.load_pkcs12_data(packed, other_certs=[], passphrase=pass_phrase)
    except (ValueError, TypeError, IndexError, KeyError, AttributeError) as error:
        raise CannotSign(f"{key}: this is no PKCS#12 file that can be used, or the pass phrase is wrong.") from error
    if signer is None:
        raise CannotSign(f"{key}: this is no PKCS#12 file that can be used, or the pass phrase is wrong.")
    now, cert = dt.datetime.now(dt.UTC), signer.signing_cert
    if cert.not_valid_before > now or cert.not_valid_after < now:
        raise CannotSign(
            f"{key}: the certificate is valid from {cert.not_valid_before:%Y-%m-%d} to {cert.not_valid_after:%Y-%m-%d}, not today."
        )
    return signer


def _free_name(writer: Any, role: str) -> str:
    from pyhanko.sign.fields import enumerate_sig_fields

    taken = {name for name, _, _ in enumerate_sig_fields(writer)}
    if role not in taken:
        return role
    raise CannotSign(f"The document is already signed as '{role}'. A role is taken once in one version.")


def check_signatures(
    content: bytes, trusted: Sequence[bytes] = (), now: dt.datetime | None = None
) -> tuple[SignatureFound, ...]:
    """Every electronic signature in a PDF and how it stands. Raises CannotSign when the library is not there.

    trusted  certificates (PEM or DER) of signers or their authorities that you trust; nothing is fetched
    now      moment of the check, for certificates that expire
    """
    try:
        from pyhanko.pdf_utils.reader import PdfFileReader
    except ModuleNotFoundError as error:
        raise NoLibrary(NEEDS) from error
    moment = now or dt.datetime.now(dt.UTC)
    roots = [_certificate(c) for c in trusted]
    with quiet():
        try:
            reader = PdfFileReader(io.BytesIO(content), strict=False)
            found = list(reader.embedded_signatures)
        except _JUNK as error:
            return (SignatureFound("", "", "", UNREADABLE, f"{SAID[UNREADABLE]}: {_said(error)}"),)
        return tuple(_checked(s, roots, moment, whole=i == len(found) - 1) for i, s in enumerate(found))


def _certificate(content: bytes) -> Any:
    from pyhanko.keys import load_certs_from_pemder_data

    try:
        return next(iter(load_certs_from_pemder_data(content)))
    except (ValueError, TypeError, StopIteration) as error:
        raise CannotSign(f"A certificate to trust cannot be read: {error}") from error


def _checked(signature: Any, roots: Sequence[Any], moment: dt.datetime, *, whole: bool) -> SignatureFound:
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko.sign.validation.status import SignatureCoverageLevel
    from pyhanko_certvalidator import ValidationContext

    role = one_line(str(signature.field_name))
    try:
        cert = signature.signer_cert
        context = ValidationContext(
            trust_roots=list(roots), allow_fetching=False, moment=moment, revocation_mode="soft-fail"
        )
        status = validate_pdf_signature(signature, signer_validation_context=context)
        signer, reason = one_line(str(cert.subject.human_friendly)), str(signature.sig_object.get("/Reason", ""))
        at = status.signer_reported_dt
    except _JUNK as error:
        return SignatureFound(role, "", "", ALTERED, f"{SAID[ALTERED]} ({_said(error)})")
    said_at = at.isoformat(timespec="minutes") if at else ""
    added = not status.docmdp_ok or (whole and status.coverage != SignatureCoverageLevel.ENTIRE_FILE)
    expired = not cert.not_valid_before <= moment <= cert.not_valid_after
    if not (status.intact and status.valid):
        outcome = ALTERED
    elif added or status.coverage in (
        SignatureCoverageLevel.UNCLEAR,
        SignatureCoverageLevel.CONTIGUOUS_BLOCK_FROM_START,
    ):
        outcome = APPENDED
    elif expired:
        outcome = EXPIRED
    elif not status.trusted:
        outcome = UNKNOWN
    else:
        outcome = GOOD if status.bottom_line else UNKNOWN
    return SignatureFound(role, signer, said_at, outcome, SAID[outcome], reason)
