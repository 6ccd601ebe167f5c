from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from chemistry.verify import verify


class Command(BaseCommand):
    help = (
        "Checks the ledger's chain, the balances, the wear of every bottle, and that every guard "
        "is there and switched on."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--against",
            nargs=2,
            metavar=("HASH", "N"),
            help="The hash and the number of the last entry, as printed on a report. Nothing else "
            "tells that entries were taken off the end and the head set back with them.",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        outcome = verify(against=_printed(options["against"]))
        for fault in outcome.faults:
            self.stderr.write(f"{fault.part}: {fault.message}")
        entries = _count(outcome.entries, "entry", "entries")
        accounts = _count(outcome.accounts, "account", "accounts")
        checked = f"{entries}, {accounts}, {_count(outcome.bottles, 'bottle', 'bottles')}"
        if outcome.faults:
            found = _count(len(outcome.faults), "fault", "faults")
            raise CommandError(f"{checked} checked, {found} found.")
        self.stdout.write(f"{checked} checked: all holds.")
        if not options["against"]:
            self.stdout.write(
                "Whether the latest entries are all there, only a printed report can tell: "
                "give its hash and number with --against."
            )


def _count(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def _printed(given: list[str] | None) -> tuple[str, int] | None:
    if given is None:
        return None
    expected_hash, seq = given
    if not seq.isdecimal():
        raise CommandError(f"The number of an entry is a whole number, not {seq}.")
    return expected_hash, int(seq)
