from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from darkroom.drawing import SHAPES, STATES, Lane, Phase, day_strip, state_of, waterline, wear_rule
from darkroom.drawing.rule import MOST_TICKS, nice_step
from darkroom.drawing.vessel import Shape, area, half_width

BERLIN = ZoneInfo("Europe/Berlin")
OPENS = datetime(2026, 3, 12, 10, tzinfo=BERLIN)
CLOSES = datetime(2026, 3, 12, 20, tzinfo=BERLIN)
kinds = st.sampled_from(sorted(SHAPES))
shares = st.floats(0, 1)


def area_below(kind: str, y: float) -> float:
    profile = SHAPES[kind].profile
    cut = ((y, half_width(profile, y)), *(point for point in profile if point[0] > y))
    return area(cut)


@given(kinds, shares)
def test_waterline_draws_the_true_share_of_the_volume(kind: str, share: float) -> None:
    drawn = waterline(share * 2000, 2000, kind=kind)

    whole = area(SHAPES[kind].profile)
    assert area_below(kind, drawn.level_y) / whole == pytest.approx(share, abs=2e-4)


@given(kinds, shares, shares)
def test_waterline_rises_with_volume(kind: str, one: float, other: float) -> None:
    less, more = sorted((one, other))

    assert waterline(less, 1, kind=kind).level_y >= waterline(more, 1, kind=kind).level_y


@pytest.mark.parametrize(("volume", "share"), [(-5, 0.0), (0, 0.0), (1000, 1.0), (1200, 1.0)])
def test_waterline_stays_between_floor_and_mark(volume: float, share: float) -> None:
    drawn = waterline(volume, 1000)

    assert drawn.share == share
    assert drawn.level_y == (drawn.shape.mark_y if share else drawn.shape.floor_y)


def test_waterline_puts_the_note_above_when_there_is_no_room_below() -> None:
    high, low = waterline(900, 1000), waterline(20, 1000)

    assert high.note_y > high.level_y
    assert low.note_y < low.figure_y


def test_waterline_refuses_a_vessel_that_holds_nothing() -> None:
    with pytest.raises(ValueError, match="capacity"):
        waterline(1, 0)


@pytest.mark.parametrize("shape", SHAPES.values(), ids=lambda shape: shape.name)
def test_shape_runs_downwards_and_fits_its_frame(shape: Shape) -> None:
    points = (*shape.collar, *shape.profile)

    assert all(upper[0] <= lower[0] for upper, lower in pairwise(points))
    assert all(upper[0] < lower[0] for upper, lower in pairwise(shape.profile))
    assert max(half for _, half in points) <= shape.width / 2 - 1
    assert shape.floor_y < shape.height


@given(st.floats(0, 500), st.floats(0, 100), st.floats(0.5, 500))
def test_rule_keeps_used_then_promised_within_its_length(
    used: float, promised: float, limit: float
) -> None:
    rule = wear_rule(used, limit, promised_au=promised)

    assert 0 <= rule.used_pct <= rule.promised_end_pct <= 100.01
    assert rule.limit_pct + rule.over_pct == pytest.approx(100, abs=0.01)
    assert len(rule.ticks) <= MOST_TICKS + 1


def test_rule_measures_in_units() -> None:
    rule = wear_rule(8, 20, promised_au=4, low_au=15)

    assert (rule.used_pct, rule.promised_pct, rule.low_pct, rule.over_pct) == (40, 20, 75, 0)
    assert [tick.label for tick in rule.ticks if tick.label] == ["0", "5", "10", "15"]
    assert [tick.x_pct for tick in rule.ticks] == [5 * n for n in range(21)]


def test_rule_grows_past_the_limit() -> None:
    rule = wear_rule(25, 20)

    assert (rule.used_pct, rule.limit_pct, rule.over_pct) == (100, 80, 20)


@pytest.mark.parametrize("figures", [(-1, 10, 0), (1, 0, 0), (1, 10, -1)])
def test_rule_refuses_what_cannot_be(figures: tuple[float, float, float]) -> None:
    used, limit, promised = figures

    with pytest.raises(ValueError, match="limit"):
        wear_rule(used, limit, promised_au=promised)


@pytest.mark.parametrize(
    ("length", "step"), [(0.5, 1), (40, 1), (41, 2), (100, 5), (400, 10), (401, 20), (90000, 5000)]
)
def test_nice_step_keeps_ticks_apart(length: float, step: int) -> None:
    assert nice_step(length, 40) == step


def phase(hour: float, hours: float, kind: str = "wet") -> Phase:
    starts_at = OPENS.replace(hour=0) + timedelta(hours=hour)
    return Phase(kind, starts_at, starts_at + timedelta(hours=hours))


