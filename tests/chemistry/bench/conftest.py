from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from chemistry.bench.house import Bench
from chemistry.catalogue.load import load_catalogue
from darkroom.models import HouseRules, Member
from tests.factories.darkroom import NOW

Ask = Callable[..., HttpResponse]


def url(slug: str) -> str:
    return reverse("chemistry:bench-sum", args=[slug])


@pytest.fixture
def ask(ada_client: Client) -> Ask:
    """Asks a sum as a browser without JavaScript does: the figures stand in the address."""

    def get(slug: str, **figures: Any) -> HttpResponse:
        return ada_client.get(url(slug), figures)

    return get


@pytest.fixture
def bench(ada: Member) -> Bench:
    return Bench(ada, HouseRules.current(), NOW)


@pytest.fixture
def catalogue(db: None) -> None:
    load_catalogue()


def shown(response: HttpResponse) -> list[str]:
    """The numbers of the answer, each with its unit."""
    assert response.status_code == 200, response.context["form"].errors
    results = response.context["answer"].results
    return [f"{one.value} {one.unit}".strip().replace("\u00a0", " ") for one in results]


def complaints(response: HttpResponse) -> dict[str, str]:
    """What stands beside which field."""
    assert response.context["answer"] is None
    errors = response.context["form"].errors
    return {name: " ".join(said).replace("\u00a0", " ") for name, said in errors.items()}


def page_text(response: HttpResponse) -> str:
    return response.content.decode().replace("\u00a0", " ")
