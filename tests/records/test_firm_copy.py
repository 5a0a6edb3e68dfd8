"""A firm's server from its backup, on each database: events, people and what was done; browsers sign in anew."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.cli import main
from earthwright.desk import Desk
from earthwright.firm import Firm
from earthwright.firm.tables import make

from .test_firm_roles import Cheap


def keep(*arguments: str) -> str:
    done = CliRunner().invoke(main, ["keep", *arguments])
    assert done.exit_code == 0, done.output
    return done.output


def test_backup_and_restore_bring_the_whole_firm_back(
    url: str, new_url: Callable[[], str], at_desk: Callable[[str], Desk], tmp_path: Path
) -> None:
    desk = at_desk(url)
    make(desk.store)
    firm = Firm(desk, Cheap())
    ines, olga, left = (
        firm.people.join(firm.people.invite(name, role, "test"), name.lower(), "x")
        for name, role in (("Ines", "inspector"), ("Olga", "office"), ("Left", "inspector"))
    )
    browser = firm.people.begin(ines)
    firm.people.leave(left, olga.id)
    firm.plan(olga, ines, "visit-planned", "1 Elder Row", "2026-12-01", "periodic", "")
    firm.note(olga, "sent back", "visit-planned", "look again")
    key = firm.handing.over(olga, "visit-planned", "Mr Quill", 30)
    keep("backup", str(tmp_path / "b.sqlite"), "--journal", url)

    other = new_url()
    keep("restore", str(tmp_path / "b.sqlite"), "--journal", other)
    again = Firm(at_desk(other), Cheap())
    assert again.people.all() == firm.people.all()
    assert again.deeds("visit-planned") == firm.deeds("visit-planned")
    assert again.owner("visit-planned") == ines.id
    assert again.handing.of_key(key) == firm.handing.of_key(key)
    assert again.desk.store.head() == desk.store.head()
    assert again.people.who(browser) is None
    assert again.people.sign_in("ines", "x", "") is not None
    again.note(olga, "gave", "visit-planned")
    assert again.deeds("visit-planned")[-1].did == "gave"
    with pytest.raises(Exception, match="stays"), again.store.engine.begin() as connection:
        connection.exec_driver_sql("DELETE FROM firm_deed")
