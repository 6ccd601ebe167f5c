import time
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from sessions.demo.loading import NotEmpty, load_demo


class Command(BaseCommand):
    help = "Fill an empty database with an invented house and three months of its history."

    def handle(self, *args: Any, **options: Any) -> None:
        began = time.perf_counter()
        try:
            made = load_demo(now=timezone.now())
        except NotEmpty as refusal:
            raise CommandError(refusal.message) from refusal
        took_s = time.perf_counter() - began
        runs = made.done["recorded"]
        self.stdout.write(
            f"Demo: {made.done['booked']} sessions booked, {runs} runs recorded in {took_s:.1f} s, "
            f"{took_s / runs * 1000:.0f} ms a run."
        )
