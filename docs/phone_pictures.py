"""Make the pictures of docs/phone.md: ./run phone --out FOLDER && .venv/bin/python docs/phone_pictures.py FOLDER [INTO]

INTO: another folder to look at them, each light and dark.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "benchmarks"))
from phone import Phone, frame  # noqa: E402

INTO = HERE / "site" / "pictures"


def main(folder: Path, into: Path = INTO) -> None:
    """Install, capture, without network, a newer version."""
    with sync_playwright() as play:
        phone = Phone(play, folder)
        page = phone.page
        router, old = folder / "sw.js", (folder / "sw.js").read_text()

        def snap(name: str) -> None:
            page.screenshot(path=str(into / f"phone-{name}.png"))
            if into != INTO:
                page.emulate_media(color_scheme="dark")
                page.screenshot(path=str(into / f"phone-{name}-dark.png"))
                page.emulate_media(color_scheme="light")

        try:
            page.goto(phone.address)
            here = frame(page, 'form[action="/demo"]')
            page.wait_for_selector("#bar:not([hidden])")
            snap("install")  # the offer; what comes after it is the browser's own
            here.click('form[action="/demo"] button')
            frame(page, "nav.jobs")
            page.goto(f"{phone.address}/v/demo-visit/", wait_until="commit")
            page.fill("#quick-digits", "0.31")
            page.fill("#quick-what", "Water service, conductor")
            snap("capture")
            page.press("#quick-what", "Enter")
            frame(page, "nav.jobs")
            phone.context.set_offline(True)
            page.reload()
            frame(page, "nav.jobs")
            page.wait_for_timeout(500)
            snap("now")
            phone.context.set_offline(False)
            router.write_text(re.sub(r'const VERSION = "\w+"', 'const VERSION = "newer0000000"', old))
            page.evaluate("navigator.serviceWorker.getRegistration().then(r => r.update())")
            page.get_by_text("A newer version is here").wait_for(timeout=120_000)
            snap("update")
        finally:
            router.write_text(old)
            phone.close()


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
