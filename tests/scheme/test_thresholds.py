"""The house scheme against its thresholds, and a facility's own held to the same."""

from __future__ import annotations

from pathlib import Path

import pytest
from coloraide import Color
from fontTools.ttLib import TTFont

from mobicard import scheme
from mobicard.facts.words import Level
from mobicard.paper import templates
from mobicard.scheme import thresholds
from mobicard.scheme.scheme import Figure

HOUSE = scheme.load()
FIGURES = thresholds.check(HOUSE)


def figures(key: str) -> list[Figure]:
    return [figure for figure in FIGURES if figure.id == key]


@pytest.mark.parametrize("key", [f"C{number}" for number in range(1, 13)])
def test_the_house_scheme_meets_each_threshold(key: str) -> None:
    """Every check has at least one figure, none falls short, and what was computed is true."""
    assert figures(key)
    assert [figure for figure in figures(key) if figure.ok is False] == []


def test_every_check_but_the_press_is_always_computed() -> None:
    assert [figure for figure in FIGURES if figure.ok is None and figure.id != "C9"] == []


# The figures the scheme was published with, to the digits given there: house scheme, "Reached".
@pytest.mark.parametrize(
    ("key", "what", "value", "digits"),
    [
        ("C1", "contrast of ink on colour, TEAM", 7.10, 2),
        ("C3", "distance, deutan (machado), SELF and LINK", 18.6, 1),
        ("C4", "step in L*, LINK to TEAM", 10.0, 1),
        ("C5", "step in L* of the grey, POWER to HOIST", 9.0, 1),
        ("C6", "distance to wristband, LINK and pink #FFC0CB", 20.6, 1),
        ("C7", "distance to signal, LINK and amber #F9A800", 17.5, 1),
    ],
)
def test_the_worst_figures_are_the_published_ones(key: str, what: str, value: float, digits: int) -> None:
    found = {figure.what: figure.value for figure in figures(key)}
    assert round(float(found[what]), digits) == pytest.approx(value)


@pytest.mark.skipif(
    not all(Path(path).is_file() for path, _, _ in (thresholds.FOGRA39, thresholds.SWOP)),
    reason="needs the press profiles of Debian's scribus-data and libgs10-common",
)
def test_the_press_keeps_the_colours() -> None:
    """Published: 1.79 on FOGRA39, 2.04 on SWOP, ink 271 percent."""
    values = {figure.what: float(figure.value) for figure in figures("C9")}
    assert values["change in print, FOGRA39, package scribus-data, NEARBY"] == pytest.approx(1.79, abs=0.005)
    assert values["change in print, SWOP, package libgs10-common, NEARBY"] == pytest.approx(2.04, abs=0.005)
    assert int(max(value for what, value in values.items() if what.startswith("ink"))) == 271


def test_a_missing_profile_is_said_not_passed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(thresholds, "FOGRA39", ("/nowhere.icc", 2.5, "FOGRA39, package scribus-data"))
    press = [figure for figure in thresholds.check(HOUSE) if figure.id == "C9" and "FOGRA39" in figure.what]
    assert [(figure.ok, figure.value) for figure in press] == [
        (None, "not computed: the profile is not on this machine")
    ]


# Source: Sharma, Wu, Dalal 2005, table 1, pairs 1, 7 and 25 (CIE Lab in, CIEDE2000 out).
@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
        ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
        ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ],
)
def test_distance_is_ciede2000(one: tuple[float, ...], other: tuple[float, ...], expected: float) -> None:
    pair = [Color("lab-d65", list(value)) for value in (one, other)]
    assert round(thresholds.distance(*pair), 4) == expected


def test_contrast_of_black_on_white_is_21() -> None:
    """Source: WCAG 2.2, contrast ratio: (1 + 0.05) / (0 + 0.05)."""
    assert thresholds.contrast("#000000", "#FFFFFF") == pytest.approx(21.0)


