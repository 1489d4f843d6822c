"""The ward's words: each list in its stated order, from least to most help."""

import copy
import pickle

import pytest

from mobicard.facts.words import (
    Alertness,
    Arms,
    Balance,
    Behavior,
    Directions,
    Help,
    Injury,
    Level,
    Stepping,
    WeightBearing,
    Word,
    YesNoUnknown,
)

ORDERS: list[tuple[type[Word], str]] = [
    (Alertness, "alert new_confusion voice pain unresponsive"),  # RCP NEWS2 2017, ACVPU
    (Directions, "reliable with_cues unable"),
    (Behavior, "calm fearful unpredictable combative"),
    (Balance, "steady supported unable"),
    (Stepping, "walks pivots unable"),
    (Arms, "both one neither"),
    (
        Help,  # shares: CMS IRF-PAI v2.00.1; reasons: CMS MDS 3.0 Section GG
        "independent setup standby contact_guard minimal moderate maximal total "
        "refused not_applicable not_attempted_environment not_attempted_safety",
    ),
    (Level, "SELF NEARBY LINK TEAM POWER HOIST REMAIN"),
    (WeightBearing, "FWB WBAT PWB TTWB NWB absent_limb"),
    (YesNoUnknown, "no yes unknown"),
    (Injury, "none minor major"),  # CMS MDS 3.0 J1900
]


@pytest.mark.parametrize(("words", "order"), ORDERS)
def test_each_list_stands_in_its_order(words: type[Word], order: str) -> None:
    assert [word.value for word in words] == order.split()
    assert [word.rank for word in words] == list(range(len(order.split())))


def test_a_word_keeps_its_rank_through_copies_and_look_up() -> None:
    assert Help("total").rank == 7
    assert pickle.loads(pickle.dumps(Help.TOTAL)) is Help.TOTAL
    assert copy.deepcopy(Help.TOTAL) is Help.TOTAL


def test_a_rank_belongs_to_its_own_list() -> None:
    assert (Alertness.VOICE.rank, Level.LINK.rank, Arms.NEITHER.rank) == (2, 2, 2)


def test_only_what_was_seen_counts_as_done() -> None:
    assert [help_ for help_ in Help if not help_.was_done] == list(Help)[8:]
