from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.http import HttpResponse
from django.test import Client

from darkroom.models import HouseRules
from tests.factories.darkroom import NOW

Send = Callable[..., HttpResponse]


@pytest.fixture(autouse=True)
def evening() -> Iterator[None]:
    """The clock of the views stands at the moment the factories count from."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def house(db: None) -> HouseRules:
    HouseRules.objects.all().delete()
    return HouseRules.objects.create(pk=1, zone="Europe/Lisbon")


@pytest.fixture
def send() -> Send:
    """Posts a form as a browser without JavaScript does: with its key, and when it happened."""

    def post(client: Client, url: str, **fields: Any) -> HttpResponse:
        usual = {"key": str(uuid4()), "happened_at": "2026-03-02 17:00"}
        return client.post(url, usual | fields)

    return post


@pytest.fixture
def told() -> Callable[[HttpResponse], list[str]]:
    """The sentences that greet whoever follows the answer."""

    def read(response: HttpResponse) -> list[str]:
        return [str(message).replace("\u00a0", " ") for message in response.wsgi_request._messages]

    return read


def page_text(response: HttpResponse) -> str:
    return response.content.decode().replace("\u00a0", " ")