# Source: Machado, Oliveira, Fernandes 2009, table 1, severity 1.0: the first row of each matrix.
@pytest.mark.parametrize(
    ("kind", "red"),
    [("protan", 0.152286), ("deutan", 0.367322), ("tritan", 1.255528)],
)
def test_deficiencies_are_simulated_at_full_severity_on_linear_rgb(kind: str, red: float) -> None:
    seen = thresholds.seen("#FF0000", kind, "machado").convert("srgb-linear")
    assert float(seen["red"]) == pytest.approx(red, abs=1e-4)


@pytest.mark.parametrize(
    ("index", "colour"),
    [
        (16, "#000000"),
        (21, "#0000FF"),
        (196, "#FF0000"),
        (230, "#FFFFD7"),
        (231, "#FFFFFF"),
        (232, "#080808"),
        (255, "#EEEEEE"),
    ],
)
def test_xterm_colours(index: int, colour: str) -> None:
    """Source: xterm's 256colres.pl: cube steps 0, 95, 135, 175, 215, 255; greys 8 + 10 n."""
    assert thresholds.xterm(index) == colour


def test_letter_widths_are_those_of_the_carried_font() -> None:
    font = TTFont(templates.folder() / "fonts" / "BarlowSemiCondensed-Bold.ttf")
    names, metrics = font.getBestCmap(), font["hmtx"]
    cap = font["OS/2"].sCapHeight
    widths = {letter: round(metrics[names[ord(letter)]][0] / cap, 3) for letter in thresholds.CAP_WIDTHS}
    assert widths == thresholds.CAP_WIDTHS


# One change to the house scheme that must fall to one check, and the figure it must name.
@pytest.mark.parametrize(
    ("change", "key"),
    [
        ('[levels.TEAM]\ncolour = "#8A8591"', "C1"),
        ('[levels.POWER]\nink = "#000000"', "C2"),
        ('[levels.NEARBY]\ncolour = "#FFE9C9"', "C3"),
        ('[levels.POWER]\ncolour = "#123C80"', "C4"),
        ('[levels.HOIST]\ncolour = "#29458A"', "C5"),
        ('[levels.NEARBY]\ncolour = "#F8A3BC"', "C6"),
        ('[levels.LINK]\ncolour = "#F9A800"', "C7"),
        ('[levels.LINK]\ncolour = "#F0A040"', "C8"),
        ('[levels.LINK]\nglyph = "◦"', "C10"),
        ('[levels.LINK]\nglyph = "力"', "C10"),
        ('[levels.LINK]\nascii = "o"', "C10"),
        ("[levels.POWER]\nbg256 = 27", "C11"),
        ('[levels.LINK]\nword = "HELPERS"', "C12"),
        ('[levels.LINK]\nword = "TEND"', "C12"),
        ('[levels.LINK]\nword = "WWWWMW"', "C12"),
    ],
)
def test_a_facility_scheme_is_refused_with_the_figure_that_fell_short(change: str, key: str) -> None:
    with pytest.raises(scheme.SchemeRefused) as refused:
        scheme.load(change)
    assert key in {figure.id for figure in refused.value.figures}
    assert all(figure.ok is False for figure in refused.value.figures)
    assert f"{key} " in str(refused.value)
    assert "stays as it was" in str(refused.value)


def test_a_facility_scheme_that_meets_the_thresholds_is_taken() -> None:
    own = scheme.load('[levels.LINK]\nword = "GUIDE"\nsub_line = "1 helper, a hand on the belt"')
    assert own.looks[Level.LINK].word == "GUIDE"
    assert own.looks[Level.LINK].colour == HOUSE.looks[Level.LINK].colour
    assert own.looks[Level.TEAM] == HOUSE.looks[Level.TEAM]


def test_a_facility_may_measure_its_own_wristbands() -> None:
    """A pink band of the sky's own colour is too near to it."""
    with pytest.raises(scheme.SchemeRefused, match="C6 distance to wristband, NEARBY and pink #A6DDFF"):
        scheme.load('[wristbands]\npink = ["#A6DDFF"]')
