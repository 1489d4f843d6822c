"""The command group: commands are imported only when they run, so that none pays for another."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import click

from mobicard import __version__
from mobicard.cli.station import Station

COMMANDS = {
    "demo": ("demo", "Write an invented unit of 24 beds: ledger, cards, handoff"),
    "plan": ("plan", "The handling plan of a record file, why, and what if"),
    "brief": ("brief", "How a move of a patient is done now, with these people"),
    "practise": ("brief:practise", "Practise on an invented patient; nothing is kept"),
    "cards": ("cards", "Print the door and bedside cards, and say that they hang"),
    "handoff": ("handoff", "Write what the oncoming staff read, changes first"),
    "check": ("check", "Whether the card with a code is current, replaced or unknown"),
    "census": ("census", "Read a bed list (CSV, HL7 v2 ADT), show or apply it"),
    "feed": ("live.feed", "Listen for HL7 v2 ADT messages and apply each as it comes"),
    "stay": ("stay", "Admit, move, swap, discharge, readmit, correct, assign"),
    "record": ("bedside.record", "Record an assessment of the patient in a bed"),
    "same": ("bedside.look:same", "Seen just now, and as last recorded"),
    "taken-over": ("bedside.look:taken_over", "You have read the handoff of beds and take them over"),
    "judge": ("bedside.look:judge", "Set another level by your own judgement, with a reason"),
    "order": ("bedside.look:order", "Orders and precautions of a bed: until when, or over"),
    "fall": ("bedside.fall:fall", "Record that the patient in a bed has fallen"),
    "clear": ("bedside.fall:clear", "Record who examined the patient after the fall, and what of"),
    "up": ("bedside.fall:up", "Record that the patient is up after the fall"),
    "head": ("bedside.fall:head", "Note a head observation made just now"),
    "export": ("export", "Write the unit as FHIR, CSV, JSON lines or JSON Schema"),
    "hands": ("hands", "Plan the shift's moves against its people and lifts"),
    "house": ("house", "Which unit is short, which lift is free; read only"),
    "people": ("people", "The staff list: initials, role and PIN"),
    "ledger": ("ledger", "The ledger itself: new, verify, audit, backup, restore"),
    "doctor": ("itself.doctor", "Check the facility's files and this machine"),
    "web": ("web", "Serve the terminal to a browser on this machine only"),
    "shell": ("itself.shell", "The keys to hang up, completions, the manual page, a service"),
    "about": ("itself.about", "What it is for, what a plan rests on, its tests, its limits"),
}
"""Each command: where it is, and what the list of commands says of it, so that the list loads none."""


class LazyGroup(click.Group):
    """A group that knows its commands by name and loads each on use."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        path, _ = COMMANDS[cmd_name]
        module, name = path.split(":") if ":" in path else (path, "command")
        command = getattr(import_module(f"mobicard.cli.commands.{module}"), name, None)
        return command if isinstance(command, click.Command) else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, says) for name, (_, says) in COMMANDS.items()])


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
    "--unit",
    metavar="UNIT",
    envvar="MOBICARD_UNIT",
    help="Only this unit's beds, where the ledger is the whole house's.",
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
    unit: str | None,
    now: str | None,
) -> None:
    """How to move this patient, now, and why.

    Without a command: opens the terminal (Board, Record, Round, Print desk, Handoff).

    Decision support only: licensed judgement, orders and facility policy come first.
    """
    ctx.obj = Station(ledger, config, policy, scheme, inventory, by, now, unit or None)
    if ctx.invoked_subcommand is None:
        from mobicard.cli.open_terminal import open_terminal

        ctx.exit(open_terminal(ctx.obj))
