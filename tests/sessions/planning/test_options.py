from decimal import Decimal

import pytest

from chemistry.science.area import AU_MM2
from sessions.planning.options import MOST_LOADS, BathRule, CannotTake, Fit, Vessel, loading

FOUR_BY_FIVE = AU_MM2 / 4
EIGHT_BY_TEN = AU_MM2
STRONG = [BathRule("Developer", stock_ml_per_au=Decimal(75), dilution_n=Decimal(1))]


def taken(vessel, sheets, *, sheet=FOUR_BY_FIVE, baths=(), **more):
    return loading(vessel, sheets=sheets, sheet_mm2=sheet, baths=list(baths), **more)


def refused(vessel, sheets, **more):
    with pytest.raises(CannotTake) as refusal:
        taken(vessel, sheets, **more)
    return refusal.value


# Common practice: the volumes and positions of these three vessels.
DAYLIGHT_TANK = Vessel(max_ml=500, fit=Fit(positions=4, advised=4, min_ml=475))
ROCKED_DRUM = Vessel(max_ml=300, fit=Fit(positions=4, advised=4, min_ml=200))
ROCKED_DRUM_8X10 = Vessel(max_ml=300, fit=Fit(positions=1, advised=1, min_ml=200))
REEL_OF_SIX = Vessel(max_ml=600, fit=Fit(positions=6, advised=4, min_ml=470))


def test_four_sheets_go_in_the_daylight_tank_under_half_a_litre():
    found = taken(DAYLIGHT_TANK, 4, baths=STRONG)

    assert (found.loads, found.sheets_per_load) == (1, 4)
    assert found.load_ml == 475


def test_four_sheets_go_in_the_rocked_drum_with_200_ml():
    found = taken(ROCKED_DRUM, 4, baths=STRONG)

    assert (found.loads, found.sheets_per_load, found.load_ml) == (1, 4, 200)


def test_one_8x10_at_a_time_goes_in_the_rocked_drum():
    found = taken(ROCKED_DRUM_8X10, 3, sheet=EIGHT_BY_TEN, baths=STRONG)

    assert (found.loads, found.sheets_per_load, found.load_ml) == (3, 1, 200)


def test_four_of_six_positions_are_advised():
    found = taken(REEL_OF_SIX, 6, baths=STRONG)

    assert (found.loads, found.sheets_per_load) == (2, 3)
    assert taken(REEL_OF_SIX, 4).sheets_per_load == 4


def test_a_weak_developer_lets_one_sheet_go_in_the_drum_where_a_strong_one_lets_four():
    weak = [BathRule("Developer", stock_ml_per_au=Decimal(10), dilution_n=Decimal(50))]

    found = taken(ROCKED_DRUM, 4, baths=weak)

    # 510 mL for 80 in²: 127.5 mL for a sheet, two of which the drum still holds.
    assert (found.loads, found.sheets_per_load, found.load_ml) == (2, 2, 255)


def test_the_vessel_can_hold_too_little_for_a_single_sheet():
    weak = [BathRule("Developer", stock_ml_per_au=Decimal(10), dilution_n=Decimal(50))]

    refusal = refused(ROCKED_DRUM_8X10, 1, sheet=EIGHT_BY_TEN, baths=weak)

    assert (refusal.code, refusal.value, refusal.limit) == ("volume", 510, 300)
    assert refusal.bath == "Developer"


def test_the_strictest_bath_decides_the_volume():
    per_pass = BathRule("Fixer", per_pass_mm2_per_l=AU_MM2 * 4)

    assert taken(ROCKED_DRUM, 4, baths=[*STRONG, per_pass]).load_ml == 250


def test_colour_goes_only_where_the_temperature_is_held():
    held = Vessel(max_ml=500, fit=Fit(4, 4, 300), holds_temperature=True)

    assert refused(DAYLIGHT_TANK, 4, needs_held_temperature=True).code == "temperature"
    assert taken(held, 4, needs_held_temperature=True).loads == 1


@pytest.mark.parametrize(
    ("vessel", "code"),
    [
        (Vessel(max_ml=500, fit=None), "format"),
        (Vessel(max_ml=500, fit=Fit(4, 4, 300), is_in_service=False), "out_of_service"),
        (Vessel(max_ml=250, fit=Fit(4, 4, 300)), "volume"),
    ],
)
def test_a_vessel_says_why_not(vessel, code):
    assert refused(vessel, 1).code == code


def test_a_session_has_only_so_many_loads():
    assert taken(ROCKED_DRUM, 4 * MOST_LOADS).loads == MOST_LOADS
    assert refused(ROCKED_DRUM, 4 * MOST_LOADS + 1).code == "loads"


@pytest.mark.parametrize("sheets", range(1, 30))
def test_no_load_is_over_the_advised_and_none_is_needed_less(sheets):
    found = taken(REEL_OF_SIX, sheets)

    assert found.sheets_per_load <= 4
    assert (found.loads - 1) * 4 < sheets <= found.loads * found.sheets_per_load
