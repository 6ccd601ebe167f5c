from django.contrib.postgres.operations import BtreeGistExtension
from django.db import migrations


class Migration(migrations.Migration):
    """Equality of equipment inside an exclusion constraint needs btree_gist."""

    initial = True
    dependencies: list[tuple[str, str]] = []
    operations = [BtreeGistExtension()]
