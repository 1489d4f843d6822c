"""The body figure and the step chart: sides, marks, what is absent, and their words."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from xml.etree import ElementTree as ET

import pytest

from mobicard import scheme
from mobicard.derive.model import LimbLimit
from mobicard.facts.words import Level, Limb, WeightBearing
from mobicard.paper.bedside.body_figure import STATUS_SAYS, body_svg
from mobicard.paper.handoff.level_chart import step_chart, steps_of, trend

SVG = "{http://www.w3.org/2000/svg}"
NOW = datetime(2026, 3, 2, 8, 0)
HOUSE = scheme.load()


def order(limb: Limb, status: WeightBearing, kg: float | None = None) -> LimbLimit:
    return LimbLimit(limb, status, kg, None if kg is None else round(kg / 0.45359237, 1), "as ordered")


def drawn(*orders: LimbLimit) -> ET.Element:
    return ET.fromstring(body_svg(orders, "k"))


def limbs(figure: ET.Element) -> list[ET.Element]:
    """The limbs' own groups, in the order they are drawn."""
    return [group for group in figure.iter(f"{SVG}g") if group.find(f"{SVG}path") is not None][1:]


def title(figure: ET.Element) -> str:
    return figure.findtext(f"{SVG}title") or ""


def test_a_body_without_orders_has_four_plain_limbs() -> None:
    figure = drawn()
    assert len(limbs(figure)) == 4
    assert len(list(figure.iter(f"{SVG}clipPath"))) == 0
    assert "No weight-bearing order" in title(figure)


@pytest.mark.parametrize("limb", list(Limb))
def test_an_absent_limb_is_not_drawn_and_its_label_still_leads_there(limb: Limb) -> None:
    figure = drawn(order(limb, WeightBearing.ABSENT_LIMB))
    assert len(limbs(figure)) == 3
    assert len(list(figure.iter(f"{SVG}circle"))) == 1
    assert "limb absent" in title(figure)


@pytest.mark.parametrize("limb", list(Limb))
def test_the_patients_left_is_on_the_viewers_right(limb: Limb) -> None:
    """As one sees a person from the front."""
    [leader] = drawn(order(limb, WeightBearing.NWB)).iter(f"{SVG}circle")
    assert (float(leader.get("cx", "0")) > 100) is (limb.side == "left")


@pytest.mark.parametrize("limb", list(Limb))
def test_the_marked_limb_is_on_its_own_side(limb: Limb) -> None:
    """The limbs are drawn on the viewer's right and mirrored for the patient's right."""
    [group] = [g for g in limbs(drawn(order(limb, WeightBearing.NWB))) if g[0].get("fill") == "#000"]
    numbers = [float(x) for x in re.findall(r"[MLC]([\d.]+)", group[0].get("d", ""))]
    assert min(numbers) > 100
    mirrored = group.get("transform") == "matrix(-1 0 0 1 200 0)"
    assert mirrored is (limb.side == "right")


def test_a_limb_that_may_bear_nothing_is_solid_and_less_weight_means_closer_bars() -> None:
    solid = drawn(order(Limb.LEFT_LEG, WeightBearing.NWB))
    assert sum(path.get("fill") == "#000" for path in solid.iter(f"{SVG}path")) == 1

    def bars(status: WeightBearing) -> int:
        text = body_svg([order(Limb.LEFT_LEG, status, 10.0)], "k")
        clipped = re.findall(r'<path d="([^"]*)"[^>]*clip-path', text)
        return sum(path.count("M") for path in clipped)

    assert bars(WeightBearing.TTWB) > bars(WeightBearing.PWB) > 0
    assert bars(WeightBearing.WBAT) == 0


def test_only_black_and_white_so_grey_paper_loses_nothing() -> None:
    text = body_svg([order(limb, status) for limb, status in zip(Limb, WeightBearing, strict=False)], "k")
    assert set(re.findall(r"#[0-9a-fA-F]{3,6}\b", text)) == {"#fff", "#000"}


