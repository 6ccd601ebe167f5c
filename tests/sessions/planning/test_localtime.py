from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from sessions.planning.localtime import Hours, epoch_s, from_epoch, instants, opening_s, openings_s

LISBON = ZoneInfo("Europe/Lisbon")
SPRING, AUTUMN = date(2026, 3, 29), date(2026, 10, 25)


def test_an_ordinary_time_comes_once():
    assert instants(date(2026, 7, 1), time(18, 30), LISBON) == (
        datetime(2026, 7, 1, 17, 30, tzinfo=UTC),
    )


def test_the_hour_that_the_clocks_jump_over_never_comes():
    assert instants(SPRING, time(1, 30), LISBON) == ()


def test_the_hour_that_comes_again_comes_twice():
    assert instants(AUTUMN, time(1, 30), LISBON) == (
        datetime(2026, 10, 25, 0, 30, tzinfo=UTC),
        datetime(2026, 10, 25, 1, 30, tzinfo=UTC),
    )


@pytest.mark.parametrize(("day", "hours"), [(SPRING, 23), (AUTUMN, 25), (date(2026, 5, 5), 24)])
def test_a_house_that_never_closes_is_open_as_long_as_the_day_is(day, hours):
    opens, closes = opening_s(day, time(0), time(23, 59), LISBON)

    assert closes - opens == hours * 3600 - 60


def test_opening_hours_follow_the_clock_on_the_wall():
    daily = Hours(dict.fromkeys(range(7), (time(9), time(22))))

    winter, summer = openings_s(daily, date(2026, 3, 28), 2, LISBON)

    assert from_epoch(winter[0]) == datetime(2026, 3, 28, 9, tzinfo=UTC)
    assert from_epoch(summer[0]) == datetime(2026, 3, 29, 8, tzinfo=UTC)


MONDAY = date(2026, 3, 2)
WEEK = Hours(
    {0: (time(18), time(22)), 1: (time(9), time(12)), 5: (time(10), time(16))},
    closed={date(2026, 3, 10): "Stocktaking"},
)


def test_a_weekday_has_its_own_hours_and_one_without_any_is_closed():
    found = openings_s(WEEK, MONDAY, 7, LISBON)

    assert [from_epoch(low) for low, _ in found] == [
        datetime(2026, 3, 2, 18, tzinfo=UTC),
        datetime(2026, 3, 3, 9, tzinfo=UTC),
        datetime(2026, 3, 7, 10, tzinfo=UTC),
    ]
    assert [high - low for low, high in found] == [4 * 3600, 3 * 3600, 6 * 3600]


def test_a_closed_date_takes_its_day_out_and_no_other():
    in_a_fortnight = [from_epoch(low).day for low, _ in openings_s(WEEK, MONDAY, 14, LISBON)]

    assert in_a_fortnight == [2, 3, 7, 9, 14]
    assert WEEK.on(date(2026, 3, 17)) == (time(9), time(12))


def test_a_day_whose_hours_the_clocks_swallow_is_not_open():
    assert openings_s(Hours({6: (time(1, 15), time(1, 45))}), SPRING, 1, LISBON) == []


def test_a_house_that_would_open_in_the_gap_opens_after_it():
    opens, closes = opening_s(SPRING, time(1, 30), time(1, 45), LISBON)

    assert closes == opens


def test_a_double_opening_time_opens_the_first_and_closes_the_second_time():
    opens, closes = opening_s(AUTUMN, time(1, 15), time(1, 45), LISBON)

    assert closes - opens == 90 * 60


def test_seconds_since_the_epoch_and_back():
    at = datetime(2026, 3, 2, 18, 0, 0, 999_999, tzinfo=UTC)

    assert from_epoch(epoch_s(at)) == at.replace(microsecond=0)
