"""Reminders by e-mail, by the server that the firm names and by no other; nothing is sent unless it is asked for."""

from __future__ import annotations

import datetime as dt
import smtplib
import ssl
from collections.abc import Callable, Sequence
from email.message import EmailMessage
from typing import TYPE_CHECKING

from .coming import Coming, coming
from .rights import STAFF, Person

if TYPE_CHECKING:
    from .firm import Firm

AHEAD_DAYS, PAST_DAYS = 14, 30
Send = Callable[[EmailMessage], object]


def remind(firm: Firm, today: dt.date, sender: str, address: str, send: Send) -> list[str]:
    """Write to everybody of the staff who has an e-mail address and something coming; to whom it was sent."""
    told = []
    for person in firm.people.all():
        if person.gone or person.role not in STAFF or not person.mail:
            continue
        first, last = today - dt.timedelta(days=PAST_DAYS), today + dt.timedelta(days=AHEAD_DAYS)
        events = [e for e in coming(firm, person, today) if first <= e.day <= last]
        if events:
            send(letter(person, events, today, sender, address))
            told.append(person.mail)
    return told


def letter(person: Person, events: Sequence[Coming], today: dt.date, sender: str, address: str) -> EmailMessage:
    """What one person is told: what is past first, each with its day and its page."""
    made = EmailMessage()
    made["From"], made["To"] = sender, person.mail
    past = sum(e.day < today for e in events)
    made["Subject"] = f"{len(events)} to see to, {past} past their day" if past else f"{len(events)} to see to"
    made["Auto-Submitted"] = "auto-generated"
    lines = [f"{person.name},", ""]
    for e in events:
        place = f", {e.place}" if e.place else ""
        lines.append(f"{e.day.isoformat()}{' (past)' if e.day < today else ''}: {e.what}{place}")
        if e.visit and address:
            lines.append(f"  {address.rstrip('/')}/v/{e.visit}/")
    made.set_content("\n".join(lines) + "\n")
    return made


def by_smtp(host: str, port: int, login: str = "", password: str = "", *, plain: bool = False) -> Send:
    """Sends by a server: over TLS from the first byte on port 465, else by STARTTLS; ``plain``: neither, on this machine only."""

    def send(message: EmailMessage) -> object:
        secure = ssl.create_default_context()
        whole = port == 465 and not plain
        server = (
            smtplib.SMTP_SSL(host, port, timeout=30, context=secure) if whole else smtplib.SMTP(host, port, timeout=30)
        )
        with server:
            if not whole and not plain:
                server.starttls(context=secure)
            if login:
                server.login(login, password)
            return server.send_message(message)

    return send
