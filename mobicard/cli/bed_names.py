"""The names of the occupied beds, for a shell that completes what is being typed."""

from __future__ import annotations

from functools import partial

import click

from mobicard.cli.station import Station

_OPTIONS = ("ledger", "config", "policy", "scheme", "inventory", "by", "now", "unit")


def bed_names(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """The beds that begin with what was typed; none where they cannot be known without asking somebody.

    A completion is never the place for a refusal, so whatever goes wrong completes nothing.
    """
    given = ctx.find_root().params
    try:
        ward = Station(*(given.get(name) for name in _OPTIONS)).ward
        beds = (
            []
            if ward.needs_sign_in
            else [state.bed for state in ward.ledger.beds() if ward.lies_here(state.bed)]
        )
    except Exception:
        return []
    typed = incomplete.casefold()
    return [bed for bed in beds if bed.casefold().startswith(typed)]


bed_argument = partial(click.argument, shell_complete=bed_names)
bed_option = partial(click.option, "--bed", metavar="BED", shell_complete=bed_names)
