"""The revised lifting equation against its tables, cut-offs and worked examples."""

import inspect

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mobicard.derive.loads import LiftingLimit, lifting_limit, lifting_limit_us, window_frequency

UREG = pint.UnitRegistry()
BEST = {
    "h_cm": 25,
    "v_cm": 75,
    "d_cm": 25,
    "a_deg": 0,
    "lifts_per_min": 0.2,
    "duration_h": 1,
    "coupling": "good",
}

# NIOSH 94-110 (1994, rev. 2021), table 5: lifts a minute, then multipliers for up to 1, 2 and 8 hours, each
# below and at or above 75 cm (30 in).
FREQUENCY = """
0.2  1.00 1.00 .95 .95 .85 .85
0.5   .97  .97 .92 .92 .81 .81
1     .94  .94 .88 .88 .75 .75
2     .91  .91 .84 .84 .65 .65
3     .88  .88 .79 .79 .55 .55
4     .84  .84 .72 .72 .45 .45
5     .80  .80 .60 .60 .35 .35
6     .75  .75 .50 .50 .27 .27
7     .70  .70 .42 .42 .22 .22
8     .60  .60 .35 .35 .18 .18
9     .52  .52 .30 .30 .00 .15
10    .45  .45 .26 .26 .00 .13
11    .41  .41 .00 .23 .00 .00
12    .37  .37 .00 .21 .00 .00
13    .00  .34 .00 .00 .00 .00
14    .00  .31 .00 .00 .00 .00
15    .00  .28 .00 .00 .00 .00
15.1  .00  .00 .00 .00 .00 .00
"""
COLUMNS = [(1.0, 74.9), (1.0, 75.0), (2.0, 74.9), (2.0, 75.0), (8.0, 74.9), (8.0, 75.0)]
CELLS = [
    (float(row.split()[0]), hours, v, float(cell))
    for row in FREQUENCY.split("\n")
    if row.strip()
    for (hours, v), cell in zip(COLUMNS, row.split()[1:], strict=True)
]


def limit(**changed: object) -> LiftingLimit:
    return lifting_limit(**{**BEST, **changed})  # type: ignore[arg-type]


def rounded(found: LiftingLimit) -> tuple[float, ...]:
    return tuple(round(one, 2) for one in (found.hm, found.vm, found.dm, found.am, found.fm, found.cm))


# -- The lifting equation ---------------------------------------------------------------------------------


def test_worked_example_4_package_inspection_at_the_origin() -> None:
    """NIOSH 94-110, example 4: H 10, V 22, D 37, A 0, 3/min for 45 min, fair coupling."""
    found = lifting_limit_us(10, 22, 37, 0, 3, 0.75, "fair")
    assert rounded(found) == (1.0, 0.94, 0.87, 1.0, 0.88, 0.95)
    assert round(51 * 1.0 * 0.94 * 0.87 * 1.0 * 0.88 * 0.95, 1) == 34.9
    assert found.rwl_lb == pytest.approx(34.9, abs=0.1)  # the manual rounds multipliers before multiplying


def test_worked_example_5_dish_washing_machine_at_the_origin() -> None:
    """NIOSH 94-110, example 5: H 20, V 44, D 37, A 30, 5/min, 45 to 60 min, good coupling."""
    found = lifting_limit_us(20, 44, 37, 30, 5, 1, "good")
    assert rounded(found)[0] == 0.5
    assert found.vm == pytest.approx(0.895)  # the manual prints .90
    assert rounded(found)[2:] == (0.87, 0.90, 0.80, 1.0)
    assert round(51 * 0.5 * 0.90 * 0.87 * 0.90 * 0.80, 1) == 14.4
    assert found.rwl_lb == pytest.approx(14.4, abs=0.1)


def test_the_best_lift_leaves_the_load_constant_whole() -> None:
    """NIOSH 94-110: 23 kg, 51 lb; not exact conversions of each other."""
    assert limit().rwl_kg == pytest.approx(23)
    assert lifting_limit_us(10, 30, 10).rwl_lb == pytest.approx(51)
    assert lifting_limit_us(10, 30, 10).rwl_kg == pytest.approx(
        UREG.Quantity(51, "pound").to("kilogram").magnitude
    )


