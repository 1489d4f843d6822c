"""The one source of level words, colours and shapes, for paper and screen alike."""

from mobicard.scheme.loading import load
from mobicard.scheme.scheme import Figure, LevelLook, Scheme, SchemeRefused, rail, read

__all__ = ["Figure", "LevelLook", "Scheme", "SchemeRefused", "check", "load", "rail", "read"]


def check(scheme: Scheme) -> list[Figure]:
    """Every figure of a scheme beside its threshold (thresholds.py). Loads the colour library when called."""
    from mobicard.scheme.thresholds import check as compute

    return compute(scheme)
