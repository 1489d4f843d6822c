"""The scheme in force: the house's own, or a facility's that holds to every threshold."""

from __future__ import annotations

from mobicard.scheme.scheme import Scheme, SchemeRefused, house, read


def load(text: str | None = None) -> Scheme:
    """The house scheme, or a facility's own (TOML naming only what differs), held to every threshold.

    Raises SchemeRefused with the figures that fell short, or with what could not be read.
    """
    if text is None:
        return house()
    try:
        import coloraide  # noqa: F401 - only for a facility's own scheme, so not everybody has it
    except ImportError:
        missing = "a scheme of your own is held to its thresholds with one more package:"
        raise SchemeRefused(problems=[f"{missing} pip install 'mobicard[scheme]'"]) from None
    from mobicard.scheme.thresholds import check

    scheme = read(text)
    short = [figure for figure in check(scheme) if figure.ok is False]
    if short:
        raise SchemeRefused(short)
    return scheme