@pytest.mark.parametrize(("lifts", "hours", "v", "expected"), CELLS)
def test_each_cell_of_the_frequency_table(lifts: float, hours: float, v: float, expected: float) -> None:
    """NIOSH 94-110, table 5."""
    assert limit(lifts_per_min=lifts, duration_h=hours, v_cm=v).fm == pytest.approx(expected)


def test_the_whole_frequency_table_is_checked() -> None:
    assert len(CELLS) == 18 * 6


@pytest.mark.parametrize(
    ("lifts", "hours", "v", "expected"),
    [
        (0.35, 1, 75, 0.985),
        (1.5, 1, 75, 0.925),
        (5.33, 1, 75, 0.7835),
        (2.5, 8, 75, 0.60),
        (8.5, 8, 74, 0.09),
        (12.5, 1, 74, 0.185),
        (0, 8, 75, 0.85),
        (0.1, 1, 75, 1.0),
    ],
)
def test_between_two_rows_the_multiplier_runs_straight(
    lifts: float, hours: float, v: float, expected: float
) -> None:
    """Computed by linear interpolation of NIOSH 94-110, table 5; at or below 0.2 the first row holds."""
    assert limit(lifts_per_min=lifts, duration_h=hours, v_cm=v).fm == pytest.approx(expected)


@pytest.mark.parametrize(
    ("hours", "expected"), [(0.01, 0.94), (1, 0.94), (1.01, 0.88), (2, 0.88), (2.01, 0.75), (8, 0.75)]
)
def test_both_sides_of_each_duration(hours: float, expected: float) -> None:
    assert limit(lifts_per_min=1, duration_h=hours).fm == pytest.approx(expected)


