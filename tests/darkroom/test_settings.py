"""What the environment turns on, each in a process of its own."""

from __future__ import annotations

import json

import pytest

from tests.folders import data_folder, manage

COOKIES = ("SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE")
TELL = """
import json
from django.conf import settings
names = ("SESSION_COOKIE_SECURE", "CSRF_COOKIE_SECURE", "SECURE_SSL_REDIRECT",
    "SECURE_HSTS_SECONDS", "ALLOWED_HOSTS", "DEBUG", "SECRET_KEY")
print(json.dumps({name: getattr(settings, name) for name in names}))
"""


def told(**environment: str) -> dict[str, object]:
    with data_folder() as folder:
        answer = manage(folder, "shell", "-v0", "-c", TELL, **environment)
        assert answer.returncode == 0, answer.stderr
        again = manage(folder, "shell", "-v0", "-c", TELL, **environment)
        assert again.stdout == answer.stdout
    found: dict[str, object] = json.loads(answer.stdout)
    return found


def test_nothing_set_is_plain_loopback() -> None:
    says = told()

    assert [says[name] for name in (*COOKIES, "SECURE_SSL_REDIRECT", "DEBUG")] == [False] * 4
    assert says["ALLOWED_HOSTS"] == ["127.0.0.1", "localhost", "[::1]"]
    assert len(str(says["SECRET_KEY"])) > 60


def test_origin_turns_on_what_a_public_house_needs() -> None:
    says = told(WETSIDE_ORIGIN="https://house.example", WETSIDE_SECRET_KEY="k" * 60)

    assert [says[name] for name in (*COOKIES, "SECURE_SSL_REDIRECT")] == [True] * 3
    assert says["SECURE_HSTS_SECONDS"] == 31_536_000
    assert says["ALLOWED_HOSTS"] == ["house.example", "127.0.0.1", "localhost", "[::1]"]
    assert says["SECRET_KEY"] == "k" * 60


def test_deployment_check_passes_with_an_origin() -> None:
    with data_folder() as folder:
        answer = manage(
            folder,
            "check",
            "--deploy",
            "--fail-level",
            "WARNING",
            WETSIDE_ORIGIN="https://house.example",
        )

    assert (answer.returncode, answer.stderr) == (0, "")


@pytest.mark.parametrize(
    "origin", ["http://house.example", "house.example", "https://", "https://house.example/x"]
)
def test_origin_that_is_none_is_said_so(origin: str) -> None:
    with data_folder() as folder:
        answer = manage(folder, "check", WETSIDE_ORIGIN=origin)

    assert answer.returncode == 1
    assert "WETSIDE_ORIGIN must be https://" in answer.stderr


@pytest.mark.parametrize(("status", "heard"), [(500, "ERROR django.request: Internal"), (404, "")])
def test_fault_is_said_in_the_terminal_and_a_wrong_address_is_not(status: int, heard: str) -> None:
    log = f"""
from django.http import HttpResponse
from django.utils.log import log_response
log_response("Internal", response=HttpResponse(status={status}))
"""
    with data_folder() as folder:
        answer = manage(folder, "shell", "-v0", "-c", log)

    assert heard in answer.stderr
    assert bool(answer.stderr) == bool(heard)
