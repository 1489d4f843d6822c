"""The day plan on paper: one page, escaped, grey-safe, every move on it, until when it holds."""

from __future__ import annotations

import io
import re
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser

import pypdf
import pytest

from mobicard.facts.words import Level
from mobicard.hands.chart import HalfHour, half_hours, in_words
from mobicard.hands.day import plan_day
from mobicard.hands.page import grouped, hands_html
from mobicard.hands.schedule import DayPlan
from mobicard.hands.supply import NOBODY, WRITE_WHO, Span, Supply
from mobicard.hands.timeline import by_bed, by_person, ruler, width_for
from mobicard.paper.pdf import write_pdf
from mobicard.paper.sheet_sizes import PAPERS, SheetRefused
from tests.hands.made import POLICY, SHIFT, START, at, lift, need, person, plan, policy

CHAIRS = [{"task": "chair", "times_per_shift": 3}]


def unit(people: int = 8, lifts: int = 1) -> tuple[DayPlan, Supply]:
    """Twelve beds, three of them by lift, one without a plan, one with a plan that lapses at noon."""
    needs = [
        need(f"4W-{n:02d}A", Level.HOIST if n % 4 == 0 else Level.TEAM, turn_every_h=2, goals=CHAIRS)
        for n in range(1, 11)
    ]
    needs.append(replace(need("4W-11A", Level.LINK), plan=None))
    lapsing = need("4W-12A", Level.LINK, goals=[{"task": "walk", "times_per_shift": 2}])
    needs.append(replace(lapsing, plan=plan("4W-12A", Level.LINK, valid=at("12:00"))))
    staff = tuple(person(f"P{n}", "nurse" if n < 5 else "aide") for n in range(people))
    supply = Supply(staff, tuple(lift(f"lift {n}") for n in range(1, lifts + 1)))
    return plan_day(needs, supply, POLICY, SHIFT, START, solver=False), supply


def test_times_that_are_over_are_named_once_and_planned_no_more() -> None:
    """At night the page complained of windows long past, a line each, and of the solver."""
    early, supply = unit()
    needs = [need(f"4W-{n:02d}A", Level.TEAM, turn_every_h=2) for n in range(1, 5)]
    late = plan_day(needs, supply, POLICY, SHIFT, at("15:05"), solver=False)
    assert late.waiting, "turns of the morning that nobody noted"
    words = text_of(hands_html(late))
    assert (
        "Due in this shift before 15:05 and not noted as done, ask the nurses before. Turn: 4W-01A (" in words
    )
    assert "not done in its time" not in words
    assert not re.search("solver|proven|bound|gap", text_of(hands_html(early)) + words)


def test_nobody_on_duty_says_what_to_write_and_lists_no_shortage() -> None:
    needs = [need("4W-01A", Level.TEAM, turn_every_h=2)]
    nobody = Supply((), (), (f"{NOBODY}: no move can be planned. {WRITE_WHO}",))
    words = text_of(hands_html(plan_day(needs, nobody, POLICY, SHIFT, START, solver=False)))
    assert "Write who is there under [[staff]] with from and to" in words
    assert "Where hands or lifts fall short" not in words


def text_of(html: str) -> str:
    """The page's words, as a reader aloud would get them."""
    parts: list[str] = []

    class Words(HTMLParser):
        skip = False

        def handle_starttag(self, tag: str, attrs: object) -> None:
            self.skip = self.skip or tag == "style"

        def handle_endtag(self, tag: str) -> None:
            self.skip = self.skip and tag != "style"

        def handle_data(self, data: str) -> None:
            if not self.skip:
                parts.append(data)

    Words().feed(html)
    return re.sub(r"\s+", " ", " ".join(parts))


def test_every_move_stands_on_the_page() -> None:
    """Each placed and each late move with its time, bed and people; what waits is named."""
    got, _ = unit(people=4)
    words = text_of(hands_html(got, unit="4 West"))
    for item in got.by_time():
        assert f"{item.start:%H:%M} bed {item.move.bed}" in words, "time and bed are not confused"
    assert got.short
    for item in got.short:
        assert item.says in words
    assert "4W-11A: no plan yet, ask the nurse before moving; no move is planned" in words


def test_the_page_says_until_when_and_that_it_decides_nothing() -> None:
    got, _ = unit()
    html = hands_html(got)
    assert "Holds until 19:00, or until a level changes or somebody leaves" in text_of(html)
    assert "Decision support" in html
    assert "◊ only once the patient is assessed again" in text_of(html)


