"""``mobicard about``: the label, so that a reader can judge for herself what a plan rests on."""

from __future__ import annotations

import textwrap
from pathlib import Path

import click

from mobicard import __version__
from mobicard.cli.station import Station, answer


@click.command("about")
@click.option(
    "--out", type=click.Path(path_type=Path, file_okay=False), help="Write the page here, HTML and PDF."
)
@click.option("--json", "as_json", is_flag=True, help="As JSON.")
@click.pass_obj
def command(station: Station, out: Path | None, as_json: bool) -> None:
    """What mobicard is for, what goes in, what a plan rests on, how it was tested, what nobody knows."""
    from mobicard.paper.in_words import SUPPORT
    from mobicard.paper.leaflet.label import label
    from mobicard.rules.by_patient.whom import INTENDED_USE

    parts = label(station.policy)
    title = f"mobicard {__version__}: how to move this patient, now, and why"
    if out is not None:
        from mobicard.paper.files import write_page
        from mobicard.paper.leaflet.page import label_html

        files = write_page("about", label_html(title, parts, station.settings.stock), out)
        answer(as_json, {"files": [str(path) for path in files]}, files)
        return
    told = {part.title: list(part.says) for part in parts}
    known = {"version": __version__, "intended_use": INTENDED_USE, "support": SUPPORT, "label": told}
    lines = [line for part in parts for line in _lines(part.title, part.says)]
    answer(as_json, known, [title, f"\n{SUPPORT}", *lines])


def _lines(title: str, says: tuple[str, ...]) -> list[str]:
    folded = (textwrap.fill(line, 78, initial_indent="  ", subsequent_indent="  ") for line in says)
    return ["", title, *folded]
