"""The one source of level words, colours and shapes, for paper and screen alike."""

from mobicard.scheme.loading import load
from mobicard.scheme.scheme import LevelLook, Scheme, SchemeRefused, rail

__all__ = ["LevelLook", "Scheme", "SchemeRefused", "load", "rail"]
