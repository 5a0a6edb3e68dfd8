"""``earthwright serve``: this machine only, unless told otherwise and then with a pass phrase."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from earthwright.cli import main
from earthwright.cli.serve import PHRASE, is_loopback
from earthwright.cli.sums import single_sums


@pytest.mark.parametrize(
    ("host", "here"),
    [("127.0.0.1", True), ("127.8.8.8", True), ("::1", True), ("localhost", True), ("0.0.0.0", False), ("::", False), ("192.168.1.4", False), ("office.example", False), ("", False)],
)  # fmt: skip
def test_what_only_this_machine_can_reach(host: str, here: bool) -> None:
    assert is_loopback(host) == here


@pytest.mark.parametrize("phrase", ["", "too short", "elevenchars"])
def test_others_are_not_let_in_without_a_pass_phrase(phrase: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(PHRASE, phrase)
    done = CliRunner().invoke(main, ["serve", "--host", "0.0.0.0"])
    assert done.exit_code == 2
    said = re.sub(r"\s+", " ", done.output)
    assert PHRASE in said
    assert "HTTPS is needed" in said


def test_a_journal_that_is_none_stops_with_words(tmp_path, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    wrong = tmp_path / "journal.sqlite"
    wrong.write_bytes(b"not a database at all" * 100)
    done = CliRunner().invoke(main, ["serve", "--journal", str(wrong)])
    assert done.exit_code == 5
    assert "no journal" in done.output


def test_it_is_served_where_it_says(tmp_path, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    import uvicorn

    seen: list[uvicorn.Config] = []
    monkeypatch.setattr(uvicorn.Server, "run", lambda self: seen.append(self.config))
    monkeypatch.setenv(PHRASE, "correct horse battery")
    here = CliRunner().invoke(main, ["serve", "--journal", str(tmp_path / "a.sqlite"), "--port", "8200"])
    assert here.exit_code == 0, here.output
    assert "http://127.0.0.1:8200/" in here.output
    office = CliRunner().invoke(
        main, ["serve", "--journal", str(tmp_path / "b.sqlite"), "--host", "0.0.0.0", "--no-demo"]
    )
    assert office.exit_code == 0
    assert "HTTPS" in office.output
    assert [c.host for c in seen] == ["127.0.0.1", "0.0.0.0"]
    assert "On a phone: " not in here.output
    assert re.search(r"On a phone: http://[0-9a-zA-Z.-]+:8123/", office.output)
    assert "offline" not in office.output
    assert seen[0].app.settings.pass_phrase == ""  # type: ignore[union-attr]
    assert seen[1].app.settings.pass_phrase == "correct horse battery"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("more", "address"),
    [
        (("--host", "0.0.0.0", "--port", "8466"), "https://visits.example:8466/"),
        (("--host", "0.0.0.0", "--port", "443"), "https://visits.example/"),
        (("--port", "8466"), "https://visits.example/"),  # a proxy stands before it, at its own port
    ],
)
def test_a_phone_is_told_the_port_where_no_proxy_stands_before_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, more: tuple[str, ...], address: str
) -> None:
    import uvicorn

    monkeypatch.setattr(uvicorn.Server, "run", lambda self: None)
    monkeypatch.setenv(PHRASE, "correct horse battery")
    (tmp_path / "c.pem").write_text("")
    pem = ("--certificate", str(tmp_path / "c.pem"), "--key", str(tmp_path / "c.pem")) if "--host" in more else ()
    journal = str(tmp_path / "a.sqlite")
    told = CliRunner().invoke(
        main, ["serve", "--journal", journal, "--name", "visits.example", *more, *pem, "--no-demo"]
    )
    assert f"On a phone: {address}  (" in told.output, told.output


SUMS = {s.name: s for s in single_sums()}


def test_the_sums_of_the_pages_are_those_of_the_command_line() -> None:
    assert set(SUMS) == set(main.get_command(None, "bench").commands)  # type: ignore[attr-defined]
    found = SUMS["resistance"].work({"csa": "10", "length": "16", "on": "2026-11-20"})
    assert found.numbers["r_high_ohm"] == pytest.approx(16 * 1.83e-3)  # IEC 60228, class 2: 1.83 mΩ/m
    assert found.formula
    assert found.source
    stakes = SUMS["stakes"].work({"readings_ohm": "80 82 84"})
    assert stakes.numbers["mean_ohm"] == 82.0


@pytest.mark.parametrize(
    ("name", "typed", "field"),
    [
        ("resistance", {"csa": "ten", "length": "16"}, "csa"),
        ("resistance", {"csa": "10"}, "length"),
        ("resistance", {"csa": "11", "length": "16"}, ""),
        ("resistance", {"csa": "10", "length": "-1"}, ""),
        ("bond-size", {"system": "TN-X"}, "system"),
        ("stakes", {"readings_ohm": "1 2"}, ""),
        ("insulation", {"circuit": "1 --json --help"}, "circuit"),
        ("ring", {"r1": "nan", "rn": "1"}, "r1"),
        ("earthing-conductor", {"line": "nan"}, "line"),
        ("bond-size", {"system": "TN-C-S", "pme": "yes", "neutral": "nan"}, "neutral"),
        ("leads", {"reading": "1e400", "lead": "1"}, "reading"),
        ("leads", {"reading": "1e308", "lead": "1"}, "reading"),
        ("stakes", {"readings_ohm": "1 inf 2"}, "readings_ohm"),
        ("resistance", {"csa": "10", "length": "16", "on": "soon"}, "on"),
        ("adiabatic", {"csa": "10"}, ""),
        ("leads", {"reading": "--json", "lead": "1"}, "reading"),
    ],
)
def test_what_is_wrong_in_a_sum_is_told_at_its_field(name: str, typed: dict[str, str], field: str) -> None:
    found = SUMS[name].work(typed)
    assert found.result == ""
    assert field in found.errors
    assert found.errors[field][0]
    assert "option" not in found.errors[field][0], "a page knows no options"
    assert "Invalid value" not in found.errors[field][0]
