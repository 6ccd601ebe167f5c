"""Pouring into a container what does not go with what is in it."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from chemistry.discarding import pour_out
from chemistry.models import Account, Batch, RecipeVersion, WasteContainer
from darkroom.models import Member
from tests.factories.chemistry import mixed_batch, opened_container, reused_way
from tests.factories.darkroom import NOW

PLACE = reverse("chemistry:waste-place")
ALKALINE_FIXER = ("SULFITE_THIOSULFATE", "AMMONIUM")


def bottle(*classes: str) -> Batch:
    way = reused_way()
    RecipeVersion.objects.filter(pk=way.version_id).update(classes=list(classes))
    return Batch.objects.get(pk=mixed_batch(way).pk)


@pytest.fixture
def sour(ben: Member) -> WasteContainer:
    """A container with acid fixer in it."""
    can = opened_container(code="W-1")
    fixer = bottle("SULFITE_THIOSULFATE", "ACID")
    pour_out(batch=fixer, container=can, happened_at=NOW, key=uuid4(), by=ben, at=NOW)
    return can


def pour_url(batch: Batch) -> str:
    return reverse("chemistry:batch-pour", args=[batch.code])


def text_of(response) -> str:
    return response.content.decode().replace("\u00a0", " ")


def test_pour_says_nothing_where_nothing_is_wrong(ben_client: Client, sour: WasteContainer) -> None:
    answer = ben_client.get(pour_url(bottle("SULFITE_THIOSULFATE", "ACID")))

    assert list(answer.context["cares"]) == []
    assert "is_accepted" not in answer.context["form"].fields
    assert answer.context["form"]["container"].initial == "W-1"


def test_pour_says_beforehand_which_container_must_never_take_it(
    ben_client: Client, sour: WasteContainer
) -> None:
    opened_container(code="W-2")
    answer = ben_client.get(pour_url(bottle("SULFIDE")))

    codes = [code for code, _ in answer.context["form"].fields["container"].choices]
    assert codes == ["W-2", "W-1", ""]
    assert answer.context["form"]["container"].initial == "W-2"
    assert "never: hydrogen sulfide" in text_of(answer)
    assert "Acid, even that of an acid fixer" in text_of(answer)
    assert "ABC der Röntgentechnik, p. 341, read in the source" in text_of(answer)
    assert "is_accepted" not in answer.context["form"].fields


def test_pour_of_what_must_never_meet_is_refused_beside_the_container(
    ben_client: Client, sour: WasteContainer, send
) -> None:
    toner = bottle("SULFIDE")
    answer = send(ben_client, pour_url(toner), container="W-1", how_much="all", is_accepted="on")

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == ["container"]
    assert "frees hydrogen sulfide" in answer.context["form"].errors["container"][0]
    assert answer.context["form"]["container"].value() == "W-1"
    assert Account.objects.get(batch=toner).balance == 1_000_000


def test_pour_never_chooses_a_container_that_is_warned_of(
    ben_client: Client, sour: WasteContainer
) -> None:
    answer = ben_client.get(pour_url(bottle(*ALKALINE_FIXER)))

    assert answer.context["form"]["container"].initial == ""
    assert "gives off: sulfur dioxide" in text_of(answer)


def test_pour_of_what_is_warned_of_asks_for_a_yes_and_then_does_it(
    ben_client: Client, sour: WasteContainer, send
) -> None:
    batch = bottle(*ALKALINE_FIXER)
    sent = {"container": "W-1", "how_much": "all"}
    asked = send(ben_client, pour_url(batch), **sent)
    done = send(ben_client, pour_url(batch), **sent, is_accepted="on")

    assert (asked.status_code, list(asked.context["form"].errors)) == (422, ["is_accepted"])
    assert 'name="is_accepted"' in text_of(asked)
    assert done.status_code == 303
    assert Account.objects.get(container=sour).balance == 2_000_000


@pytest.mark.parametrize(("yes", "status"), [({}, 422), ({"is_accepted": "on"}, 303)])
def test_place_asks_for_a_yes_as_well(
    ben_client: Client, ben: Member, sour: WasteContainer, send, yes: dict[str, str], status: int
) -> None:
    batch = bottle(*ALKALINE_FIXER)
    pour_out(batch=batch, container=None, happened_at=NOW, key=uuid4(), by=ben, at=NOW)
    shown = ben_client.get(reverse("chemistry:waste"))
    answer = send(ben_client, PLACE, stream="fixer", container="W-1", volume_ml="500", **yes)

    assert "should not take this" in text_of(shown)
    assert answer.status_code == status
    assert Account.objects.get(container=sour).balance == (1_500_000 if yes else 1_000_000)


@pytest.mark.parametrize("cans", [1, 8])
def test_pour_asks_the_database_the_same_for_many(
    ben_client: Client, ben: Member, cans: int, django_assert_max_num_queries
) -> None:
    for _ in range(cans):
        can, fixer = opened_container(), bottle("SULFITE_THIOSULFATE", "ACID")
        pour_out(batch=fixer, container=can, happened_at=NOW, key=uuid4(), by=ben, at=NOW)
    address = pour_url(bottle(*ALKALINE_FIXER))
    ben_client.get(address)

    with django_assert_max_num_queries(14):
        ben_client.get(address)
