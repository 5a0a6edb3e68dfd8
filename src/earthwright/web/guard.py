"""What stands before every handler: who may write, how much may be sent, and what a page may load."""

from __future__ import annotations

import base64
import binascii
import math
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from ..base import limits
from .phrase import Keeper
from .words import say

# No inline script or style anywhere, nothing from anybody else's server, no frame around us.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(self), geolocation=(), microphone=(self)",
}
LARGEST_FORM, LARGEST_UPLOAD = limits.FORM.most, limits.UPLOAD.most
READ_ONLY = ("GET", "HEAD")
PREFLIGHT = {
    "access-control-allow-methods": "POST",
    "access-control-allow-headers": "authorization, content-type",
    "access-control-max-age": "600",
}
DEVICES = "/sync/"  # asked by devices, each with a token of its own in place of the pass phrase


class Guard:
    """Refuses writes from other origins, bodies that are too large, and visitors without the pass phrase."""

    def __init__(
        self,
        app: ASGIApp,
        pass_phrase: str = "",
        hosts: tuple[str, ...] = (),
        *,
        framed: bool = False,
        origins: tuple[str, ...] = (),
    ) -> None:
        self.app, self.hosts, self.framed, self.origins = app, hosts, framed, origins
        self.keeper = Keeper(pass_phrase) if pass_phrase else None

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        elsewhere = self._from_elsewhere(scope, headers)
        send = answering(send, elsewhere) if elsewhere else send
        refused = self._refused(scope, headers)
        if refused is not None:
            await refused(scope, receive, with_headers(send, framed=self.framed))
            return
        state = scope.setdefault("state", {})
        state["by"] = who(headers) if self.keeper else state.get("by", "")
        most = LARGEST_UPLOAD if headers.get("content-type", "").startswith("multipart/") else LARGEST_FORM
        most = limits.CONTENT.most if _by_token(scope, headers) else most
        await self.app(scope, limited(receive, most), with_headers(send, framed=self.framed))

    def _refused(self, scope: Scope, headers: Headers) -> PlainTextResponse | None:
        if self.hosts and name_of(headers.get("host", "")) not in self.hosts:
            return PlainTextResponse(say("guard.host"), 421)
        if len(scope.get("raw_path") or b"") + len(scope["query_string"]) > limits.ADDRESS.most:
            return PlainTextResponse(say("guard.address"), 414)
        elsewhere = self._from_elsewhere(scope, headers)
        if elsewhere and scope["method"] == "OPTIONS":  # a browser asks whether it may ask
            return PlainTextResponse("", 204, PREFLIGHT)
        by_token = _by_token(scope, headers)
        if self.keeper is not None and not by_token and (shut := self._shut(self.keeper, scope, headers)) is not None:
            return shut
        if scope["method"] in READ_ONLY:
            return None
        if scope["method"] != "POST":
            return PlainTextResponse(say("guard.method"), 405, {"allow": "GET, HEAD, POST"})
        if not elsewhere and not own_origin(headers):
            return PlainTextResponse(say("guard.origin"), 403)
        length = headers.get("content-length", "0")
        if (
            not length.isdigit()
            or len(length) > 12
            or int(length) > (limits.CONTENT.most if by_token else LARGEST_UPLOAD)
        ):
            return PlainTextResponse(say("guard.large"), 413)
        return None

    def _from_elsewhere(self, scope: Scope, headers: Headers) -> str:
        """The origin of a phone's program that was handed out elsewhere and may send here; empty for any other."""
        origin = headers.get("origin", "")
        return origin if origin in self.origins and str(scope["path"]).startswith(DEVICES) else ""

    def _shut(self, keeper: Keeper, scope: Scope, headers: Headers) -> PlainTextResponse | None:
        """The answer to a visitor without the pass phrase, or to one who gave so many wrong ones that it waits."""
        address = (scope.get("client") or ("",))[0]
        wait = keeper.wait_s(address)
        if wait > 0:
            seconds = str(math.ceil(wait))
            return PlainTextResponse(say("guard.wait", seconds=seconds), 429, {"retry-after": seconds})
        if keeper.right(address, phrase(headers)):
            return None
        return PlainTextResponse(
            say("guard.phrase"), 401, {"www-authenticate": 'Basic realm="earthwright", charset="UTF-8"'}
        )


def _by_token(scope: Scope, headers: Headers) -> bool:
    """Whether a device asks, which shows its token: the handler knows whose it is, and answers nothing without."""
    return str(scope["path"]).startswith(DEVICES) and headers.get("authorization", "")[:7].lower() == "bearer "


def name_of(host: str) -> str:
    """The name in a Host header without its port: ``[::1]:8123`` is ``[::1]``."""
    return host[: host.find("]") + 1] if host.startswith("[") else host.partition(":")[0].lower()


def own_origin(headers: Headers) -> bool:
    """Whether a write comes from a page of ours: by Sec-Fetch-Site, else by Origin. Without either, not by a browser."""
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site == "same-origin"
    origin = headers.get("origin")
    if origin is None:
        return True
    return urlsplit(origin).netloc == headers.get("host", "") != ""


def basic(headers: Headers) -> tuple[str, str]:
    """Name and pass phrase of the request, both empty when there are none."""
    scheme, _, rest = headers.get("authorization", "").partition(" ")
    if scheme.lower() != "basic":
        return "", ""
    try:
        name, _, secret = base64.b64decode(rest, validate=True).decode("utf-8").partition(":")
    except (binascii.Error, ValueError):
        return "", ""
    return name, secret


def who(headers: Headers) -> str:
    """The name a visitor gave, for the journal."""
    return basic(headers)[0].strip()[:60]


def phrase(headers: Headers) -> str:
    """The pass phrase of the request."""
    return basic(headers)[1]


class TooLarge(Exception):
    """The body went on past its limit."""


def limited(receive: Receive, most: int) -> Receive:
    """A receive that stops when more than ``most`` bytes have come."""
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        message = await receive()
        seen += len(message.get("body", b""))
        if seen > most:
            raise TooLarge
        return message

    return counted


def answering(send: Send, origin: str) -> Send:
    """A send that lets pages of another origin read the answer; only what is asked with a token is answered so."""

    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            headers["access-control-allow-origin"], headers["vary"] = origin, "origin"
        await send(message)

    return sent


def with_headers(send: Send, *, framed: bool = False) -> Send:
    """A send that adds the protecting headers to every answer that has not set its own. ``framed``: in a frame of ours."""
    policy = POLICY.replace("frame-ancestors 'none'", "frame-ancestors 'self'") if framed else POLICY

    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in (("content-security-policy", policy), *HEADERS.items()):
                headers.setdefault(name, value)
            headers.setdefault("cache-control", "no-store")
        await send(message)

    return sent
