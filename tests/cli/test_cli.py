"""The commands as a person types them."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner, Result

from earthwright.cli import main

VISITS = Path(__file__).parents[1] / "visits"
DEMO = Path(__file__).parents[2] / "src" / "earthwright" / "desk" / "demo" / "visit.toml"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(a) for a in arguments])


def test_judge_prints_each_verdict_and_the_caution() -> None:
    done = run("judge", VISITS / "01-masked.toml")
    assert done.exit_code == 0
    assert "[=] water pipe: proved" in done.output
    assert "The tool advises; the inspector judges and signs." in done.output
    full = run("judge", VISITS / "01-masked.toml", "--full")
    assert "Together from the other two: 0.0187" in full.output


@pytest.mark.parametrize(
    ("visit", "code"),
    [
        ("00-control", 0),
        ("01-masked", 0),
        ("02-flattered", 1),
        ("03-paint", 1),
        ("05-null", 0),
        ("15-below-resolution", 0),
    ],
)
def test_exit_codes(visit: str, code: int) -> None:
    assert run("judge", VISITS / f"{visit}.toml").exit_code == code


def test_json_follows_its_published_schema() -> None:
    schema = json.loads(run("schema").output)
    jsonschema.Draft202012Validator.check_schema(schema)
    follows = jsonschema.Draft202012Validator(schema)
    # Between them every kind of thing that may be judged: bonds, electrode, ring, insulation, alarm, gates.
    for visit in ("02-flattered", "07-tt-electrode", "09-ring-bridge", "14-insulation", "16-open-pen", "17-neighbours"):
        (book,) = VISITS.glob(f"{visit}*.toml")
        follows.validate(json.loads(run("judge", book, "--json").output))
    record = json.loads(run("judge", VISITS / "00-control.toml", "--json").output)
    record["bonds"][0]["verdict"] = 7
    with pytest.raises(jsonschema.ValidationError):
        follows.validate(record)


def test_the_last_visit_is_compared_with(tmp_path: Path) -> None:
    same = VISITS / "29-worked-out.toml"
    before = tmp_path / "before.toml"
    before.write_text(same.read_text(encoding="utf-8").replace("2026-11-20", "2021-11-20"), encoding="utf-8")
    said = " ".join(run("judge", same, "--last", before).output.split())
    assert "readings are those of 2021-11-20, to the last digit" in said
    assert "to the last digit" not in " ".join(run("judge", VISITS / "27-swapped-and-point.toml").output.split())
    assert run("judge", same, "--last", tmp_path / "none.toml").exit_code == 4


def test_next_says_what_for_and_what_first() -> None:
    done = run("next", VISITS / "02-flattered.toml")
    assert "Renew the bond to the water pipe" in done.output
    assert "If the bond is sound, this reading proves it" in done.output
    assert "Isolate and lock off" in done.output
    assert "Nothing more is needed here." in run("next", VISITS / "00-control.toml").output


def test_map_and_paper_are_written_whole(tmp_path: Path) -> None:
    done = run("map", VISITS / "00-control.toml", "-o", tmp_path / "m.svg")
    assert done.exit_code == 0
    assert (tmp_path / "m.svg").read_text(encoding="utf-8").startswith("<svg")
    assert run("paper", DEMO, "-o", tmp_path / "r.pdf").exit_code == 0
    assert (tmp_path / "r.pdf").read_bytes().startswith(b"%PDF")
    assert not list(tmp_path.glob("*.part"))
    nowhere = run("map", VISITS / "00-control.toml", "-o", tmp_path / "no" / "m.svg")
    assert nowhere.exit_code == 7
    assert "cannot be written" in nowhere.output


def test_start_writes_a_blank_that_can_be_judged_and_is_never_overwritten(tmp_path: Path) -> None:
    file = tmp_path / "my.toml"
    assert run("start", file).exit_code == 0
    again = run("start", file)
    assert again.exit_code == 2
    assert "not overwritten" in again.output
    done = run("judge", file)
    assert done.exit_code == 3
    assert "place: This is needed and is empty." in " ".join(done.output.split())
    file.write_text(file.read_text(encoding="utf-8").replace('place = ""', 'place = "Here"'), encoding="utf-8")
    done = run("judge", file)
    assert done.exit_code == 0
    assert "proved" not in done.output, "nobody measured anything"
    assert "No bonds and no boards are entered." in done.output


def test_files_that_are_no_visit_book(tmp_path: Path) -> None:
    for name, content in (("a", b"\xff\xfe\x00"), ("b", b"= nonsense"), ("c", b"x" * 2_000_001)):
        (tmp_path / name).write_bytes(content)
        done = run("judge", tmp_path / name)
        assert done.exit_code == 4, done.output
        assert len(done.output.strip().splitlines()) == 1
    assert run("judge", tmp_path / "absent").exit_code == 4
    assert run("judge", tmp_path).exit_code == 4


def test_a_heading_that_cannot_be_read_judges_nothing(tmp_path: Path) -> None:
    (tmp_path / "v.toml").write_text("[visit]\nplace = 'x'\n")
    done = run("judge", tmp_path / "v.toml")
    assert done.exit_code == 3
    assert "date: This is needed and is missing." in done.output


def test_an_empty_visit_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "v.toml").write_text("[visit]\nplace = 'x'\ndate = 2026-11-20\n")
    assert "No bonds and no boards are entered." in run("judge", tmp_path / "v.toml").output


def test_demo_writes_four_files(tmp_path: Path) -> None:
    done = run("demo", "-o", tmp_path / "out")
    assert done.exit_code == 0
    assert {p.name for p in (tmp_path / "out").iterdir()} == {"visit.toml", "record.pdf", "map.svg", "record.json"}
    assert "1 proved, 2 disproved, 0 not shown" in done.output
    (tmp_path / "file").write_text("x")
    assert "cannot be written" in run("demo", "-o", tmp_path / "file").output


@pytest.mark.parametrize(
    ("arguments", "result"),
    [
        # 24 m of 10 mm²: 24 × 1.83 mΩ = 0.0439 Ω and 93 % of it.
        (["resistance", "--csa", "10", "--length", "24"], "0.0408 to 0.0439 Ω"),
        # 0.02 ± 0.025 Ω of 10 mm²: 0 to 0.045/0.97 Ω over 1.83 × 0.93 mΩ/m.
        (["length", "--csa", "10", "--reading", "0.02"], "0.0 to 27.3 m"),
        (["adiabatic", "--current", "460", "--time", "0.1", "--k", "115"], "S = 1.265 mm²"),
        (["adiabatic", "--csa", "6", "--time", "0.4"], "I = 1091 A"),
        (["adiabatic", "--csa", "6", "--current", "1091"], "t = 0.4 s"),
        (["adiabatic", "--csa", "6", "--current", "1091", "--time", "0.4"], "k = 115 A"),
        (["bond-size", "--system", "TN-C-S", "--pme", "--neutral", "25"], "10 mm²"),
        (["bond-size", "--system", "TT", "--earthing", "16"], "10 mm²"),
        (["bond-size", "--system", "TN-S"], "Not decided"),
        (["earthing-conductor", "--line", "25"], "16 mm²"),
        (["leads", "--reading", "0.81", "--lead", "0.78"], "0.030 ±"),
        (["closure", "--conductor", "0.05", "--path", "0.03", "--together", "0.02"], "They agree"),
        (["closure", "--conductor", "0.05", "--together", "0.2"], "They do not agree"),
    ],
)
def test_single_sums(arguments: list[str], result: str) -> None:
    done = run("bench", *arguments)
    assert done.exit_code == 0, done.output
    assert done.output.startswith(result)
    assert "Source:" in done.output
    as_json = json.loads(run("bench", *arguments, "--json").output)
    assert as_json["result"].startswith(result)
    assert as_json["formula"]
    assert as_json["source"]


@pytest.mark.parametrize(
    "arguments",
    [
        ["resistance", "--csa", "11", "--length", "24"],
        ["resistance", "--csa", "10", "--length", "-1"],
        ["bond-size", "--system", "TT", "--earthing", "16", "--on", "2007-01-01"],
        ["adiabatic", "--csa", "6"],
        ["adiabatic", "--csa", "6", "--current", "0", "--k", "115"],
        ["length", "--csa", "ten", "--reading", "0.02"],
        ["earthing-conductor", "--line", "nan"],
        ["bond-size", "--system", "TN-C-S", "--pme", "--neutral", "nan"],
        ["leads", "--reading", "1e400", "--lead", "0.1"],
        ["stakes", "1", "inf", "2"],
    ],
)
def test_sums_refuse_in_words(arguments: list[str]) -> None:
    done = run("bench", *arguments)
    assert done.exit_code == 2
    assert "Traceback" not in done.output
    assert done.output.strip()


def test_bonds_tied_together_are_weighed_as_one_network_and_others_when_asked() -> None:
    assert "All bonds as one network" not in run("judge", VISITS / "00-control.toml").output
    asked = run("judge", VISITS / "00-control.toml", "--site").output
    assert "All bonds as one network" in asked
    assert "proved" in asked
