from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science.errors import OutOfRange
from sessions.planning.timeline import (
    BOOTH,
    PEGS,
    POUR_S,
    SINK,
    VESSEL,
    HouseMinutes,
    Span,
    timeline,
)

HOUSE = HouseMinutes(loading_min=10, cleaning_min=10, drying_min=60)
STEPS = [Decimal(8), Decimal(1), Decimal(5)]  # with three pours 17 minutes


def spans(line, kind):
    return next(need.spans for need in line.needs if need.kind == kind)


def test_one_load_is_loaded_run_and_cleared_away():
    line = timeline(loads=1, steps_min=STEPS, house=HOUSE)

    assert spans(line, BOOTH) == (Span("dark", 0, 600),)
    assert spans(line, VESSEL) == (
        Span("dark", 0, 600),
        Span("wet", 600, 1620),
        Span("clean", 1620, 2220),
    )
    assert line.attended_min == 37


def test_film_dries_after_everybody_has_gone():
    line = timeline(loads=1, steps_min=STEPS, house=HOUSE)

    assert spans(line, PEGS) == (Span("dry", 1620, 1620 + 3600),)
    assert line.ends_s > line.attended_s


def test_loads_follow_one_another_and_the_sink_stays():
    line = timeline(loads=2, steps_min=STEPS, house=HOUSE)

    assert spans(line, BOOTH) == (Span("dark", 0, 600), Span("dark", 1620, 2220))
    assert spans(line, SINK) == (Span("wet", 600, 3240), Span("clean", 3240, 3840))


def test_a_bottle_is_out_from_its_first_pour_to_its_last_return():
    line = timeline(loads=2, steps_min=STEPS, house=HOUSE)

    developer, stop, fixer = line.baths_s
    assert developer == (600, 1620 + 600 + 480 + POUR_S)
    assert (stop[0], fixer[0]) == (600 + 540, 600 + 540 + 120)
    assert fixer[1] == 3240


def test_without_time_for_drying_no_pegs_are_kept():
    line = timeline(loads=1, steps_min=STEPS, house=HouseMinutes(10, 0, 0))

    assert {need.kind for need in line.needs} == {VESSEL, BOOTH, SINK}
    assert line.attended_s == line.ends_s == 1620


@pytest.mark.parametrize(("loads", "steps"), [(0, STEPS), (1, []), (1, [Decimal(0)])])
def test_nothing_to_run_is_no_session(loads, steps):
    with pytest.raises(OutOfRange):
        timeline(loads=loads, steps_min=steps, house=HOUSE)


@given(
    st.integers(1, 24),
    st.lists(st.decimals("0.01", 60, places=2), min_size=1, max_size=8),
    st.builds(HouseMinutes, st.integers(0, 60), st.integers(0, 60), st.integers(0, 120)),
)
def test_the_vessel_is_kept_without_a_gap_and_the_minutes_add_up(loads, steps, house):
    line = timeline(loads=loads, steps_min=steps, house=house)
    vessel = spans(line, VESSEL)

    assert all(a.ends_s == b.starts_s for a, b in zip(vessel, vessel[1:], strict=False))
    assert (vessel[0].starts_s, vessel[-1].ends_s) == (0, line.attended_s)
    wet = sum(span.ends_s - span.starts_s for span in vessel if span.phase == "wet")
    assert wet >= loads * (sum(steps) * 60 + POUR_S * len(steps))
    assert wet < loads * (sum(steps) * 60 + (POUR_S + 1) * len(steps) + 60)
    assert line.attended_min == loads * house.loading_min + wet // 60 + house.cleaning_min
