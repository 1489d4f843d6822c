"""The brief: how one move is done now, with these people; every line with its why and its source."""

from mobicard.derive.brief.compose import brief_for
from mobicard.derive.brief.values import Brief, BriefLine, Helper, HelpersRefused, Phase

__all__ = ["Brief", "BriefLine", "Helper", "HelpersRefused", "Phase", "brief_for"]
