"""What must be in place before a page is served; safe to do again, and by several at once."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from io import StringIO

from django.core.management import call_command
from django.core.management.base import OutputWrapper
from django.db import connection

from darkroom.models import HouseRules, Member

# Any number, but the same for every process that migrates this database.
MIGRATING = 0x57E75_1DE
LOADING = "a demo is being loaded"


def prepare() -> None:
    """Tables, catalogue and static files as this version of the house wants them."""
    with _one_at_a_time():
        call_command("migrate", verbosity=0, interactive=False)
        call_command("load_catalogue", stdout=StringIO())
        call_command("collectstatic", verbosity=0, interactive=False)


def load_demo(stdout: OutputWrapper) -> None:
    """The invented house, in an empty database; half of it is thrown away by the next start."""
    _remark(LOADING)
    call_command("load_demo", stdout=stdout)
    _remark(None)


def clear_unfinished_demo() -> None:
    """Start anew where loading was broken off: nothing but the demo can be in there."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT obj_description('public'::regnamespace, 'pg_namespace')")
        if cursor.fetchone()[0] == LOADING:
            cursor.execute("DROP SCHEMA public CASCADE")
            cursor.execute("CREATE SCHEMA public")


def is_empty() -> bool:
    """Whether nobody lives here yet; a database without tables is empty too."""
    return not (_has_tables() and Member.objects.exists())


def is_demo() -> bool:
    return _has_tables() and HouseRules.objects.filter(is_demo=True).exists()


@contextmanager
def _one_at_a_time() -> Iterator[None]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_lock(%s)", [MIGRATING])
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_unlock(%s)", [MIGRATING])


def _remark(text: str | None) -> None:
    with connection.cursor() as cursor:
        cursor.execute("COMMENT ON SCHEMA public IS %s", [text])


def _has_tables() -> bool:
    tables = {HouseRules._meta.db_table, Member._meta.db_table}
    return tables <= set(connection.introspection.table_names())
