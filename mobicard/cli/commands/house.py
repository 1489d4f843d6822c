"""``mobicard house``: which unit is short and which lift is free, for who looks after lifts and pools."""

from __future__ import annotations

from pathlib import Path

import click

from mobicard.cli.station import Station, answer


@click.command("house")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Write the page here, HTML and PDF."
)
@click.option("--json", "as_json", is_flag=True, help="The house as JSON.")
@click.pass_obj
def command(station: Station, out: Path | None, as_json: bool) -> None:
    """Which unit is short of people or lifts, and which lift is free; nothing is changed.

    Each unit's own files lie in a folder of its name: units/5N/inventory.toml and staff.toml beside the
    house's files. What a unit has not written is not known, never taken as enough.

    \b
    mobicard house
    mobicard house --out house
    """
    station.whole_house()
    ward = station.signed_in("read") if station.ward.needs_sign_in else station.ward
    from mobicard.hands.house.page import house_html, house_lines
    from mobicard.ward.reader.house import house_of

    house = house_of(ward)
    ward.looked("house")
    files: list[Path] = []
    if out is not None:
        from mobicard.paper.files import write_page

        files = write_page("house", house_html(house, paper=station.settings.stock), out)
    answer(
        as_json, {**house.as_json(), "files": [str(path) for path in files]}, [*house_lines(house), *files]
    )
