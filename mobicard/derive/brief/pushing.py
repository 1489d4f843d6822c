"""How many people push an occupied bed or stretcher: measured forces against published limits."""

from __future__ import annotations

from math import ceil

from mobicard.derive.brief.values import figure


def people_to_push(start_n: float, rolling_n: float) -> int:
    """The fewest people who each stay under the stricter limit, women's, to start and to keep moving.

    Newtons. Source: UK HSE push and pull filter, 15 kg to start and 7 kg to keep moving.
    """
    to_start = ceil(start_n / figure("push_n", "start_women"))
    to_roll = ceil(rolling_n / figure("push_n", "rolling_women"))
    return max(to_start, to_roll, 1)


def people_for_a_stretcher() -> int:
    """For an occupied stretcher: 195 N to start (AORN Tool 7); no figure for rolling on was found."""
    return people_to_push(figure("push_n", "stretcher_start"), 0)


def people_for_a_bed() -> int:
    """For an occupied bed without a drive: 222 N to start (Leban 2019), 92 N rolling (Backhaus)."""
    return people_to_push(figure("push_n", "bed_start"), figure("push_n", "bed_rolling"))
