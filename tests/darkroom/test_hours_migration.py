from __future__ import annotations

from datetime import time
from typing import Any

import pytest
from django.apps.registry import Apps
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

BEFORE, AFTER = "0005_opening_hours", "0007_hours_by_weekday_only"


@pytest.fixture
def one_pair(db: None) -> Any:
    """The house as it was with one pair of hours, inside the test's transaction."""
    return migrate_to(BEFORE).get_model("darkroom", "HouseRules").objects


def migrate_to(name: str) -> Apps:
    executor = MigrationExecutor(connection)
    executor.migrate([("darkroom", name)])
    executor.loader.build_graph()
    return executor.loader.project_state([("darkroom", name)]).apps


def hours(apps: Apps) -> list[tuple[int, time, time]]:
    rows = apps.get_model("darkroom", "OpeningHours").objects.order_by("weekday")
    return list(rows.values_list("weekday", "opens_at", "closes_at"))


def test_the_pair_of_hours_becomes_a_week_and_back_its_span(one_pair: Any) -> None:
    one_pair.create(pk=1, opens_at=time(10), closes_at=time(20))

    after = migrate_to(AFTER)

    assert hours(after) == [(day, time(10), time(20)) for day in range(7)]
    after.get_model("darkroom", "OpeningHours").objects.filter(weekday=6).update(opens_at=time(8))
    house = migrate_to(BEFORE).get_model("darkroom", "HouseRules").objects.get()
    assert (house.opens_at, house.closes_at) == (time(8), time(20))


def test_no_house_yet_gets_no_week(one_pair: Any) -> None:
    assert hours(migrate_to(AFTER)) == []
