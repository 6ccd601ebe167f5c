from __future__ import annotations

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.models.functions import Now


def say_that_nobody_said(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """What was out of service before reasons were kept; since when is not known any more."""
    out = apps.get_model("darkroom", "Equipment").objects.filter(is_in_service=False)
    out.update(out_reason="No reason was kept", out_since=Now())


class Migration(migrations.Migration):
    dependencies = [("darkroom", "0008_why_out_of_service")]

    operations = [migrations.RunPython(say_that_nobody_said, migrations.RunPython.noop)]
