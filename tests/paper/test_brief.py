"""The brief's page, picture and sketch: one side of A5, everybody drawn, readable without colour."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from mobicard import scheme
from mobicard.derive import Policy
from mobicard.derive.brief import Brief, Helper, brief_for
from mobicard.facts import read_record
from mobicard.facts.words import Task
from mobicard.paper.brief.page import (
    ROOM_MM,
    SIZES_MM,
    TEXT_ALONE_MM,
    TEXT_MM,
    brief_html,
    letter_size,
    text_height,
)
from mobicard.paper.brief.picture import LETTERS, bounds, in_words, picture_svg
from mobicard.paper.brief.sketch import HIGH, WIDE, sketch
from mobicard.paper.brief.text import brief_text
from mobicard.paper.pdf import write_pdf
from tests.derive.brief.patients_known import NOW, PEOPLE, brief
from tests.derive.brief.twelve import TWELVE, twelve

HOUSE = scheme.load()
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.json"))
CROWDED = {
    "lines": [{"kind": kind} for kind in ("chest tube", "Foley", "peripheral IV", "PEG", "wound vac")],
    "precautions": ["sternal", "head_up_30"],
    "on_before_up": ["abdominal binder", "cervical collar"],
    "communication": {"language": "es", "interpreter": True, "hearing": "right ear"},
    "weight_bearing": {"left_leg": {"status": "PWB", "percent": 50}},
}


def of_example(path: Path, task: Task) -> Brief:
    record = read_record(json.loads(path.read_text(encoding="utf-8")))
    return brief_for(record, task, Policy(), NOW, [Helper("JN", 165), Helper("AB", 180)])


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_move_of_every_example_has_a_readable_text(path: Path) -> None:
    """No line over 80 columns; the usual ones on one screen."""
    for task in Task:
        lines = brief_text(of_example(path, task), HOUSE)
        assert max(map(len, lines)) <= 80
        assert len(lines) <= 28, (task, len(lines))


@pytest.mark.parametrize("task", list(Task))
def test_the_usual_brief_is_one_screen(task: Task) -> None:
    assert len(brief_text(brief(task), HOUSE)) <= 22


def printed(found: Brief, path: Path) -> list[str]:
    """The text of each page, spaces evened."""
    write_pdf(brief_html(found, HOUSE, NOW), path)
    return [" ".join(page.extract_text().split()) for page in PdfReader(path).pages]


@pytest.mark.parametrize("task", list(Task))
def test_the_usual_brief_is_one_side_of_a5(task: Task, tmp_path: Path) -> None:
    found = brief(task)
    (text,) = printed(found, tmp_path / "brief.pdf")
    assert all(" ".join(line.says.split()) in text for line in found.shown)


@pytest.mark.parametrize("task", ["chair", "stretcher", "turn", "floor", "walk"])
def test_nothing_is_cut_off_a_crowded_one(task: str, tmp_path: Path) -> None:
    """Five lines, two orders and two braces: what the side cannot hold stands on a second one."""
    found = brief(task, **CROWDED)
    pages = printed(found, tmp_path / "brief.pdf")
    assert len(pages) <= 2
    text = " ".join(pages)
    assert [line.says for line in found.shown if " ".join(line.says.split()) not in text] == []


@pytest.mark.parametrize("task", list(Task))
def test_letters_are_nine_points_at_least(task: Task) -> None:
    """9 pt is 3.175 mm."""
    assert min(SIZES_MM) >= 3.17
    assert letter_size(brief(task)) >= 3.3


@pytest.mark.parametrize("task", list(Task))
def test_everybody_planned_is_in_the_picture_by_name(task: Task) -> None:
    found = brief(task)
    assert found.scene is not None
    svg = picture_svg(found.scene, "p")
    for person in found.people:
        assert f">{person.name}</text>" in svg
    assert re.findall(r"<title[^>]*>Seen from above", svg)
    assert (">head end<" in svg) == any(box.thing.value == "bed" for box in found.scene.boxes)


def test_the_turn_is_said_in_the_picture() -> None:
    found = brief("chair")
    assert found.scene is not None
    assert ">turn LEFT 45°</text>" in picture_svg(found.scene, "p")


@pytest.mark.parametrize("leg", ["left_leg", "right_leg"])
def test_the_turns_words_have_room(leg: str) -> None:
    """To either side: no letter of it beyond the picture's edge."""
    found = brief("chair", weight_bearing={leg: "TTWB"}, aids=["front_wheeled_walker"])
    assert found.scene is not None
    svg = picture_svg(found.scene, "p")
    left, _, width, _ = bounds(found.scene)
    said = re.search(r'<text x="([-.\d]+)"[^>]*text-anchor="(\w+)"[^>]*>turn (?:LEFT|RIGHT) 90', svg)
    assert said is not None
    start, wide = float(said[1]), len("turn RIGHT 90") * LETTERS * 0.6
    assert start - wide >= left if said[2] == "end" else start + wide <= left + width


