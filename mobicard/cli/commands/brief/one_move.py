"""``mobicard brief``: how one move is done now, with these people; text, JSON, HTML and PDF."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

from mobicard.cli.bed_names import bed_argument
from mobicard.cli.commands.plan import record_from
from mobicard.cli.station import Refused, Station, print_json
from mobicard.derive.brief import Brief, Helper, HelpersRefused
from mobicard.facts import Record
from mobicard.facts.words import Task


@click.command("brief")
@bed_argument("bed")
@click.argument("move")
@click.option(
    "--helpers",
    metavar="JN=165,AB=5ft7in",
    help="Who helps, each with a stature: cm, or feet and inches; initials alone will do.",
)
@click.option("--file", type=click.Path(path_type=Path, dir_okay=False), help="A record file, no ledger.")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Write the A5 page here, HTML and PDF."
)
@click.option("--json", "as_json", is_flag=True, help="The whole brief as JSON, each line with its why.")
@click.option("--why", is_flag=True, help="Every line with its rule, its facts and its source.")
@click.pass_obj
def command(
    station: Station,
    bed: str,
    move: str,
    helpers: str | None,
    file: Path | None,
    out: Path | None,
    as_json: bool,
    why: bool,
) -> None:
    """How MOVE is done for the patient in BED, now: who, make ready, say, do, stop, leave.

    \b
    mobicard brief 5N-04 chair
    mobicard brief 5N-04 chair --helpers JN=165,AB=5ft11in --out brief
    """
    task, people = task_named(move), people_named(helpers or "")
    found = _found(station, _record(station, bed, file), task, people, from_file=file is not None)
    files = _write(station, found, out) if out else []
    if as_json:
        print_json({**found.as_json(), "files": [str(path) for path in files]})
    elif why:
        _why(found)
    elif out is None:
        _show(station, found)
    for path in () if as_json else files:
        click.echo(path)


def task_named(text: str) -> Task:
    """The move of this name; spaces and hyphens will do. Raises UsageError naming them all."""
    wanted = text.strip().casefold().replace(" ", "_").replace("-", "_")
    try:
        return Task(wanted)
    except ValueError:
        moves = ", ".join(task.value for task in Task)
        raise click.UsageError(f"“{text}” is no move; the moves are {moves}") from None


def people_named(text: str) -> tuple[Helper, ...]:
    """Helpers from ``JN=165,AB=5ft7in``. Raises UsageError in words."""
    from mobicard.derive.brief.helpers import read_helpers

    try:
        return read_helpers(text)
    except HelpersRefused as refused:
        raise click.UsageError(refused.says) from None


def _record(station: Station, bed: str, file: Path | None) -> Record:
    """The record of a bed, noted as looked at; or of a file. Raises Refused."""
    if file is not None:
        return record_from(file)
    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    view = ward.find(bed)
    if view is None:
        raise Refused(f"{bed} is not occupied; `mobicard stay list` names the beds")
    ward.seen(view.stay)
    return view.record


def _found(
    station: Station, record: Record, task: Task, helpers: Sequence[Helper], *, from_file: bool
) -> Brief:
    from mobicard.derive.brief import brief_for

    people = helpers if from_file else station.ward.briefs.measured(helpers)
    found = brief_for(record, task, station.policy, station.now, people, station.settings.inventory)
    return found if from_file else station.ward.briefs.spoken(record, found)


def _show(station: Station, found: Brief) -> None:
    from mobicard.paper.brief.text import brief_text

    for line in brief_text(found, station.settings.scheme):
        click.echo(line)
    click.echo("Decision support only: judgement, orders and facility policy come first.")


def _why(found: Brief) -> None:
    """Line by line, those without room on the page too."""
    for line in found.lines:
        facts = ", ".join(f"{name}: {value}" for name, value in line.because.items())
        room = "" if line.shown else "  (no room on the page)"
        click.echo(f"{line.phase.value}: {line.says}{room}")
        click.echo(f"  {line.rule}; {line.source}" + (f"; {facts}" if facts else ""))


def _write(station: Station, found: Brief, out: Path) -> list[Path]:
    from mobicard.paper.brief.page import brief_html
    from mobicard.paper.files import write_page

    name = f"brief-{''.join(letter if letter.isalnum() else '-' for letter in found.bed)}-{found.move.value}"
    return write_page(name, brief_html(found, station.settings.scheme, station.now), out)
