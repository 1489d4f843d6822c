"""The label and the page of keys: what they say is so, and they fit the paper they are for."""

from __future__ import annotations

import io
import sys
from collections import Counter
from pathlib import Path

import pytest
from pypdf import PdfReader

from mobicard.derive import Policy
from mobicard.derive.why import rules_listing
from mobicard.paper.leaflet.label import NOBODY_NAMED, label
from mobicard.paper.leaflet.page import keys_html, label_html
from mobicard.paper.pdf import write_pdf
from mobicard.terminal.commands import COMMANDS

ROOT = Path(__file__).parents[2]


def said(title: str, policy: Policy | None = None) -> str:
    """A part of the label as one text."""
    return next(" ".join(part.says) for part in label(policy or Policy()) if part.title == title)


def pages(html: str) -> list[str]:
    """The text of each page of the PDF."""
    return [page.extract_text() for page in PdfReader(io.BytesIO(write_pdf(html, None))).pages]


def test_the_label_tells_user_population_inputs_and_basis() -> None:
    """FDA, Clinical Decision Support Software, guidance, 28 September 2022: so that a reader can review."""
    assert "adults" in said("What it is for")
    assert "Nurses" in said("What it is for")
    assert "limb orders" in said("What goes in")
    assert "plan --rules" in said("How a plan comes about")
    assert "OSHA 3182 (2009), Fig. 1, 2" in said("The published sources")
    assert "No patient" in said("Never validated on patients")


def test_its_figures_are_those_of_the_rules() -> None:
    counted = [int(word) for word in said("Which sources").split() if word.isdigit()]
    assert sum(counted[:3]) == len(rules_listing())
    assert f"{len(rules_listing())} written rules" in said("How a plan comes about")
    policy = Policy(loads={"helper_limit_lb": 30})
    assert "30 lb a person" in said("How a plan comes about", policy)


def test_its_figures_of_the_tests_are_those_of_the_tests() -> None:
    """What stands on the label was counted here, and is counted again."""
    for folder in ("derive", "bench"):
        sys.path.insert(0, str(ROOT / "tests" / folder))
    import prove
    import test_stories
    import wide

    told = said("How it was tested")
    found = Counter(test_stories.verdict(move, story) for move, story in test_stories.MOVES)
    assert f"{len(test_stories.STORIES)} bedside stories with {len(test_stories.MOVES)} moves" in told
    assert f"{found['much']} too much, {found['agree']} as the tables say" in told
    assert found["little"] == found["held"] == 0
    blocks, sample = prove.BLOCKS, prove.SAMPLE
    assert f"{blocks * wide.IN_A_BLOCK:,} combinations" in told
    assert f"{blocks} blocks" in told
    assert f"{sample:,} of them" in told


def test_it_says_whom_to_tell_or_that_nobody_is_named() -> None:
    assert NOBODY_NAMED in said("Whom to tell")
    named = said("Whom to tell", Policy(label={"tell": "the falls committee, ext. 4711"}))
    assert "the falls committee, ext. 4711" in named
    assert NOBODY_NAMED not in named


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_label_is_one_page(paper: str) -> None:
    (page,) = pages(label_html("mobicard", label(Policy()), paper))
    assert "Whom to tell" in page
    assert "Decision support only." in page


def test_the_keys_are_on_a5_every_one() -> None:
    places = [(at.value, [(one.shown_keys, one.says) for one in ours]) for at, ours in COMMANDS.items()]
    html = keys_html("Keys", places)
    made = PdfReader(io.BytesIO(write_pdf(html, None)))
    assert {tuple(round(float(side) * 25.4 / 72) for side in page.mediabox[2:]) for page in made.pages} == {
        (148, 210)
    }  # ISO 216, A5 upright
    text = " ".join(" ".join(page.extract_text().split()) for page in made.pages)
    assert [says for _, rows in places for _, says in rows if says not in text] == []


def test_nothing_says_what_it_is_in_law() -> None:
    """Whether it is a medical device is not for the program to say."""
    told = [*(ROOT / "mobicard").rglob("*.py"), *(ROOT / "mobicard").rglob("*.toml")]
    told += [*(ROOT / "templates").glob("*.*"), ROOT / "README.md", ROOT / "DEVELOPERS.md"]
    assert [path for path in told if "medical device" in path.read_text(encoding="utf-8").casefold()] == []
