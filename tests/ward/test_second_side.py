"""The sheet behind a bedside card: the shift's hardest moves briefed, each whole on its half, in order."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader

from mobicard.cli import run
from mobicard.derive import Policy
from mobicard.derive.plan import plan_for
from mobicard.facts.words import Task
from mobicard.paper.brief.second_side import Back, backs_html
from mobicard.paper.door.face import BedCard
from mobicard.paper.pdf import write_pdf
from mobicard.scheme import load
from mobicard.ward import Settings
from mobicard.ward.clerk.briefs import back_of, moves_of_the_shift
from mobicard.ward.clerk.printing import Order, write_cards
from tests.derive.brief.patients_known import NOW, patient

POLICY = Policy()
BUSY = {
    "goals": [{"task": "chair", "times_per_shift": 2}, {"task": "walk", "times_per_shift": 1}],
    "turn_every_h": 2,
}


def card(**facts: object) -> BedCard:
    record = patient(**facts)
    return BedCard(plan_for(record, POLICY, NOW), record)


def test_the_shifts_moves_and_no_others() -> None:
    asked = moves_of_the_shift(card(**BUSY), POLICY, NOW)
    assert Task.CHAIR in asked
    assert Task.FLOOR not in asked


def test_the_hardest_come_first_and_the_rest_are_named() -> None:
    """Four halves; whatever else the shift asks for is named, not dropped in silence."""
    one = card(
        **BUSY,
        toilet_every_h=2,
        help={"chair": "minimal", "turn": "total", "walk": "minimal"},
    )
    back = back_of(one, POLICY, NOW)
    helpers = [found.helpers or 0 for found in back.briefs]
    assert len(helpers) >= 3
    assert helpers == sorted(helpers, reverse=True)
    needs_hands = [task for task in moves_of_the_shift(one, POLICY, NOW) if one.plan.tasks[task].helpers]
    assert len(back.briefs) + len(back.elsewhere) == len(needs_hands)
    full = Back(back.bed, (*back.briefs, *back.briefs)[:4], ("Across to stretcher, lying",))
    assert "ask for the brief of Across to stretcher, lying" in backs_html([full], load(), NOW)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_brief_is_whole_on_its_half(paper: str, tmp_path: Path) -> None:
    back = back_of(card(**BUSY), POLICY, NOW)
    path = tmp_path / "backs.pdf"
    write_pdf(backs_html([back, back], load(), NOW, paper=paper), path)
    pages = PdfReader(path).pages
    assert len(pages) == 4
    text = " ".join(" ".join(page.extract_text() for page in pages[:2]).split())
    for found in back.briefs:
        assert all(line.says in text for line in found.shown), found.says


def test_a_bed_that_may_not_be_moved_has_no_brief_and_says_so() -> None:
    back = back_of(card(precautions=["bed_rest"], alertness=None, directions=None), POLICY, NOW)
    assert "no move is briefed" in backs_html([Back("1", (), (), waits=True)], load(), NOW)
    assert all(brief.helpers for brief in back.briefs)


def test_each_sheet_follows_its_card_and_ends_on_its_back(tmp_path: Path) -> None:
    """Printed on both sides, no bed's page stands behind another's: each takes an even number of pages."""
    cards = [card(bed="5N-04", **BUSY), card(bed="5N-05", **BUSY)]
    settings = Settings.found(config_dir=tmp_path / "none")
    files = write_cards(cards, Order(tmp_path, ("bedside",), ("pdf",), briefs=True), settings, NOW)
    assert [file.name for file in files] == ["bedside-cards.pdf", "bedside-briefs.pdf"]
    texts = [" ".join(page.extract_text().split()) for page in PdfReader(files[0]).pages]
    half = len(texts) // 2
    assert half % 2 == 0
    assert not any("5N-05" in text for text in texts[:half])
    assert not any("5N-04" in text for text in texts[half:])
    assert "WHO" in texts[half - 2]
    assert "WHO" in texts[-2]


def test_briefs_without_a_bedside_card_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["cards", "--kind", "door", "--briefs"]) == 2
    assert "--briefs belongs to bedside cards" in capsys.readouterr().err
