"""The commands, each loaded when it is asked for, and the way out of all of them."""

from __future__ import annotations

import re
import sys
from importlib import import_module

import click

from .. import __version__
from ..base.errors import EarthwrightError
from .exits import Exit, FileTrouble
from .jobs import JOBS, MODULES

ALL = "all"  # the extra that holds all the others


class Commands(click.Group):
    """Commands some of which need more than the core: what to install for one is said in a line."""

    def invoke(self, ctx: click.Context) -> object:
        """Run a command."""
        try:
            return super().invoke(ctx)
        except ModuleNotFoundError as error:
            if (error.name or "").partition(".")[0] in ("", "earthwright"):
                raise  # ours: a fault, and no extra would mend it
            raise FileTrouble(lacking(error.name or "", ctx.invoked_subcommand or "")) from error

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names of all commands."""
        return sorted(MODULES)

    def get_command(self, ctx: click.Context | None, cmd_name: str) -> click.Command | None:
        """The command of a name, its modules loaded now; None when there is none."""
        for module in MODULES.get(cmd_name, ()):
            import_module(f".{module}", __package__)
        return self.commands.get(cmd_name)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Every command with its line, by the job it belongs to; one that no job names comes last."""
        listed = {name for names in JOBS.values() for name in names}
        others = {"Others": tuple(n for n in self.list_commands(ctx) if n not in listed)}
        for job, names in (JOBS | others).items():
            known = [(n, c) for n in names if (c := self.get_command(ctx, n)) is not None]
            if known:
                with formatter.section(job):
                    formatter.write_dl([(n, c.get_short_help_str(limit=86)) for n, c in known])


def lacking(module: str, command: str) -> str:
    """What to install where a module is not there, from what the package declares."""
    from importlib import metadata  # slow to load, and rarely wanted

    name = module.partition(".")[0]
    try:
        declared = metadata.requires("earthwright") or []
    except metadata.PackageNotFoundError:
        declared = []
    wanted = re.compile(rf"(?:python.)?{re.escape(name).replace('_', '[-_.]')}\b.*extra == ['\"](\w+)", re.IGNORECASE)
    extras = [m[1] for line in declared if (m := wanted.match(line)) and m[1] not in ("dev", ALL)]
    what = f"'{command}' needs a package that is not installed ({name})."
    if not extras:
        return f"{what} Install it, or everything: pip install 'earthwright[{ALL}]'"
    return f"{what} Install the extra '{extras[0]}': pip install 'earthwright[{extras[0]}]'; everything: 'earthwright[{ALL}]'"


def _version(context: click.Context, parameter: click.Parameter, asked: bool) -> None:
    """Say which version and build this is, as ``verify`` names them, and end."""
    if asked and not context.resilient_parsing:
        from ..base.build import build_mark

        click.echo(f"earthwright {__version__}, build {build_mark()}")
        context.exit()


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option(
    "--version", is_flag=True, expose_value=False, is_eager=True, callback=_version, help="Version and build."
)
def main() -> None:
    """Judge what readings on earthing and bonding prove.

    The tool advises; the inspector judges and signs. Local codes, the instrument's instructions and
    competent, registered or licensed persons decide.
    """


def run() -> None:
    """Entry point: the package's own errors become one line, and every way out its exit code."""
    try:
        main(standalone_mode=False)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except (click.Abort, KeyboardInterrupt):
        click.echo("Stopped.", err=True)
        sys.exit(Exit.STOPPED)
    except EarthwrightError as error:
        click.echo(str(error), err=True)
        sys.exit(Exit.USAGE)
