"""``python -m tests.benchmarks NAME``: one benchmark, on a database and in a folder of its own."""

from __future__ import annotations

import importlib
import os
import sys
import tempfile

NAMES = ("booking", "demo", "options", "page", "slots", "sums")


def main() -> None:
    if len(sys.argv) != 2 or sys.argv[1] not in NAMES:
        sys.exit(f"usage: python -m tests.benchmarks {{{','.join(NAMES)}}}")
    with tempfile.TemporaryDirectory(prefix="wetside-") as folder:
        # As root the database runs under another account, which has to get in.
        os.chmod(folder, 0o755)  # noqa: S103 - nothing secret is kept in it
        os.environ["WETSIDE_DATA"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "tests.benchmarks.settings"
        import django

        django.setup()
        importlib.import_module(f"tests.benchmarks.{sys.argv[1]}").main()


if __name__ == "__main__":
    main()