def test_the_usual_unit_fits_one_page() -> None:
    """Twelve beds, more than eighty moves: one A4 sheet, tagged, its words readable from the PDF."""
    got, _ = unit()
    assert len(got.moves) > 80
    pdf = pypdf.PdfReader(io.BytesIO(write_pdf(hands_html(got), None)))
    assert len(pdf.pages) == 1
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert "Hands for the shift" in pdf.pages[0].extract_text()


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_page_and_paper_say_the_same_words(paper: str) -> None:
    """Every word of the page stands on the paper as often; the chart's are drawn, its title is its words."""
    got, _ = unit(people=4)
    html = hands_html(got, unit="4 West", paper=paper)
    page = re.sub(r"<title>.*?</title>|<svg.*?</svg>", "", html, flags=re.DOTALL)
    on_screen = Counter(re.findall(r"\w+", text_of(page)))
    pdf = pypdf.PdfReader(io.BytesIO(write_pdf(html, None)))
    on_paper = Counter(re.findall(r"\w+", " ".join(one.extract_text() for one in pdf.pages)))
    assert {word: n for word, n in on_screen.items() if on_paper[word] < n} == {}
    width, height = (round(float(side) / 72 * 25.4, 1) for side in pdf.pages[0].mediabox[2:])
    assert (width, height) == PAPERS[paper]


def test_the_chart_is_told_in_words_and_drawn_without_colour() -> None:
    """The chart's title lists every half-hour's figures; every fill and stroke is a grey."""
    got, _ = unit(people=4)
    html = hands_html(got)
    svg = html[html.index('<svg class="demand"') : html.index("</svg>")]
    assert f"<title>{in_words(half_hours(got))}</title>" in svg
    for red, green, blue in re.findall(r'"#([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2})"', svg):
        assert red == green == blue


def test_half_hours_count_people_not_moves() -> None:
    """Two two-person moves in one half-hour, one after the other: two at work, of four there."""
    needs = [need(f"4W-0{n}A", Level.TEAM, turn_every_h=24) for n in (1, 2)]
    supply = Supply(tuple(person(x) for x in "ABCD"), ())
    got = plan_day(needs, supply, POLICY, SHIFT, START, solver=False)
    busy = [half for half in half_hours(got) if half.busy]
    assert busy == [HalfHour(at("08:00"), 2, 0, 4)]


def test_the_tightest_moment_of_a_half_hour_counts() -> None:
    """Four there at 08:00, two on break from 08:10: a move of two at 08:20 shows as 2 of 2, not of 4."""
    away = Span(at("08:10"), at("09:00"))
    supply = Supply(
        (person("A"), person("B"), person("C", "aide", (), away), person("D", "aide", (), away)), ()
    )
    told = policy(unknown_round_by_min=60, turn_early_min=10)
    needs = [need("4W-01A", Level.TEAM, turn_every_h=24)]
    got = plan_day(needs, supply, told, SHIFT, START, solver=False)
    assert [half.says for half in half_hours(got) if half.busy] == ["08:00 2 of 2"]


def test_beds_with_the_same_note_share_a_line() -> None:
    lines = ["4W-01A: walk not planned", "4W-02A: no plan yet", "4W-03A: walk not planned"]
    assert grouped(lines) == ["4W-01A, 4W-03A: walk not planned", "4W-02A: no plan yet"]


def test_nothing_typed_can_break_the_page() -> None:
    """Bed, initials and reasons with markup in them come out as text."""
    needs = [need("4W-01&A", Level.LINK, turn_every_h=2)]
    supply = Supply((person("<b>X</b>"),), (), ("<script>alert(1)</script>",))
    html = hands_html(plan_day(needs, supply, POLICY, SHIFT, START, solver=False), unit="<i>4</i>")
    assert "<script>" not in html
    assert "<b>X</b>" not in html
    assert "<i>4</i>" not in html
    assert "&lt;script&gt;" in html


def test_an_empty_shift_is_said() -> None:
    got = plan_day([], Supply((person("A"),), ()), POLICY, SHIFT, START)
    assert "No move is planned." in text_of(hands_html(got))
    with pytest.raises(SheetRefused, match="is no paper"):
        hands_html(got, paper="a0")


def test_the_timeline_has_a_letter_for_every_move() -> None:
    """72 letters for twelve hours: ten minutes each; a two-person move stands on two lines."""
    got, supply = unit()
    assert width_for(72, got) == 72
    assert width_for(150, got) == 144
    first = got.placed[0]
    lanes = {lane.name: lane for lane in by_person(got, supply, {}, 72)}
    spot = int((first.start - got.start).total_seconds() // 600)
    for name in first.people:
        assert lanes[name].letters[spot] in "TC"
    assert {lane.name for lane in by_bed(got, {}, 72)} == {move.bed for move in got.moves}
    assert ruler(got, 72).startswith("07    08")
