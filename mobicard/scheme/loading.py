"""The scheme in force: the house's own, or a facility's that holds to every threshold."""

from __future__ import annotations

from mobicard.scheme.scheme import Scheme, SchemeRefused, house, read


def load(text: str | None = None) -> Scheme:
    """The house scheme, or a facility's own (TOML naming only what differs), held to every threshold.

    Raises SchemeRefused with the figures that fell short, or with what could not be read.
    """
    if text is None:
        return house()
    from mobicard.scheme.thresholds import check  # the colour library is only for a facility's own scheme

    scheme = read(text)
    short = [figure for figure in check(scheme) if figure.ok is False]
    if short:
        raise SchemeRefused(short)
    return scheme
