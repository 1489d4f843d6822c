"""The command group: commands are imported only when they run, so that none pays for another."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import click

from mobicard import __version__
from mobicard.cli.station import Station

COMMANDS = {
    "demo": "demo",
    "plan": "plan",
    "brief": "brief",
    "practise": "brief.practise",
    "cards": "cards",
    "handoff": "handoff",
    "check": "check",
    "census": "census",
    "stay": "stay",
    "export": "export",
    "hands": "hands",
    "people": "people",
    "ledger": "ledger",
    "doctor": "doctor",
    "web": "web",
    "shell": "shell",
    "about": "shell.about",
}


class LazyGroup(click.Group):
    """A group that knows its commands by name and loads each on use."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        module, _, name = COMMANDS.get(cmd_name, "").partition(".")
        if not module:
            return None
        command = getattr(import_module(f"mobicard.cli.commands.{module}"), name or "command", None)
        return command if isinstance(command, click.Command) else None


@click.group(
    cls=LazyGroup,
    invoke_without_command=True,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, prog_name="mobicard")
@click.option(
    "--ledger", metavar="FILE|URL", help="The ledger to work on. [$MOBICARD_LEDGER or the user's own]"
)
@click.option(
    "--config",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder with the facility's own files (policy, scheme, inventory, staff, instruments, phrases).",
)
@click.option("--policy", type=click.Path(path_type=Path, dir_okay=False), help="The facility's policy file.")
@click.option(
    "--scheme", type=click.Path(path_type=Path, dir_okay=False), help="The facility's level scheme."
)
@click.option("--inventory", type=click.Path(path_type=Path, dir_okay=False), help="The unit's equipment.")
@click.option(
    "--by", metavar="INITIALS", envvar="MOBICARD_BY", help="Your initials, for the entries you make."
)
@click.option(
    "--now", metavar="ISO", envvar="MOBICARD_NOW", help="Work as at this ward time (for trying things out)."
)
@click.pass_context
def cli(
    ctx: click.Context,
    ledger: str | None,
    config: Path | None,
    policy: Path | None,
    scheme: Path | None,
    inventory: Path | None,
    by: str | None,
    now: str | None,
) -> None:
    """How to move this patient, now, and why.

    Without a command: opens the terminal (Board, Record, Round, Print desk, Handoff).

    Decision support only: licensed judgement, orders and facility policy come first.
    """
    ctx.obj = Station(ledger, config, policy, scheme, inventory, by, now)
    if ctx.invoked_subcommand is None:
        from mobicard.cli.open_terminal import open_terminal

        ctx.exit(open_terminal(ctx.obj))