@pytest.mark.parametrize(
    ("what", "value", "multiplier", "expected"),
    [
        ("h_cm", 0, "hm", 1.0),
        ("h_cm", 25, "hm", 1.0),
        ("h_cm", 26, "hm", 25 / 26),
        ("h_cm", 50, "hm", 0.5),
        ("h_cm", 63, "hm", 25 / 63),
        ("h_cm", 63.1, "hm", 0.0),
        ("v_cm", 0, "vm", 0.775),
        ("v_cm", 74, "vm", 0.997),
        ("v_cm", 75, "vm", 1.0),
        ("v_cm", 76, "vm", 0.997),
        ("v_cm", 175, "vm", 0.70),
        ("v_cm", 175.1, "vm", 0.0),
        ("d_cm", 0, "dm", 1.0),
        ("d_cm", 25, "dm", 1.0),
        ("d_cm", 50, "dm", 0.91),
        ("d_cm", 175, "dm", 0.82 + 4.5 / 175),
        ("d_cm", 175.1, "dm", 0.0),
        ("a_deg", 0, "am", 1.0),
        ("a_deg", 45, "am", 0.856),
        ("a_deg", 135, "am", 0.568),
        ("a_deg", 135.1, "am", 0.0),
    ],
)
def test_each_metric_multiplier_and_both_sides_of_its_cut_off(
    what: str, value: float, multiplier: str, expected: float
) -> None:
    """NIOSH 94-110: HM 25/H, VM 1 - .003|V - 75|, DM .82 + 4.5/D, AM 1 - .0032A and their cut-offs."""
    assert getattr(limit(**{what: value}), multiplier) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("h", "v", "d", "multiplier", "expected"),
    [
        (9.9, 30, 10, "hm", 1.0),
        (10.1, 30, 10, "hm", 10 / 10.1),
        (25, 30, 10, "hm", 0.4),
        (25.1, 30, 10, "hm", 0.0),
        (10, 0, 10, "vm", 0.775),
        (10, 70, 10, "vm", 0.70),
        (10, 70.1, 10, "vm", 0.0),
        (10, 30, 9.9, "dm", 1.0),
        (10, 30, 20, "dm", 0.91),
        (10, 30, 70, "dm", 0.82 + 1.8 / 70),
        (10, 30, 70.1, "dm", 0.0),
    ],
)
def test_each_us_multiplier_and_both_sides_of_its_cut_off(
    h: float, v: float, d: float, multiplier: str, expected: float
) -> None:
    """NIOSH 94-110, US column."""
    assert getattr(lifting_limit_us(h, v, d), multiplier) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("coupling", "low", "high"), [("good", 1.0, 1.0), ("fair", 0.95, 1.0), ("poor", 0.90, 0.90)]
)
def test_the_grip_counts_on_both_sides_of_the_knuckles(coupling: str, low: float, high: float) -> None:
    """NIOSH 94-110, table 7: below 75 cm (30 in), and from there up."""
    assert limit(coupling=coupling, v_cm=74.9).cm == low
    assert limit(coupling=coupling, v_cm=75).cm == high
    assert lifting_limit_us(10, 29.9, 10, coupling=coupling).cm == low
    assert lifting_limit_us(10, 30, 10, coupling=coupling).cm == high


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"h_cm": -1}, "horizontal distance of -1"),
        ({"v_cm": -0.1}, "height of the hands"),
        ({"d_cm": float("nan")}, "vertical travel of nan"),
        ({"a_deg": 181}, "twist of 181 degrees"),
        ({"a_deg": -1}, "twist of -1"),
        ({"lifts_per_min": -1}, "lifts a minute"),
        ({"lifts_per_min": float("inf")}, "lifts a minute"),
        ({"duration_h": 0}, "0 hours"),
        ({"duration_h": 8.01}, "it ends at 8"),
        ({"coupling": "firm"}, "write good, fair or poor"),
    ],
)
def test_what_cannot_be_is_refused_in_words(changed: dict[str, object], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        limit(**changed)


TASKS = st.fixed_dictionaries(
    {
        "h_cm": st.floats(0, 80),
        "v_cm": st.floats(0, 200),
        "d_cm": st.floats(0, 200),
        "a_deg": st.floats(0, 180),
        "lifts_per_min": st.floats(0, 20),
        "duration_h": st.floats(0.1, 8),
        "coupling": st.sampled_from(["good", "fair", "poor"]),
    }
)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(TASKS, st.sampled_from(["h_cm", "d_cm", "a_deg", "lifts_per_min", "duration_h"]), st.floats(1, 2))
def test_a_worse_lift_never_has_a_higher_limit(task: dict[str, float], worse: str, by: float) -> None:
    most = {"a_deg": 180, "duration_h": 8}.get(worse, 1000)
    harder = {**task, worse: min(task[worse] * by, most)}
    assert lifting_limit(**harder).rwl_kg <= lifting_limit(**task).rwl_kg + 1e-12  # type: ignore[arg-type]


@settings(max_examples=200, deadline=None, derandomize=True)
@given(TASKS)
def test_no_lift_is_above_the_load_constant(task: dict[str, float]) -> None:
    assert 0 <= lifting_limit(**task).rwl_kg <= 23  # type: ignore[arg-type]


def test_the_lifting_index_is_load_over_limit() -> None:
    assert limit().lifting_index(46) == pytest.approx(2)  # NIOSH 94-110: LI = L / RWL
    assert limit(h_cm=64).lifting_index(1) == float("inf")
    with pytest.raises(ValueError, match="cannot be"):
        limit().lifting_index(-1)


def test_ten_a_minute_for_eight_minutes_in_fifteen_count_as_five_and_a_third() -> None:
    """NIOSH 94-110, special frequency adjustment."""
    assert window_frequency(10, 8) == pytest.approx(5.33, abs=0.005)


@pytest.mark.parametrize(("minutes", "window"), [(16, 15), (8, 16), (-1, 15), (1, 0), (0, 0)])
def test_minutes_that_do_not_fit_the_window_are_refused(minutes: float, window: float) -> None:
    with pytest.raises(ValueError, match=r"window|fit"):
        window_frequency(10, minutes, window)


def test_the_limits_of_use_stand_where_the_figure_is_asked_and_shown() -> None:
    for fact in (
        "one-handed",
        "8 hours",
        "kneeling",
        "carrying, pushing or pulling",
        "excluded handling patients",
    ):
        assert fact in " ".join((inspect.getdoc(lifting_limit) or "").split())
    assert "excludes handling patients" in limit().note
    assert "certifies no lift" in limit().note
