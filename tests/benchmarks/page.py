"""The busiest pages against a bare Django view, under one and the same gunicorn, over the demo."""

from __future__ import annotations

import http.client
import os
import subprocess
import sys
from collections.abc import Callable

from django.conf import settings
from django.core.management import call_command
from django.test import Client
from django.utils import timezone

from darkroom.models import Member, Role
from darkroom.serving.port import address_of, listen
from sessions.demo.loading import load_demo
from tests.benchmarks.pairs import ratio
from tests.benchmarks.stage import empty_house

PAGES = ("/", "/shelf/", "/plan/?sheets=6&format=1&film=1", "/audit/")
REQUESTS = 10
PAIRS = 9


def main() -> None:
    with empty_house():
        load_demo(now=timezone.now())
        call_command("collectstatic", verbosity=0, interactive=False)
        steward = Member.objects.filter(role=Role.STEWARD).earliest("pk")
        listener = listen(0)
        server = subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "darkroom.wsgi:application"]
            + ["--bind", f"fd://{listener.fileno()}", "--workers", "2"]
            + ["--worker-class", "gthread", "--threads", "4", "--log-level", "warning"]
            + ["--no-control-socket"],
            pass_fds=(listener.fileno(),),
            env=os.environ,
        )
        try:
            compare(address_of(listener), cookie_of(steward))
        finally:
            server.terminate()
            server.wait()


def cookie_of(member: Member) -> str:
    client = Client()
    client.force_login(member)
    return f"{settings.SESSION_COOKIE_NAME}={client.cookies[settings.SESSION_COOKIE_NAME].value}"


def compare(address: str, cookie: str) -> None:
    host = address.removeprefix("http://").rstrip("/")
    for path in PAGES:
        found = ratio(asking(host, path, cookie), asking(host, "/bare/", cookie), pairs=PAIRS)
        print(f"{path:<36} over a bare view, {REQUESTS} requests each: {found}")


def asking(host: str, path: str, cookie: str) -> Callable[[], None]:
    """Ask for the page, one request after another over one connection."""

    def ask() -> None:
        line = http.client.HTTPConnection(host)
        for _ in range(REQUESTS):
            line.request("GET", path, headers={"Cookie": cookie, "Host": host})
            answer = line.getresponse()
            answer.read()
            if answer.status != 200:
                raise SystemExit(f"{path} answered {answer.status}")
        line.close()

    return ask