def test_strip_places_a_phase_by_its_hours() -> None:
    (lane,) = day_strip([Lane("Drum", (phase(15, 2.5),))], opens_at=OPENS, closes_at=CLOSES).lanes

    (block,) = lane.blocks
    assert (block.at_pct, block.long_pct, block.word) == (50, 25, "Wet")
    assert (block.at_px, block.long_px) == (24, 2.5 * 64)


def test_strip_shows_down_a_phone_only_the_hours_in_which_something_is_kept() -> None:
    lanes = [Lane("Drum", (phase(15.25, 1),)), Lane("Tray", (phase(17, 1.5),))]

    strip = day_strip(lanes, opens_at=OPENS, closes_at=CLOSES)
    assert [hour.label for hour in strip.hours_down] == [f"{n}:00" for n in range(15, 20)]
    assert [lane.blocks[0].at_px for lane in strip.lanes] == [24 + 16, 24 + 128]
    assert strip.down_px == 24 + 4 * 64 + 8


def test_strip_shows_the_whole_day_down_a_phone_while_nothing_is_kept() -> None:
    strip = day_strip([Lane("Drum")], opens_at=OPENS, closes_at=CLOSES)

    assert strip.hours_down == strip.hours


@pytest.mark.parametrize(
    ("hour", "hours", "place"), [(9, 2, (0, 10)), (19, 3, (90, 10)), (5, 20, (0, 100))]
)
def test_strip_cuts_a_phase_at_the_doors(
    hour: float, hours: float, place: tuple[float, float]
) -> None:
    strip = day_strip([Lane("Drum", (phase(hour, hours),))], opens_at=OPENS, closes_at=CLOSES)

    (block,) = strip.lanes[0].blocks
    assert (block.at_pct, block.long_pct) == place


@pytest.mark.parametrize("hour", [8, 20, 23])
def test_strip_leaves_out_a_phase_of_another_time(hour: float) -> None:
    strip = day_strip([Lane("Drum", (phase(hour, 2),))], opens_at=OPENS, closes_at=CLOSES)

    assert strip.lanes[0].blocks == ()
    assert strip.kinds == ()


def test_strip_names_the_textures_it_shows_once() -> None:
    lanes = [Lane("Drum", (phase(11, 1), phase(13, 1, "dry"))), Lane("Tray", (phase(12, 1),))]

    assert day_strip(lanes, opens_at=OPENS, closes_at=CLOSES).kinds == (
        ("wet", "Wet"),
        ("dry", "Dry"),
    )


@pytest.mark.parametrize(("hour", "pct"), [(9, None), (15, 50), (21, None)])
def test_strip_shows_now_only_while_open(hour: int, pct: float | None) -> None:
    strip = day_strip([], opens_at=OPENS, closes_at=CLOSES, now=OPENS.replace(hour=hour))

    assert strip.now_pct == pct


def test_strip_hides_the_hour_that_now_would_touch() -> None:
    now = OPENS.replace(hour=15, minute=10)

    labels = [h.label for h in day_strip([], opens_at=OPENS, closes_at=CLOSES, now=now).hours]
    assert labels == [f"{n}:00" if n != 15 else "" for n in range(10, 21)]


def test_strip_counts_elapsed_hours_when_the_clocks_change() -> None:
    opens = datetime(2026, 3, 29, 0, tzinfo=BERLIN)
    closes = datetime(2026, 3, 29, 6, tzinfo=BERLIN)

    strip = day_strip([], opens_at=opens, closes_at=closes)
    assert [hour.label for hour in strip.hours] == [f"{n:02}:00" for n in (0, 1, 3, 4, 5, 6)]
    assert [hour.at_pct for hour in strip.hours] == [0, 20, 40, 60, 80, 100]


def test_strip_takes_instants_of_any_zone() -> None:
    here = phase(12, 1)
    there = Phase("wet", here.starts_at.astimezone(UTC), here.ends_at.astimezone(UTC))

    one, other = (
        day_strip([Lane("Drum", (p,))], opens_at=OPENS, closes_at=CLOSES).lanes[0].blocks[0].at_pct
        for p in (here, there)
    )
    assert one == other == 20


def test_strip_refuses_a_day_without_hours() -> None:
    with pytest.raises(ValueError, match="closes"):
        day_strip([], opens_at=OPENS, closes_at=OPENS)


def test_states_share_no_word() -> None:
    assert len({state.word for state in STATES.values()}) == len(STATES)


def test_state_is_found_with_dashes_too() -> None:
    assert state_of("out-of-date") is state_of("out_of_date")
