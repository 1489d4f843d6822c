"""``mobicard hands``: whether the shift has enough hands and lifts, and who helps whom, when."""

from __future__ import annotations

from pathlib import Path

import click

from mobicard.cli.station import Station, print_json
from mobicard.hands.schedule import DayPlan


@click.command("hands")
@click.option("--staff", type=click.Path(path_type=Path, dir_okay=False), help="Who is on duty (staff.toml).")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Write the page here, HTML and PDF."
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="The policy's stock by default.")
@click.option("--again", is_flag=True, help="Plan anew from now; what has begun or can stay, stays.")
@click.option("--left", multiple=True, metavar="INITIALS", help="With --again: this person has left.")
@click.option(
    "--fall", "fall_takes", type=click.IntRange(0, 6), default=0, help="With --again: a fall takes so many."
)
@click.option(
    "--seconds", type=click.FloatRange(0.1, 600), help="Time for the solver; the policy's by default."
)
@click.option("--plain", is_flag=True, help="The plain order, without the solver.")
@click.option("--json", "as_json", is_flag=True, help="The plan as JSON.")
@click.pass_obj
def command(
    station: Station,
    staff: Path | None,
    out: Path | None,
    paper: str | None,
    again: bool,
    left: tuple[str, ...],
    fall_takes: int,
    seconds: float | None,
    plain: bool,
    as_json: bool,
) -> None:
    """Plan the shift's moves: every move in its time, with its people and its lift, and what falls short.

    \b
    mobicard --by JN hands --staff examples/hands/staff.toml --out hands
    mobicard --by JN hands --again --left CD --fall 2
    """
    station.use_staff(staff)
    ward = station.signed_in("day_plan")
    if again or left or fall_takes:
        plan = ward.hands.replan(gone=left, fall_takes=fall_takes, solver=not plain, limit_s=seconds)
    else:
        plan = ward.hands.make(solver=not plain, limit_s=seconds)
    files = _write(plan, out, paper or station.settings.stock) if out else []
    if as_json:
        print_json({**plan.as_json(), "files": [str(path) for path in files]})
        return
    _show(plan)
    for path in files:
        click.echo(path)


def _show(plan: DayPlan) -> None:
    from mobicard.hands.page import counts, peak_says

    click.echo(f"{counts(plan)}\n{peak_says(plan)}\n{plan.quality.says}")
    for short in plan.short:
        click.echo(f"SHORT  {short.says}")
    for waiting in plan.waiting:
        click.echo(f"WAITS  {waiting.move.bed} {waiting.move.says}: {waiting.says}")
    for note in (*plan.problems, *plan.not_asked):
        click.echo(f"note   {note}")
    for item in plan.by_time():
        people = " + ".join(item.people) or "-"
        kit = f"  [{', '.join(item.units)}]" if item.units else ""
        click.echo(f"{item.start:%H:%M}  {item.move.bed:<8} {item.move.says:<26} {people}{kit}")
    click.echo(f"\nHolds until {plan.holds_until:%d %b %H:%M}. Decision support only.")


def _write(plan: DayPlan, out: Path, paper: str) -> list[Path]:
    from mobicard.hands.page import hands_html
    from mobicard.paper.files import write_page

    return write_page("hands", hands_html(plan, paper=paper), out)
