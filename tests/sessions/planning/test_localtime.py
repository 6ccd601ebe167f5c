from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from sessions.planning.localtime import epoch_s, from_epoch, instants, opening_s, openings_s

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
    winter, summer = openings_s(date(2026, 3, 28), 2, time(9), time(22), LISBON)

    assert from_epoch(winter[0]) == datetime(2026, 3, 28, 9, tzinfo=UTC)
    assert from_epoch(summer[0]) == datetime(2026, 3, 29, 8, tzinfo=UTC)


def test_a_house_that_would_open_in_the_gap_opens_after_it():
    opens, closes = opening_s(SPRING, time(1, 30), time(1, 45), LISBON)

    assert closes == opens


def test_a_double_opening_time_opens_the_first_and_closes_the_second_time():
    opens, closes = opening_s(AUTUMN, time(1, 15), time(1, 45), LISBON)

    assert closes - opens == 90 * 60


def test_seconds_since_the_epoch_and_back():
    at = datetime(2026, 3, 2, 18, 0, 0, 999_999, tzinfo=UTC)

    assert from_epoch(epoch_s(at)) == at.replace(microsecond=0)
