"""A passkey made, used and taken out with the device that the browser itself plays."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

from argon2 import PasswordHasher
from playwright.sync_api import Browser, expect
from served import served

from earthwright.desk import Desk
from earthwright.firm import Firm
from earthwright.firm.tables import make

from .conftest import PHONE, listen

DEVICE = {
    "protocol": "ctap2", "transport": "internal", "hasResidentKey": True, "hasUserVerification": True, "isUserVerified": True,
    "automaticPresenceSimulation": True,
}  # fmt: skip


def test_a_passkey_in_place_of_the_pass_phrase(browser: Browser) -> None:
    with tempfile.TemporaryDirectory() as folder:
        journal, phrase = str(Path(folder) / "firm.sqlite"), "four grey clamps hum"
        desk = Desk(journal)
        make(desk.store)
        people = Firm(desk, PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)).people
        people.join(people.invite("Ines Quarry", "inspector", "test"), "ines", phrase)
        desk.close()
        with served(journal) as address:
            context = browser.new_context(viewport=PHONE, base_url=address.replace("127.0.0.1", "localhost"))
            context.set_default_timeout(60000)
            page = context.new_page()
            wrong = listen(page)
            session = context.new_cdp_session(page)
            session.send("WebAuthn.enable")
            device = session.send("WebAuthn.addVirtualAuthenticator", {"options": DEVICE})["authenticatorId"]
            page.goto("/sign-in")
            page.get_by_label("Login").fill("ines")
            page.get_by_label("Pass phrase").fill(phrase)
            page.get_by_role("button", name="Sign in", exact=True).click()
            page.goto("/me")
            page.get_by_label("Name of this device").fill("Phone of Ines")
            page.get_by_label("Your pass phrase, once more").fill(phrase)
            page.get_by_role("button", name="Make a passkey").click()
            expect(page.get_by_text("Phone of Ines, 20")).to_be_visible()
            assert len(session.send("WebAuthn.getCredentials", {"authenticatorId": device})["credentials"]) == 1

            page.get_by_role("button", name="Sign out", exact=True).click()
            page.get_by_role("button", name="Sign in with a passkey").click()
            expect(page).to_have_url(re.compile("/$"))
            expect(page.get_by_role("link", name="Ines Quarry")).to_be_visible()

            page.goto("/me")
            page.get_by_role("button", name="Take it out").click()
            expect(page.get_by_text("Phone of Ines, 20")).to_have_count(0)
            page.get_by_role("button", name="Sign out", exact=True).click()
            page.get_by_role("button", name="Sign in with a passkey").click()
            expect(page.get_by_text("This passkey opens nothing here").first).to_be_visible()
            assert [w for w in wrong if "422" not in str(w)] == []
            context.close()
