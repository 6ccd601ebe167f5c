"""Free time with a thousand and with a million past holds: ``python -m tests.benchmarks slots``.

The same fortnight is asked for on two copies of the table of holds, each in a schema of its own and
with the same holds to come, turn by turn in one run. Both must choose the same plan and find the
same free time.
"""

from __future__ import annotations

import re
from datetime import timedelta

from django.db import connection

from sessions.pieces import FREE_SQL, free_ranges
from sessions.planning.localtime import epoch_s
from tests.benchmarks.pairs import Ratio, ratio
from tests.benchmarks.stage import empty_house
from tests.factories.darkroom import NOW

PIECES = list(range(1, 31))
PAST = {"few": 1_000, "many": 1_000_000}
TO_COME = 600
LOW_S, HIGH_S = epoch_s(NOW), epoch_s(NOW + timedelta(days=15))
PAIRS = 15

FILL = """
    INSERT INTO {schema}.bookings_hold (equipment_id, session_id, phase, period)
    SELECT n %% %(pieces)s + 1, 1, 'wet', tstzrange(
        %(now)s::timestamptz {sign} make_interval(mins => 45 * (n / %(pieces)s + 1)),
        %(now)s::timestamptz {sign} make_interval(mins => 45 * (n / %(pieces)s + 1))
            + interval '30 minutes')
    FROM generate_series(0, %(count)s - 1) AS n
"""


def fill(schema: str, past: int) -> None:
    """Holds of half an hour, one every three quarters, on every piece."""
    given = {"pieces": len(PIECES), "now": NOW}
    with connection.cursor() as cursor:
        cursor.execute(f"CREATE SCHEMA {schema}")
        cursor.execute(
            f"CREATE TABLE {schema}.bookings_hold (LIKE public.bookings_hold INCLUDING ALL)"
        )
        cursor.execute(FILL.format(schema=schema, sign="-"), given | {"count": past})
        cursor.execute(FILL.format(schema=schema, sign="+"), given | {"count": TO_COME})
        cursor.execute(f"ANALYZE {schema}.bookings_hold")


def look_in(schema: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"SET search_path TO {schema}, public")


def shape(schema: str) -> list[str]:
    """What the plan does, step by step, without what it expects to cost or find."""
    look_in(schema)
    given = {"ids": PIECES, "low": LOW_S, "high": HIGH_S, "ignoring": None}
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN (COSTS OFF) {FREE_SQL}", given)
        lines = [line for (line,) in cursor.fetchall()]
    return [re.sub(r"bookings_hold_\w+", "(index)", line) for line in lines if "->" in line]


def free(schema: str) -> dict[int, list[tuple[int, int]]]:
    look_in(schema)
    return free_ranges(PIECES, LOW_S, HIGH_S)


def measure() -> Ratio:
    for schema, past in PAST.items():
        fill(schema, past)
    shapes = {schema: shape(schema) for schema in PAST}
    print("\n".join(shapes["many"]))
    assert shapes["few"] == shapes["many"], shapes
    assert any("Index" in line for line in shapes["many"]), shapes
    assert free("few") == free("many")
    return ratio(lambda: void(free("many")), lambda: void(free("few")), pairs=PAIRS)


def void(_: object) -> None:
    """An answer that nobody looks at."""


def main() -> None:
    with empty_house():
        print("Free time with a million past holds, over that with a thousand:", measure())