def test_the_limited_side_is_hatched_and_a_well_one_is_not() -> None:
    half = brief("boost", weight_bearing={"left_leg": {"status": "PWB", "percent": 50}})
    assert half.scene is not None
    well = brief("boost")
    assert well.scene is not None
    assert picture_svg(half.scene, "p").count("url(#p-h)") == 2
    assert "url(#p-h)" not in picture_svg(well.scene, "p")


def test_the_picture_needs_no_colour() -> None:
    """Black, white and one light grey, so that it reads the same in grey."""
    found = brief("chair")
    assert found.scene is not None
    assert set(re.findall(r"#[0-9a-f]{3,6}\b", picture_svg(found.scene, "p"))) <= {"#000", "#fff", "#f0f0f0"}


def test_a_name_that_is_markup_stays_a_name() -> None:
    """Names are typed by people: nothing in them becomes part of the page."""
    people = [Helper("<b>", 165), *PEOPLE]
    found = brief_for(
        read_record(json.loads(EXAMPLES[4].read_text(encoding="utf-8"))), Task.TURN, Policy(), NOW, people
    )
    page = brief_html(found, HOUSE, NOW)
    assert "<b>" not in page
    assert "&lt;b&gt;" in page


@pytest.mark.parametrize("plain", [False, True])
def test_the_sketch_shows_everybody_and_stays_in_its_box(plain: bool) -> None:
    for task in Task:
        found = brief(task, precautions=["spinal"]) if task is Task.TURN else brief(task)
        assert found.scene is not None
        lines = sketch(found.scene, plain=plain)
        assert len(lines) <= HIGH
        assert max(map(len, lines)) <= WIDE
        drawn = "\n".join(lines)
        assert all(person.name[:3] in drawn for person in found.people), (task, drawn)
        if plain:
            assert drawn.isascii()


@pytest.mark.parametrize(
    ("task", "facts", "says"),
    [
        ("stretcher", {}, "The move goes to the patient's left."),
        ("turn", {}, "The move goes to the patient's right."),
        ("turn", {"sore_sites": ["right_hip"]}, "The move goes to the patient's left."),
        ("chair", {}, "The seat is at the patient's right. Turn left 45 degrees."),
    ],
)
def test_who_cannot_see_the_picture_is_told_the_way_it_shows(
    task: str, facts: dict[str, object], says: str
) -> None:
    """On the back, head up the page: what goes to the right of the page goes to the patient's left."""
    found = brief(task, **facts)
    assert found.scene is not None
    assert says in in_words(found.scene)


@pytest.mark.parametrize("task", [task.value for task in Task])
def test_no_words_of_the_picture_are_cut_off(task: str) -> None:
    """Every letter within its edges, with lines, a walker and a weak side."""
    aids = ["front_wheeled_walker", "gait_belt"]
    for leg in ("left_leg", "right_leg"):
        found = brief(task, weight_bearing={leg: "TTWB"}, aids=aids, lines=[{"kind": "Foley"}])
        assert found.scene is not None
        left, top, width, height = bounds(found.scene)
        said = r'<text x="([-.\d]+)" y="([-.\d]+)" text-anchor="(\w+)"[^>]*font-size="([.\d]+)"[^>]*>([^<]*)<'
        for x, y, anchor, size, words in re.findall(said, picture_svg(found.scene, "p")):
            wide = len(words) * float(size) * 0.6
            start = float(x) - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
            assert left <= start + 0.5, (task, words)
            assert start + wide <= left + width + 0.5, (task, words)
            assert top <= float(y) <= top + height, (task, words)


@pytest.mark.parametrize("name", list(TWELVE))
def test_every_move_of_twelve_patients_is_one_screen_and_one_side(name: str, tmp_path: Path) -> None:
    """80 by 24, and A5 in letters of 9 points at least, by the page's own careful measure or as printed."""
    record = twelve()[name]
    for task in Task:
        found = brief_for(record, task, Policy(), NOW, PEOPLE)
        text = brief_text(found, HOUSE)
        assert len(text) <= 24, (task, len(text))
        assert max(map(len, text)) <= 80
        box = TEXT_MM if found.scene else TEXT_ALONE_MM
        fits = text_height(found, SIZES_MM[-1], box) <= ROOM_MM
        assert fits or len(printed(found, tmp_path / "one.pdf")) == 1, task
        assert found.words <= 140, (task, found.words)


@pytest.mark.parametrize("width", [70, 79, 80])
def test_until_when_is_whole_on_every_screen(width: int) -> None:
    """Cut at the edge, “until 07:30” ended as “until 07:3”."""
    records = [
        *twelve().values(),
        *(one.model_copy(update={"bed": "4 West-112A"}) for one in twelve().values()),
    ]
    for record in records:
        for task in Task:
            found = brief_for(record, task, Policy(), NOW)
            lines = brief_text(found, HOUSE, width)
            assert max(map(len, lines)) <= width
            if found.valid_until and not found.expired:
                assert any(line.endswith(f"until {found.valid_until:%H:%M}") for line in lines[:2]), task
