"""How long the demo takes: three months of a house by its own operations, per recorded run."""

from __future__ import annotations

import time

from django.db import connection
from django.utils import timezone

from chemistry.models import Movement
from sessions.demo.loading import load_demo
from tests.benchmarks.stage import empty_house


def main() -> None:
    with empty_house():
        began = time.perf_counter()
        made = load_demo(now=timezone.now())
        took_s = time.perf_counter() - began
        runs = made.done["recorded"]
        with connection.cursor() as cursor:
            began = time.perf_counter()
            for _ in range(runs):
                cursor.execute("SELECT 1")
                cursor.fetchone()
            asked_s = time.perf_counter() - began
        print(
            f"{runs} runs in {took_s:.1f} s, {took_s / runs * 1000:.0f} ms a run with all that "
            f"lies round it ({made.done['booked']} bookings, {Movement.objects.count()} ledger "
            f"entries); that is {took_s / asked_s:,.0f} times the shortest question to the same "
            "database."
        )
