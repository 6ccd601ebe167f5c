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
    LoadMinutes,
    Span,
    Timeline,
    wet_s,
)
from sessions.planning.timeline import timeline as timeline_of

HOUSE = HouseMinutes(loading_min=10, cleaning_min=10, drying_min=60)
STEPS = [Decimal(8), Decimal(1), Decimal(5)]  # with three pours 17 minutes


def timeline(*, loads: int, steps_min: list[Decimal], house: HouseMinutes) -> Timeline:
    """All loads in one vessel."""
    return timeline_of([LoadMinutes(1, tuple(steps_min))] * loads, house=house)


def in_vessels(*vessels: int, steps_min: list[Decimal] = STEPS, house=HOUSE) -> Timeline:
    return timeline_of([LoadMinutes(v, tuple(steps_min)) for v in vessels], house=house)


def spans(line, kind, piece=None):
    return next(
        need.spans for need in line.needs if need.kind == kind and piece in {None, need.piece}
    )


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


# Two vessels


def test_the_next_load_is_loaded_while_the_one_before_is_wet():
    line = in_vessels(1, 2, 1)

    # Wet 17 minutes each, loaded 10 minutes before the sink is free.
    assert spans(line, BOOTH) == (
        Span("dark", 0, 600),
        Span("dark", 1020, 1620),
        Span("dark", 2040, 2640),
    )
    assert line.attended_min == 10 + 3 * 17 + 10


def test_the_same_vessel_has_to_be_empty_first():
    line = in_vessels(1, 1, 2)

    assert [span.starts_s for span in spans(line, BOOTH)] == [0, 1620, 2640]
    assert line.attended_min == 10 + 17 + 10 + 2 * 17 + 10


def test_each_vessel_is_kept_for_its_own_loads_and_until_it_is_clean():
    line = in_vessels(1, 2)

    assert spans(line, VESSEL, 1) == (
        Span("dark", 0, 600),
        Span("wet", 600, 1620),
        Span("clean", 1620, 3240),
    )
    assert spans(line, VESSEL, 2) == (
        Span("dark", 1020, 1620),
        Span("wet", 1620, 2640),
        Span("clean", 2640, 3240),
    )


def test_lines_of_other_minutes_follow_one_another():
    loads = [LoadMinutes(1, (Decimal(8),)), LoadMinutes(1, (Decimal(11),))]
    line = timeline_of(loads, house=HOUSE)

    assert line.attended_min == 10 + 9 + 10 + 12 + 10
    assert line.baths_s == ((600, (10 + 9 + 10 + 12) * 60),)


@given(
    st.lists(st.tuples(st.integers(1, 2), st.integers(1, 40)), min_size=1, max_size=12),
    st.builds(HouseMinutes, st.integers(0, 60), st.integers(0, 60), st.integers(0, 120)),
)
def test_nothing_is_in_two_places_at_once(loads, house):
    made = [LoadMinutes(vessel, (Decimal(minutes),)) for vessel, minutes in loads]
    line = timeline_of(made, house=house)

    for need in line.needs:
        ordered = sorted(need.spans, key=lambda span: span.starts_s)
        assert all(a.ends_s <= b.starts_s for a, b in zip(ordered, ordered[1:], strict=False))
    wets = sum(
        span.ends_s - span.starts_s
        for need in line.needs
        if need.kind == VESSEL
        for span in need.spans
        if span.phase == "wet"
    )
    assert wets == sum(wet_s(load.steps_s) for load in made)
    assert line.attended_s <= sum(wet_s(load.steps_s) for load in made) + 60 * (
        len(made) * house.loading_min + house.cleaning_min
    )
