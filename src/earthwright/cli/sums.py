"""The single sums of the command line for the pages: the same code, asked with the texts of a form."""

from __future__ import annotations

import contextlib
import datetime as dt
import io
import json
from collections.abc import Mapping

import click

from ..base.errors import EarthwrightError
from ..web.sum_form import Outcome, SingleSum, SumField
from .main import main

LONGEST = 200


def single_sums() -> tuple[SingleSum, ...]:
    """Every sum of ``earthwright bench``, in the order of its help."""
    bench = main.get_command(None, "bench")
    assert isinstance(bench, click.Group)  # declared so
    return tuple(_sum(name, command) for name, command in sorted(bench.commands.items()))


def _sum(name: str, command: click.Command) -> SingleSum:
    asked = [p for p in command.params if _key(p) != "json"]
    fields = tuple(_field(p) for p in asked)
    return SingleSum(
        name,
        (command.help or name).split("\n")[0].replace("--", ""),
        fields,
        lambda typed: _work(command, asked, typed),
    )


def _key(parameter: click.Parameter) -> str:
    """The name of a parameter in the address: its long option without the dashes."""
    if isinstance(parameter, click.Option):
        return max(parameter.opts, key=len).lstrip("-")
    return str(parameter.name)


def _field(parameter: click.Parameter) -> SumField:
    words = parameter.help if isinstance(parameter, click.Option) and parameter.help else _key(parameter)
    kind = parameter.type
    choices = tuple(map(str, kind.choices)) if isinstance(kind, click.Choice) else ()
    start = parameter.default
    if isinstance(parameter, click.Option) and parameter.secondary_opts:
        choices, start = ("yes", "no"), None
    text = "" if start is None or callable(start) or not isinstance(start, (str, int, float)) else str(start)
    if isinstance(kind, click.DateTime):
        text = dt.date.today().isoformat()  # so that the address says whose rules were used
    many = bool(getattr(parameter, "multiple", False)) or parameter.nargs != 1
    return SumField(_key(parameter), words.rstrip("."), text, choices, parameter.required, many)


def _wrong(error: click.BadParameter) -> str:
    """What is wrong with one field, in a sentence of the page: nothing of options."""
    kind = error.param.type if error.param else None
    if isinstance(error, click.MissingParameter):
        return "The sum needs this."
    said = error.message
    if isinstance(kind, click.Choice):
        said = f"expected {', '.join(map(str, kind.choices))}"
    elif isinstance(kind, click.DateTime):
        said = "expected a day, e.g. 2026-11-20"
    return f"{said[:1].upper()}{said[1:].rstrip('.')}."


def _work(command: click.Command, asked: list[click.Parameter], typed: Mapping[str, str]) -> Outcome:
    """Work it out; what is wrong comes back at its field."""
    options: list[str] = ["--json"]
    arguments: list[str] = []
    for parameter in asked:
        value = typed.get(_key(parameter), "").strip()[:LONGEST]
        if not value:
            continue
        if not isinstance(parameter, click.Option):
            arguments += value.split()
        elif parameter.secondary_opts:
            options.append(max(parameter.opts if value == "yes" else parameter.secondary_opts, key=len))
        else:
            many = parameter.multiple or parameter.nargs != 1
            options += [f"{max(parameter.opts, key=len)}={one}" for one in (value.split() if many else [value])]
    said, wrong = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(wrong):
            command.main([*options, "--", *arguments], standalone_mode=False, prog_name=command.name or "")
    except click.BadParameter as error:
        name = _key(error.param) if error.param else ""
        return Outcome(errors={name: (_wrong(error),)})
    except click.ClickException as error:
        return Outcome(errors={"": (error.format_message(),)})
    except (SystemExit, EarthwrightError, ValueError, OverflowError, ZeroDivisionError) as error:
        text = wrong.getvalue().strip() or str(error)
        return Outcome(errors={"": (text,)})
    found = json.loads(said.getvalue())
    known = ("result", "what", "formula", "source")
    numbers = {k: v for k, v in found.items() if k not in known}
    result, what, formula, source = (str(found.get(k, "")) for k in known)
    return Outcome(result, what, formula, source, numbers)
