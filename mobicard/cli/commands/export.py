"""``mobicard export``: what mobicard knows in open formats."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from itertools import chain
from pathlib import Path

import click

from mobicard.cli.bed_names import bed_option
from mobicard.cli.station import Refused, Station
from mobicard.outflow import write_private
from mobicard.ward import BedView, Ward


@click.command("export")
@click.option("--fhir", is_flag=True, help="A FHIR R4 Bundle of the unit, pseudonymous.")
@click.option(
    "--fhir-transaction",
    is_flag=True,
    help="As --fhir for a server: each resource put by its id, repeatable.",
)
@click.option(
    "--fhir-definitions", is_flag=True, help="Our own code systems and extensions, as FHIR resources."
)
@click.option("--csv", is_flag=True, help="The unit's state for a spreadsheet.")
@click.option("--lines", is_flag=True, help="One JSON line a bed: record and plan.")
@click.option("--ledger", is_flag=True, help="Every entry as JSON lines, no PINs; the keeper's.")
@click.option("--schema", is_flag=True, help="The JSON Schema of Record and Plan.")
@bed_option("beds", multiple=True, help="Only this bed; may be given again.")
@click.option(
    "--since",
    metavar="TIME",
    help="With --fhir or --fhir-transaction: only what changed since then, and what does not hold any more.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File to write; standard output by default.",
)
@click.option("--force", is_flag=True, help="Replace the file if it is there.")
@click.pass_obj
def command(
    station: Station,
    /,
    beds: tuple[str, ...],
    since: str | None,
    out: Path | None,
    force: bool,
    **kinds: bool,
) -> None:
    """Write the unit in an open format: --fhir, --csv, --lines, --ledger or --schema.

    \b
    mobicard export --fhir --out unit.fhir.json
    mobicard export --fhir-transaction --since 07:00 --out to-the-server.json
    mobicard export --csv --out unit.csv
    """
    kind = _kind(kinds, since, beds)
    if out is not None and out.exists() and not force:
        raise Refused(f"{out} is there already; choose another name, or --force to replace it")
    fixed = _fixed(kind)
    pieces = iter([fixed]) if fixed else _unit(station, kind, beds, since)
    if out is None:
        sys.stdout.writelines(pieces)
        return
    out.parent.mkdir(parents=True, exist_ok=True)
    write_private(out, (piece.encode() for piece in pieces))
    click.echo(out)


def _kind(kinds: dict[str, bool], since: str | None, beds: tuple[str, ...]) -> str:
    """The one thing that is asked for. Raises UsageError for none, two, and what does not go with it."""
    asked = [kind for kind, wanted in kinds.items() if wanted]
    if len(asked) != 1:
        names = [f"--{kind.replace('_', '-')}" for kind in kinds]
        raise click.UsageError(f"say one thing to export: {', '.join(names[:-1])} or {names[-1]}")
    (kind,) = asked
    if since is not None and kind not in ("fhir", "fhir_transaction"):
        raise click.UsageError("--since goes with --fhir or --fhir-transaction")
    if since is not None and beds:
        raise click.UsageError("--since tells of every bed that changed, --bed of one; give one of them")
    return kind


def _fixed(kind: str) -> str | None:
    """What is the same for every unit: the schemas and our own definitions."""
    if kind == "schema":
        from mobicard.exchange.schema import plan_schema, record_schema

        said = {"record": record_schema(), "plan": plan_schema()}
    elif kind == "fhir_definitions":
        from mobicard.exchange.fhir.definitions import as_bundle

        said = as_bundle()
    else:
        return None
    return json.dumps(said, indent=2, ensure_ascii=False) + "\n"


def _unit(station: Station, kind: str, beds: tuple[str, ...], since: str | None) -> Iterator[str]:
    if kind == "ledger":
        from mobicard.ward.reader.exporting import ledger_lines

        ward = station.signed_in("backup") if station.ward.needs_sign_in else station.ward
        ward.kept("export")
        return ledger_lines(ward)
    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    views = ward.one_by_one(beds)
    first = next(views, None)
    if beds and first is None:
        raise Refused(f"no such bed is occupied: {', '.join(beds)}")
    ward.looked(f"export as {kind}")
    return _written(ward, kind, chain([first], views) if first else views, since)


def _written(ward: Ward, kind: str, views: Iterable[BedView], since: str | None) -> Iterator[str]:
    from mobicard.ward.reader import exporting
    from mobicard.ward.reader.since import since_of

    if since is not None or kind == "fhir_transaction":
        start = since_of(ward, since, None) if since else None
        shown = None if since else views
        return exporting.fhir_since_text(ward, shown, start, transaction=kind == "fhir_transaction")
    writers = {"fhir": exporting.fhir_text, "csv": exporting.csv_text, "lines": exporting.line_text}
    return writers[kind](ward, views)
