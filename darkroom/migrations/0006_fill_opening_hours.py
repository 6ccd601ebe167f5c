from __future__ import annotations

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.models import Max, Min


def open_every_day(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """The house's one pair of hours held on all seven days."""
    house = apps.get_model("darkroom", "HouseRules").objects.filter(pk=1).first()
    if house is None:
        return
    hours = apps.get_model("darkroom", "OpeningHours")
    hours.objects.bulk_create(
        hours(weekday=weekday, opens_at=house.opens_at, closes_at=house.closes_at)
        for weekday in range(7)
    )


def one_pair(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """One pair cannot say a week: it becomes the span that has every day in it."""
    hours = apps.get_model("darkroom", "OpeningHours").objects
    span = hours.aggregate(opens_at=Min("opens_at"), closes_at=Max("closes_at"))
    if span["opens_at"] is not None:
        apps.get_model("darkroom", "HouseRules").objects.filter(pk=1).update(**span)
    hours.all().delete()


class Migration(migrations.Migration):
    dependencies = [("darkroom", "0005_opening_hours")]

    operations = [migrations.RunPython(open_every_day, one_pair)]