def test_the_words_of_the_figure_name_limb_status_and_both_units() -> None:
    words = title(drawn(order(Limb.RIGHT_LEG, WeightBearing.PWB, 41.0)))
    assert "Right leg" in words
    assert STATUS_SAYS[WeightBearing.PWB] in words
    assert "41.0 kg (90 lb)" in words


def test_two_figures_on_a_page_share_no_id() -> None:
    orders = [order(limb, WeightBearing.PWB, 10.0) for limb in Limb]
    first, second = (set(re.findall(r'id="([^"]+)"', body_svg(orders, key))) for key in ("a", "b"))
    assert len(first) == 5
    assert not first & second


# The step chart


def history(*levels: Level) -> list[tuple[datetime, Level]]:
    return [(NOW - timedelta(hours=12 * (len(levels) - n)), level) for n, level in enumerate(levels)]


def points(path: str) -> list[tuple[float, float]]:
    """The corners of the chart's line."""
    x, y = (float(part) for part in re.match(r"M([\d.]+ [\d.]+)", path)[1].split())  # type: ignore[index]
    corners = [(x, y)]
    for command, value in re.findall(r"([HV])([\d.]+)", path):
        x, y = (float(value), y) if command == "H" else (x, float(value))
        corners.append((x, y))
    return corners


def chart(told: list[tuple[datetime, Level]], own: scheme.Scheme = HOUSE) -> str:
    made = step_chart(told, NOW, own)
    assert made is not None
    return str(made.svg())


def line_of(text: str) -> list[tuple[float, float]]:
    paths = re.findall(r'<path d="(M[^"]+)" stroke="currentColor" stroke-width="0.6"', text)
    return points(paths[0])


def test_equal_levels_in_a_row_are_one_step() -> None:
    steps = steps_of(history(Level.LINK, Level.LINK, Level.TEAM, Level.LINK))
    assert [level for _, level in steps] == [Level.LINK, Level.TEAM, Level.LINK]


def test_more_help_is_higher_and_time_runs_to_the_right() -> None:
    corners = line_of(chart(history(Level.SELF, Level.HOIST, Level.LINK)))
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    assert xs == sorted(xs)
    assert ys[0] > ys[-1] > min(ys), "the page's y grows downward"
    assert xs[-1] == 31, "the line goes on to the time of printing"


def test_history_out_of_order_is_drawn_in_order() -> None:
    told = history(Level.SELF, Level.TEAM, Level.LINK)
    assert step_chart(told[::-1], NOW, HOUSE) == step_chart(told, NOW, HOUSE)


def test_the_chart_says_every_step_in_words() -> None:
    words = ET.fromstring(chart(history(Level.SELF, Level.TEAM))).findtext("title") or ""
    assert words == "Level over the stay: SELF from Sun 1 Mar 08:00, TEAM from Sun 1 Mar 20:00."


def test_the_words_are_the_facility_s_own() -> None:
    own = scheme.scheme.read('[levels.TEAM]\nword = "CREW"\n')
    assert "CREW from" in chart(history(Level.TEAM, Level.LINK), own)


def test_a_level_that_never_changed_is_words_and_no_flat_line() -> None:
    assert step_chart([(NOW, Level.POWER)], NOW, HOUSE) is None
    assert trend([(NOW, Level.POWER)]) == ("same", "since Mon 2")


def test_better_or_worse_is_said_with_its_day_and_drawn_with_its_scale() -> None:
    told = history(Level.HOIST, Level.LINK)
    assert trend(told) == ("LESS", "since Sun 1")
    drawn = ET.fromstring(chart(told))
    assert [one.text for one in drawn.iter("text")] == ["HOIST", "LINK", "Sun 1", "now"]


def test_no_history_no_chart() -> None:
    assert step_chart((), NOW, HOUSE) is None
