from __future__ import annotations

import http.client
import os
import socket
import time
from argparse import ArgumentParser
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

from django.conf import settings
from django.core.management import CommandError
from django.core.management.base import BaseCommand
from django.db import connection
from django.urls import reverse

from darkroom import access
from darkroom.embedded.errors import EmbeddedServerError
from darkroom.serving import children, preparing
from darkroom.serving.claim import Claim, Serving
from darkroom.serving.database import stop_if_unused
from darkroom.serving.port import LOOPBACK, address_of, listen
from darkroom.serving.signals import Ending, end_on_signals, ignore_signals

FIRST_PORT = 8000
READY_LIMIT_S = 60.0
PRINTING = "django.core.mail.backends.console.EmailBackend"
POLL_S = 0.2
REAL_HOUSE = (
    "This house has people in it and is no demo, so nothing was loaded. Start it without --demo, "
    "or set WETSIDE_DATA to another folder for a demo beside it."
)


class Command(BaseCommand):
    help = "Prepare and serve the house on this machine, until interrupted."
    # The database is looked at once it runs; until then there is nothing to check.
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--demo", action="store_true", help="an invented house to look around")
        parser.add_argument("--port", type=int, default=FIRST_PORT)

    def handle(self, *args: Any, demo: bool, port: int, **options: Any) -> None:
        end_on_signals()
        try:
            claim = Claim(settings.DATA_DIR)
            if claim.take():
                self._hold(claim, demo, port)
            else:
                self._point_to(claim, demo)
        except (EmbeddedServerError, PermissionError) as error:
            raise CommandError(str(error)) from error

    def _point_to(self, claim: Claim, demo: bool) -> None:
        serving = claim.ask()
        if serving is None:
            raise CommandError("Another process is starting this house and does not get on.")
        self._say(serving.address)
        if demo and not serving.is_demo:
            raise CommandError("The house is already served, and not as a demo.")

    def _hold(self, claim: Claim, demo: bool, port: int) -> None:
        running: list[children.Child] = []
        was_asked = False
        try:
            self._serve(claim, demo, port, running)
        except Ending:
            was_asked = True
        finally:
            ignore_signals()
            children.end(running)
            stop_if_unused()
            claim.release()
        if was_asked:
            # All is put away; taking the interpreter apart would take longer than all of that.
            self.stdout.flush()
            os._exit(0)

    def _serve(self, claim: Claim, demo: bool, port: int, running: list[children.Child]) -> None:
        preparing.clear_unfinished_demo()
        if demo and not preparing.is_empty() and not preparing.is_demo():
            raise CommandError(REAL_HOUSE)
        with listen(port) as listener:
            address = address_of(listener)
            self._say(address)
            claim.tell(Serving(address, demo))
            self._prepare(demo)
            os.environ["WETSIDE_DEMO"] = "1" if demo else "0"
            running += [children.web(listener.fileno()), children.worker(_letters())]
            for child in running:
                child.start()
            self._say_when_ready(listener, running, address, demo)
            connection.close()
            while True:
                time.sleep(POLL_S)
                for child in running:
                    child.look_after()

    def _prepare(self, demo: bool) -> None:
        preparing.prepare()
        if demo and not preparing.is_demo():
            self._say("Loading the demo house; this takes a while.")
            preparing.load_demo(self.stdout)

    def _say_when_ready(
        self, listener: socket.socket, running: list[children.Child], address: str, demo: bool
    ) -> None:
        _wait_for_answer(listener.getsockname()[1], running)
        self._say("Ready. Ctrl-C ends it." if not demo else "The demo is ready. Ctrl-C ends it.")
        if _letters():
            self._say(f"No mail server is set: letters are written to {_letters()}.")
        if demo:
            return
        issued = access.issue_bootstrap_link(at=datetime.now(UTC))
        if issued is not None:
            path = reverse("darkroom:open-house", args=[issued.token])
            self._say("The first administrator comes in here, once, within seven days:")
            self._say(urljoin(settings.ORIGIN or address, path))
        elif preparing.is_demo():
            self._say("This is a demo house; its people sign in only after up --demo.")

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def _letters() -> Path | None:
    """Where letters go that would only be printed, lest they bury the address."""
    return settings.DATA_DIR / "letters" if settings.EMAIL_BACKEND == PRINTING else None


def _wait_for_answer(port: int, running: list[children.Child]) -> None:
    until = time.monotonic() + READY_LIMIT_S
    while time.monotonic() < until:
        for child in running:
            child.look_after()
        visit = http.client.HTTPConnection(LOOPBACK, port, timeout=2)
        try:
            visit.request("GET", reverse("darkroom:health"))
            if visit.getresponse().status == http.HTTPStatus.OK:
                return
        except (OSError, http.client.HTTPException):
            pass
        finally:
            visit.close()
        time.sleep(POLL_S)
    raise CommandError("The web server does not answer; what it said stands above.")
