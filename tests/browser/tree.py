"""What a screen reader is given: the accessibility tree of a page, as the browser hands it over, and what is wrong in it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from playwright.sync_api import Page

# Roles that somebody acts on, and those that are looked for by their name.
ACTED_ON = ("button", "link", "textbox", "searchbox", "checkbox", "radio", "combobox", "listbox", "DisclosureTriangle", "spinbutton")  # fmt: skip
NAMED = (*ACTED_ON, "image", "img", "figure", "navigation", "group", "radiogroup", "table", "dialog")
LIVE = {"said": "polite", "lost": "assertive"}  # regions that are read out when something comes into them


def tree(page: Page) -> list[dict[str, Any]]:
    """Its nodes in their order, without those that a screen reader passes over."""
    cdp = page.context.new_cdp_session(page)
    nodes: list[dict[str, Any]] = cdp.send("Accessibility.getFullAXTree")["nodes"]
    cdp.detach()  # a second session that stays takes from the first what it says of the medium
    return [n for n in nodes if not n["ignored"]]


def role_of(node: dict[str, Any]) -> str:
    return str(node.get("role", {}).get("value", ""))


def name_of(node: dict[str, Any]) -> str:
    return str(node.get("name", {}).get("value", "")).strip()


def state(node: dict[str, Any], name: str) -> Any:
    return next((p["value"].get("value") for p in node.get("properties", ()) if p["name"] == name), None)


def faults(page: Page) -> list[str]:
    """Whatever somebody who hears the page would stumble over, each in words."""
    return [*_faults(tree(page)), *_live(page)]


def _faults(nodes: list[dict[str, Any]]) -> Iterator[str]:
    roles = [role_of(n) for n in nodes]
    heard: dict[tuple[str, str], set[str]] = {}
    level = 0
    for node, role in zip(nodes, roles, strict=True):
        name = name_of(node)
        if role in NAMED and not name and not (role in ("group", "figure", "table") and role not in ACTED_ON):
            yield f"{role} without a name"
        if role in ("image", "img", "group", "radiogroup") and name and len(name) < 2:
            yield f"{role} named {name!r}"
        if role == "link":
            heard.setdefault((role, name), set()).add(str(state(node, "url") or ""))
        if role == "heading":
            here = int(state(node, "level") or 0)
            if here > level + 1:
                yield f"heading {name!r} of level {here} after level {level}"
            level = here
        if role == "DisclosureTriangle" and state(node, "expanded") is None:
            yield f"{name!r} does not say whether it is open"
    for (role, name), goes in heard.items():
        if len(goes) > 1:
            yield f"{len(goes)} places behind one {role} name {name!r}"
    for role in ("main",):
        if roles.count(role) != 1:
            yield f"{roles.count(role)} of {role}"
    if sum(r == "heading" and state(n, "level") == 1 for n, r in zip(nodes, roles, strict=True)) != 1:
        yield "not one heading of level 1"


def _live(page: Page) -> Iterator[str]:
    for region, loud in LIVE.items():
        said = page.evaluate(
            "i => { const e = document.getElementById(i); return e && (e.getAttribute('aria-live') ?? (e.getAttribute('role') === 'alert' ? 'assertive' : '')) }",
            region,
        )
        if said != loud:
            yield f"#{region} is read out as {said!r}, not as {loud!r}"
