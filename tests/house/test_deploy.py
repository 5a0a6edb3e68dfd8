"""What the containers of a firm's server name is there: files, secrets that git leaves out, options of the command."""

from __future__ import annotations

import re
from pathlib import Path

from earthwright.cli.serve import serve

ROOT = Path(__file__).parents[2]
DEPLOY = ROOT / "deploy"
COMPOSE = (DEPLOY / "compose.yaml").read_text(encoding="utf-8")


def test_what_the_image_copies_is_there_and_let_through() -> None:
    image = (DEPLOY / "Dockerfile").read_text(encoding="utf-8")
    let_through = {x[1:] for x in (DEPLOY / "Dockerfile.dockerignore").read_text().splitlines() if x.startswith("!")}
    copied = [name for line in re.findall(r"^COPY (.+) \S+$", image, re.M) for name in line.split()]
    assert len(copied) >= 4
    for name in copied:
        assert (ROOT / name).exists(), name
        assert name.split("/")[0] in let_through, name
    for name in re.findall(r"-r (\S+)", image):
        assert name in copied


def test_every_secret_is_declared_and_left_out_of_git() -> None:
    declared = dict(re.findall(r"^  (\w+): \{file: (\S+)\}$", COMPOSE, re.M))
    assert declared
    assert all(path.startswith("secrets/") for path in declared.values())
    assert "deploy/secrets/" in (ROOT / ".gitignore").read_text().splitlines()
    used = " ".join(re.findall(r"secrets: \[(.*)\]", COMPOSE))
    named = {
        *re.findall(r"source: (\w+)", used),
        *re.findall(r"(?:^|, |\] ?)(\w+)(?=,|$| )", re.sub(r"\{.*?\}", "", used)),
    }
    assert named == declared.keys()
    for path in re.findall(r"/run/secrets/(\w+)", COMPOSE):
        assert path in declared, path


def test_the_pages_are_begun_with_options_that_there_are() -> None:
    known = {name for p in serve.params for name in p.opts}
    asked = re.findall(r"^      - (--[\w-]+)=", COMPOSE, re.M)
    assert len(asked) >= 5
    assert set(asked) <= known
