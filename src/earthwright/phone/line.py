"""The phone's line to the office: the browser's own fetch, to the address that the user named and to no other."""

from __future__ import annotations

from ..sync.line import NoAnswer


async def line(url: str, headers: dict[str, str], body: bytes) -> tuple[int, bytes]:
    """Status and body of the answer to one question. Raises NoAnswer."""
    from js import Object, fetch, location  # type: ignore[import-not-found]  # there are no such modules but in the phone
    from pyodide.ffi import JsException, to_js

    how = {
        "method": "POST", "headers": headers, "body": to_js(body), "cache": "no-store", "credentials": "omit",
        "redirect": "error",
    }  # fmt: skip
    try:
        found = await fetch(url, to_js(how, dict_converter=Object.fromEntries))
        return int(found.status), (await found.arrayBuffer()).to_bytes()
    except JsException as error:
        said = "The office does not answer. Nothing is lost: what waits is sent when there is a signal. Is the address right?"
        if not url.startswith(f"{location.origin}/"):
            said += (
                f" This program was handed out by {location.origin}. It asks another address only where it was made for that "
                "(./run phone --office), and that office lets it in (earthwright serve --from)."
            )
        raise NoAnswer(said) from error
