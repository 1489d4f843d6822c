"""Units at the edge: against pint, and against the exact definitions of NIST SP 811 (2008), B.8."""

import pint
import pytest

from mobicard.facts.units import both_masses, kg_from_lb, lb_from_kg, read_length, read_mass

UREG = pint.UnitRegistry()


@pytest.mark.parametrize("lb", [0.0, 1.0, 22.2, 35.0, 141.0, 181.0, 1000.0])
def test_pounds_to_kilograms_as_pint_has_it(lb: float) -> None:
    expected = UREG.Quantity(lb, "pound").to("kilogram").magnitude
    assert kg_from_lb(lb) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("kg", [0.3, 5.03, 10.1, 15.9, 82.0, 250.0])
def test_kilograms_to_pounds_as_pint_has_it(kg: float) -> None:
    expected = UREG.Quantity(kg, "kilogram").to("pound").magnitude
    assert lb_from_kg(kg) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "quantity", "unit"),
    [
        ("181 lb", 181, "pound"),
        ("181lbs", 181, "pound"),
        ("181.5 LB.", 181.5, "pound"),
        ("1 pound", 1, "pound"),
        ("82 kg", 82, "kilogram"),
        (" 82,5 kilo ", 82.5, "kilogram"),
    ],
)
def test_a_weight_with_its_unit_is_read_as_pint_reads_it(text: str, quantity: float, unit: str) -> None:
    assert read_mass(text) == pytest.approx(UREG.Quantity(quantity, unit).to("kilogram").magnitude)


@pytest.mark.parametrize(
    ("text", "quantity", "unit"),
    [
        ("175 cm", 175, "centimeter"),
        ("1.75 m", 1.75, "meter"),
        ("1,75 m", 1.75, "meter"),
        ("69 in", 69, "inch"),
        ('69"', 69, "inch"),
        ("5 ft 9 in", 69, "inch"),
        ("5'9\"", 69, "inch"),
        ("5 feet", 60, "inch"),
        ("5 ft 11.5 in", 71.5, "inch"),
    ],
)
def test_a_height_with_its_unit_is_read_as_pint_reads_it(text: str, quantity: float, unit: str) -> None:
    assert read_length(text) == pytest.approx(UREG.Quantity(quantity, unit).to("centimeter").magnitude)


@pytest.mark.parametrize("text", ["82", "82 st", "kg", "", "1,200 lb", "-5 kg", "1e3 kg", "82 kg 5", "八 kg"])
def test_a_weight_that_could_be_misread_is_refused_with_what_to_write(text: str) -> None:
    with pytest.raises(ValueError, match="write it like 82 kg or 181 lb"):
        read_mass(text)


@pytest.mark.parametrize("text", ["175", "69 inches tall", "5.9 ft", "", "cm"])
def test_a_height_that_could_be_misread_is_refused_with_what_to_write(text: str) -> None:
    with pytest.raises(ValueError, match="write it like 175 cm or 5 ft 9 in"):
        read_length(text)


def test_a_foot_has_twelve_inches() -> None:
    assert read_length("5 ft 11 in") == pytest.approx(180.34)  # computed: 71 x 2.54
    with pytest.raises(ValueError, match="a foot has 12"):
        read_length("5 ft 12 in")


def test_a_mass_is_shown_metric_first_with_pounds_beside_it() -> None:
    assert both_masses(82.0) == "82.0 kg (180 lb)"  # computed: 82 / 0.45359237 = 180.8
    assert both_masses(kg_from_lb(181)) == "82.1 kg (181 lb)"
    assert both_masses(41.66) == "41.6 kg (91 lb)"
