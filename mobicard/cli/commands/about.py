"""``mobicard about``: what this is, for whom, and what it is not."""

from __future__ import annotations

import click

from mobicard import __version__


@click.command("about")
def command() -> None:
    """Say what mobicard is, for whom its tables are, and what comes first."""
    from mobicard.paper.in_words import SUPPORT
    from mobicard.rules.by_patient.whom import INTENDED_USE

    click.echo(f"mobicard {__version__}: how to move this patient, now, and why.\n")
    click.echo(f"{INTENDED_USE}\n\n{SUPPORT}")
