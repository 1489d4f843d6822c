"""``mobicard demo``: an invented unit of 24 beds: its ledger, cards and handoff."""

from __future__ import annotations

from datetime import datetime
from importlib.resources import files as packaged
from pathlib import Path
from typing import Any

import click

from mobicard.cli.progress import step_bar
from mobicard.cli.station import Refused, Station, answer
from mobicard.outflow import write_private


@click.command("demo")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("mobicard-demo"),
    show_default=True,
    help="Folder for the files; made if it is not there.",
)
@click.option("--now", metavar="ISO", help="Three shifts that end then; by default a night that ends now.")
@click.option("--ledger-only", is_flag=True, help="Only the ledger, no pages.")
@click.option("--json", "as_json", is_flag=True, help="Name the files as JSON.")
@click.pass_obj
def command(station: Station, out: Path, now: str | None, ledger_only: bool, as_json: bool) -> None:
    """Write an invented unit of 24 beds: ledger, door cards, bedside cards, handoff, and who is on duty.

    It is ten to seven there, whatever the hour is here, and its clock goes on from then. Open it with:
    mobicard --ledger DIR/demo.sqlite
    """
    station.use_now(now)
    path = out / "demo.sqlite"
    if path.exists():
        raise Refused(
            f"{path} is there already; choose another --out, or remove it first: nothing is overwritten"
        )
    out.mkdir(parents=True, exist_ok=True)
    files = [path, *_make(station, path, out, ledger_only)]
    answer(as_json, {"files": [str(one) for one in files]}, files)
    if not as_json:
        click.echo(f"\nOpen the unit:  mobicard --ledger {path}", err=True)
        click.echo(f"Its day plan:  mobicard --ledger {path} hands --staff {out / 'staff.toml'}", err=True)


def _make(station: Station, path: Path, out: Path, ledger_only: bool) -> list[Path]:
    from mobicard.demo.clock import set_clock, ten_to
    from mobicard.demo.morning import fill_morning
    from mobicard.demo.unit import fill
    from mobicard.ward.station.known_ledger import made
    from mobicard.ward.ward import Ward

    morning, shift = station.now_text is None, station.policy.shift
    moment: datetime = ten_to(station.now, shift) if morning else station.now.replace(second=0)
    with made(f"sqlite:///{path.absolute()}") as ledger:
        ward = Ward(ledger, station.settings, station.clock, demo=True)
        with step_bar("three shifts of history") as step:
            (fill_morning if morning else fill)(ward, moment, lambda done, whole: step("", done, whole))
        if morning:
            set_clock(path, moment)
        write_private(out / "staff.toml", packaged("mobicard.demo").joinpath("staff.toml").read_bytes())
        if ledger_only:
            return []
        jobs = [job for job in ward.doors.jobs(changed_only=False) if job.plan is not None]
        return _pages(station, jobs, ward.handoff(), path, out, moment)


def _pages(
    station: Station, jobs: list[Any], handoff: Any, path: Path, out: Path, moment: datetime
) -> list[Path]:
    from mobicard.paper.pdf import PdfUnavailable
    from mobicard.ward.clerk.order import Order
    from mobicard.ward.clerk.printing import cards_of, write_cards
    from mobicard.ward.reader.handoff_file import write_handoff

    files: list[Path] = []
    stock = station.settings.stock
    with step_bar("cards") as step:
        try:
            files += write_cards(cards_of(jobs), Order(out, stock=stock), station.settings, moment, step)
            files += write_handoff(handoff, out, station.settings, moment)
        except PdfUnavailable as missing:
            files = write_cards(
                cards_of(jobs), Order(out, formats=("html",), stock=stock), station.settings, moment
            )
            files += write_handoff(handoff, out, station.settings, moment, ("html",))
            names = "\n".join(f"  {one}" for one in files)
            raise Refused(
                f"{missing.says}\nThe ledger and the HTML pages are written:\n  {path}\n{names}"
            ) from None
    return files
