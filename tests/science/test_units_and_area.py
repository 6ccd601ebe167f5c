"""Every conversion against an independent table of units."""

from decimal import ROUND_HALF_UP, Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry import units
from chemistry.science.area import remaining_sheets, sheet_area_mm2

REGISTRY = pint.UnitRegistry(non_int_type=Decimal)
CONVERSIONS = [
    (units.ml_from_us_fl_oz, "fluid_ounce", "milliliter"),
    (units.us_fl_oz_from_ml, "milliliter", "fluid_ounce"),
    (units.ml_from_imperial_fl_oz, "imperial_fluid_ounce", "milliliter"),
    (units.ml_from_us_gal, "gallon", "milliliter"),
    (units.us_gal_from_ml, "milliliter", "gallon"),
    (units.ml_from_us_quart, "quart", "milliliter"),
    (units.ml_from_us_pint, "pint", "milliliter"),
    (units.cm_from_in, "inch", "centimeter"),
    (units.in_from_cm, "centimeter", "inch"),
    (units.mm2_from_ft2, "foot ** 2", "millimeter ** 2"),
    (units.g_from_lb, "pound", "gram"),
    (units.lb_from_g, "gram", "pound"),
    (units.g_from_oz, "ounce", "gram"),
    (units.g_from_grains, "grain", "gram"),
    (units.g_from_troy_oz, "troy_ounce", "gram"),
    (units.c_from_f, "degree_Fahrenheit", "degree_Celsius"),
    (units.f_from_c, "degree_Celsius", "degree_Fahrenheit"),
    (units.c_difference_from_f, "delta_degree_Fahrenheit", "delta_degree_Celsius"),
]
amounts = st.decimals(min_value="0.01", max_value=10_000, places=2)


@pytest.mark.parametrize(
    ("convert", "source", "target"), CONVERSIONS, ids=[one[0].__name__ for one in CONVERSIONS]
)
@given(amount=amounts)
def test_conversion_agrees_with_pint(convert, source, target, amount):
    expected = REGISTRY.Quantity(amount, source).to(target).magnitude

    assert abs(convert(amount) - expected) <= abs(expected) * Decimal("1e-20")


@given(st.integers(-(10**15), 10**15))
def test_microlitres_survive_the_way_to_millilitres_and_back(ul):
    assert units.ul_from_ml(units.ml_from_ul(ul)) == ul


@given(st.decimals(min_value=0, max_value=10**6, places=7))
def test_half_a_microlitre_goes_up(ml):
    exact = ml * 1000

    assert units.ul_from_ml(ml) == exact.quantize(Decimal(1), rounding=ROUND_HALF_UP)


@pytest.mark.parametrize("text", ["NaN", "Infinity", "-Infinity"])
def test_what_is_not_finite_is_not_a_volume(text):
    with pytest.raises(ValueError, match="not a finite number"):
        units.ul_from_ml(Decimal(text))


sides = st.decimals(min_value="0.5", max_value=40, places=3)


@given(sides, sides, st.integers(0, 500))
def test_exactly_as_many_sheets_remain_as_fit(width_in, height_in, sheets):
    sheet_mm2 = sheet_area_mm2(width_in, height_in)

    assert remaining_sheets(sheet_mm2 * sheets, sheet_mm2) == sheets
    assert remaining_sheets(sheet_mm2 * (sheets + 1) - Decimal("0.001"), sheet_mm2) == sheets
