"""Booking through the operation against the very same SQL through bare psycopg.

The statements of one booking are written
down once, then sent again as they are; between two runs the booking is taken back and the
sequences are set back, so that both sides always do the same work on the same rows.
"""

from __future__ import annotations

from uuid import UUID

import psycopg
from django.db import connection
from django.test.utils import (
    CaptureQueriesContext,
)

from darkroom.models import Receipt
from sessions.booking import book_session
from sessions.models import Allotment, Hold, Session, SessionLine
from tests.benchmarks.pairs import Ratio, ratio
from tests.benchmarks.stage import empty_house
from tests.factories.darkroom import NOW, MemberFactory
from tests.factories.sessions import TOMORROW_NOON, bench

KEY = UUID("0b5c7d3e-6f0a-4b6e-9c51-2f1d8a7e4c30")
WRITTEN = (Allotment, Hold, SessionLine, Session, Receipt)
PAIRS = 25


def measure() -> Ratio:
    member = MemberFactory()
    plan = bench().plan(member)

    def through_the_operation() -> None:
        book_session(plan=plan, starts_at=TOMORROW_NOON, key=KEY, by=member, at=NOW)

    with CaptureQueriesContext(connection) as written_down:
        through_the_operation()
    statements = [query["sql"] for query in written_down.captured_queries]
    take_back()
    given = connection.get_connection_params()
    bare = psycopg.connect(
        **{key: given[key] for key in ("dbname", "user", "host", "port") if key in given},
        autocommit=True,
        cursor_factory=psycopg.RawCursor,
    )

    def through_psycopg() -> None:
        for statement in statements:
            cursor = bare.execute(statement)
            if cursor.description:
                cursor.fetchall()

    found = ratio(through_the_operation, through_psycopg, pairs=PAIRS, between=take_back)
    assert Session.objects.count() == 0
    bare.close()
    print(f"{len(statements)} statements a booking, BEGIN and COMMIT among them")
    return found


def take_back() -> None:
    assert Session.objects.count() == 1
    with connection.cursor() as cursor:
        for model in WRITTEN:
            table = model._meta.db_table
            cursor.execute(f"DELETE FROM {table}")  # noqa: S608 - our own table names
            cursor.execute(f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), 1, false)")


def main() -> None:
    with empty_house():
        print("Booking through the operation, over the same SQL through bare psycopg:", measure())
