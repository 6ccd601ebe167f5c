from decimal import Decimal

import pytest

from chemistry.models import Role, Standing
from sessions import offers
from tests.factories.darkroom import NOW
from tests.factories.sessions import bench, printed_times

pytestmark = pytest.mark.django_db


def _timed(house, standing):
    row = printed_times(house.film, house.developer)
    row.standing = standing
    row.source = f"{standing} {row.pk}"
    row.save()
    return row


def _row_taken(house, member):
    (option,) = offers.offer(house.ask(member), at=NOW).options
    return option.plan.lines[0].time_row_id


@pytest.fixture
def house():
    found = bench()
    found.row.standing, found.row.source = Standing.READ, "A printed table"
    found.row.save()
    return found


def test_of_printed_times_the_first_is_taken(ada, house):
    _timed(house, Standing.READ)

    assert _row_taken(house, ada) == house.row.pk


def test_the_houses_own_times_go_before_printed_ones_and_newer_before_older(ada, house):
    _timed(house, Standing.HOUSE)
    newest = _timed(house, Standing.HOUSE)

    assert _row_taken(house, ada) == newest.pk


@pytest.mark.parametrize(
    ("temp_c", "codes"),
    [("37.7", set()), ("38.0", {"temperature_range"}), ("37.5", {"temperature_range"})],
)
@pytest.mark.parametrize("own_minutes", [None, Decimal(4)])
def test_a_colour_developer_is_never_retimed(ada, house, temp_c, codes, own_minutes):
    step = house.step(Role.DEVELOPER)
    step.minutes, step.temp_c, step.tolerance_c = Decimal("3.25"), Decimal("37.8"), Decimal("0.15")
    step.save()

    ask = house.ask(ada, temp_c=Decimal(temp_c), own_minutes=own_minutes)

    assert {refused.code for refused in offers.offer(ask, at=NOW).refused} == codes
