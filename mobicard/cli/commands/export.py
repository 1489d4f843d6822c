"""``mobicard export``: what mobicard knows in open formats."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import click

from mobicard.cli.station import Refused, Station
from mobicard.outflow import write_private


@click.command("export")
@click.option("--fhir", is_flag=True, help="A FHIR R4 Bundle of the unit, pseudonymous.")
@click.option("--csv", is_flag=True, help="The unit's state for a spreadsheet.")
@click.option("--lines", is_flag=True, help="One JSON line a bed: record and plan.")
@click.option("--ledger", is_flag=True, help="Every entry as JSON lines, no PINs; the keeper's.")
@click.option("--schema", is_flag=True, help="The JSON Schema of Record and Plan.")
@click.option("--bed", "beds", multiple=True, metavar="BED", help="Only this bed; may be given again.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="File to write; standard output by default.",
)
@click.option("--force", is_flag=True, help="Replace the file if it is there.")
@click.pass_obj
def command(station: Station, /, beds: tuple[str, ...], out: Path | None, force: bool, **kinds: bool) -> None:
    """Write the unit in an open format: --fhir, --csv, --lines, --ledger or --schema.

    \b
    mobicard export --fhir --out unit.fhir.json
    mobicard export --csv --out unit.csv
    """
    asked = [kind for kind, wanted in kinds.items() if wanted]
    if len(asked) != 1:
        raise click.UsageError("say one thing to export: --fhir, --csv, --lines, --ledger or --schema")
    (kind,) = asked
    if out is not None and out.exists() and not force:
        raise Refused(f"{out} is there already; choose another name, or --force to replace it")
    text = _schema() if kind == "schema" else _unit(station, kind, beds)
    if out is None:
        sys.stdout.write(text)
        return
    out.parent.mkdir(parents=True, exist_ok=True)
    write_private(out, text.encode())
    click.echo(out)


def _schema() -> str:
    from mobicard.exchange.schema import plan_schema, record_schema

    return json.dumps({"record": record_schema(), "plan": plan_schema()}, indent=2, ensure_ascii=False) + "\n"


def _unit(station: Station, kind: str, beds: tuple[str, ...]) -> str:
    if kind == "ledger":
        from mobicard.ward.reader.exporting import ledger_lines

        ward = station.signed_in("backup") if station.ward.needs_sign_in else station.ward
        ward.kept("export")
        return ledger_lines(ward)
    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    wanted = {bed.casefold() for bed in beds}
    views = [view for view in ward.board() if not wanted or view.bed.casefold() in wanted]
    if wanted and not views:
        raise Refused(f"no such bed is occupied: {', '.join(beds)}")
    from mobicard.ward.reader import exporting

    ward.seen(*[view.stay for view in views])
    ward.looked(f"export as {kind}")
    writers = {"fhir": exporting.fhir_text, "csv": exporting.csv_text, "lines": exporting.line_text}
    return writers[kind](ward, views)
