"""Whatever is sent, a page answers with a page, never with a failure of its own."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from tests.factories.chemistry import mixed_batch, opened_container, replenished_way, stock_way

NASTY = ["\x00", "x" * 5000, "9" * 5000, "-1", "1e999", "NaN", "' OR 1=1 --", "😀", "[]"]
LOOKED_UP = ("container", "containers", "source", "stream", "film", "owner", "page", "version")
FIELDS = (
    *LOOKED_UP,
    *("key", "way", "volume_ml", "storage", "happened_at", "which", "opened_at", "added_ml"),
    *("how_much", "sign", "words", "reason", "code", "capacity_ml", "fill_limit_pct", "carrier"),
    *("document", "measured-W-1", "index", "dilution_n", "agitation", "points", "note", "since"),
    *("until", "up_to", "part", "reused-capacity"),
)


@pytest.fixture
def addresses(db: None) -> list[str]:
    bath, drum = mixed_batch(replenished_way()), opened_container(code="W-1")
    recipe = stock_way().version.recipe.code
    named = {
        bath.code: ("batch-replenish", "batch-pour", "batch-stop", "batch-release"),
        drum.code: ("container", "container-hand-over"),
        recipe: ("mix-recipe", "recipe", "recipe-figures", "recipe-times"),
    }
    plain = ("mix", "waste", "container-open", "waste-place", "recipes")
    audits = ("audit", "audit-entries", "audit-csv")
    return [reverse(f"chemistry:{name}") for name in (*plain, *audits)] + [
        reverse(f"chemistry:{name}", args=[code]) for code, names in named.items() for name in names
    ]


@pytest.mark.parametrize("nasty", NASTY)
def test_no_page_fails_on_what_is_sent(
    ben_client: Client, addresses: list[str], nasty: str
) -> None:
    sent = dict.fromkeys(FIELDS, nasty)
    asked = {name: value[:2000] for name, value in sent.items()}
    statuses = {
        address: (ben_client.get(address, asked).status_code,
                  ben_client.post(address, sent).status_code)
        for address in addresses
    }  # fmt: skip

    assert {code for pair in statuses.values() for code in pair} <= {200, 303, 404, 405, 409, 422}


@pytest.mark.parametrize("one", LOOKED_UP)
def test_no_page_fails_on_one_field_among_good_ones(
    ben_client: Client, addresses: list[str], one: str
) -> None:
    good = {"stream": "fixer", "container": "W-1", "containers": "W-1", "volume_ml": "10"}
    statuses = [
        answer.status_code
        for address in addresses
        for answer in (
            ben_client.get(address, good | {one: "\x00"}),
            ben_client.post(address, good | {one: "\x00"}),
        )
    ]

    assert set(statuses) <= {200, 303, 404, 405, 422}


@pytest.mark.parametrize(
    "path",
    [
        "/waste/%00/",
        "/waste/%00/hand-over/",
        "/shelf/%00/pour/",
        "/shelf/%00/stop/",
        "/shelf/" + "x" * 3000 + "/release/",
        "/waste/gone/99999999999999999999999/",
        "/recipes/" + "x" * 3000 + "/",
    ],
)
def test_a_guessed_address_is_not_found(ben_client: Client, path: str) -> None:
    assert ben_client.get(path).status_code == 404


def test_a_huge_text_is_refused_beside_its_field(ben_client: Client) -> None:
    fixer = mixed_batch()
    address = reverse("chemistry:batch-stop", args=[fixer.code])

    answer = ben_client.post(address, {"words": "x" * 10_000_000})

    assert answer.status_code == 422
    assert "at most 240 characters" in str(answer.context["form"].errors["words"])
