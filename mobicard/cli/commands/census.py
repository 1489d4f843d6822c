"""``mobicard census FILE``: the bed list comes in; a preview first, then all of it or none."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from mobicard import inflow
from mobicard.cli.station import Refused, Station, answer, cannot_be_read, print_json, read_input
from mobicard.exchange.census.preview import Preview


@click.command("census")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--map", "mapping", type=click.Path(path_type=Path, dir_okay=False), help="A mapping file (TOML)."
)
@click.option("--unit", metavar="UNIT", help="Only this unit's beds; who is told to be elsewhere leaves.")
@click.option("--apply", "apply_it", is_flag=True, help="Do it, in one step or not at all.")
@click.option("--absent", type=click.Choice(["keep", "discharge"]), default="keep", show_default=True)
@click.option(
    "--leaving", metavar="N", type=int, help="With --absent discharge: that N in all leave is meant so."
)
@click.option("--all-or-nothing", is_flag=True, help="One message that cannot be read stops all of them.")
@click.option("--json", "as_json", is_flag=True, help="The preview as JSON.")
@click.pass_context
def command(
    ctx: click.Context,
    file: Path,
    mapping: Path | None,
    unit: str | None,
    apply_it: bool,
    absent: str,
    leaving: int | None,
    all_or_nothing: bool,
    as_json: bool,
) -> None:
    """Read a bed list FILE (CSV, a workbook, or HL7 v2 ADT messages) and show what it would do.

    Nothing is changed without --apply, and an assessment is never overwritten.
    Exit code 1 when a line cannot be read: of a list it stops all, of messages only its own visit.
    --absent discharge takes who is not in the list as discharged; more than three, only if --leaving says so.
    """
    station: Station = ctx.obj
    from mobicard.exchange.census.mapping import CensusMapping, MappingRefused
    from mobicard.exchange.census.rows import CensusRefused
    from mobicard.ward.census import census_apply, census_preview

    ward = station.signed_in("admit") if apply_it or station.ward.needs_sign_in else station.ward
    try:
        chosen = CensusMapping.from_toml(read_input(mapping)) if mapping else None
        leave: Literal["keep", "discharge"] = "discharge" if absent == "discharge" else "keep"
        seen = census_preview(ward, inflow.read_bytes(file), chosen, absent=leave, only=unit)
    except OSError as gone:
        raise cannot_be_read(file, gone) from None
    except (CensusRefused, MappingRefused) as refused:
        raise Refused(f"{file}: {refused}") from None
    if apply_it:
        _look_twice(seen, leaving)
    count = census_apply(ward, seen, all_or_nothing=all_or_nothing) if apply_it else None
    if as_json:
        print_json({**seen.as_json(), "applied": count})
    else:
        _show(seen)
        click.echo("Applied." if apply_it else "Nothing was changed; --apply does it.", err=True)
    ctx.exit(1 if seen.cannot_read else 0)


FEW = 3
"""Stays that may leave unsaid without a second look. Common practice, no source: a shift's discharges."""


def _look_twice(seen: Preview, leaving: int | None) -> None:
    """Refuse to let many patients leave because a list does not name them, unless their number was said."""
    many = seen.leaving_unsaid
    if many > FEW and leaving != many:
        raise Refused(
            f"{many} patients are not in the list and would leave: is it whole? Nothing was changed. "
            f"Look at them without --apply; if they have all left, add --leaving {many}"
        )


def _show(seen: Preview) -> None:
    kinds = ("admit", "move", "discharge", "weigh", "not_in_file")
    says = [one.says for name in kinds for one in getattr(seen, name)]
    says += [f"cannot read line {bad.line}: {bad.why}" for bad in seen.cannot_read]
    says += [f"note: {note}" for note in seen.notes]
    answer(False, {}, [*says, seen.summary()])
