"""Which pages and buttons an induction opens."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from chemistry.models import Batch
from darkroom.models import Doing, Member
from tests.chemistry.views.conftest import page_text
from tests.factories.chemistry import (
    FigureFactory,
    WayOfUseFactory,
    mixed_batch,
    replenished_way,
)
from tests.factories.darkroom import NOW
from tests.factories.inductions import let


@pytest.fixture
def bath(db: None) -> Batch:
    return mixed_batch(replenished_way())


def pages(bath: Batch) -> dict[Doing, str]:
    return {
        Doing.MIX: reverse("chemistry:mix-recipe", args=[bath.way.version.recipe.code]),
        Doing.TOP_UP: reverse("chemistry:batch-replenish", args=[bath.code]),
        Doing.POUR_OUT: reverse("chemistry:batch-pour", args=[bath.code]),
    }


@pytest.mark.parametrize("doing", Doing)
def test_induction_opens_its_page_and_no_other(
    ada: Member, ada_client: Client, bath: Batch, doing: Doing
) -> None:
    let(ada, doing)

    statuses = {one: ada_client.get(url).status_code for one, url in pages(bath).items()}

    assert statuses == {one: 200 if one == doing else 403 for one in Doing}


@pytest.mark.parametrize("doing", Doing)
def test_expired_it_opens_nothing(
    ada: Member, ada_client: Client, bath: Batch, doing: Doing
) -> None:
    let(ada, doing, expires_at=NOW)

    url = pages(bath)[doing]

    assert [ada_client.get(url).status_code, ada_client.post(url).status_code] == [403, 403]


@pytest.mark.parametrize("who", ["ada", "cyd", "ben", "aud"])
def test_bottle_shows_the_buttons_of_what_its_reader_may_do(
    who: str, ada: Member, cyd: Member, ben: Member, aud: Member, bath: Batch, signed_in
) -> None:
    let(ada, Doing.TOP_UP)
    let(aud, Doing.TOP_UP)
    reader = {"ada": ada, "cyd": cyd, "ben": ben, "aud": aud}[who]
    expected = {"ada": {Doing.TOP_UP}, "ben": {Doing.TOP_UP, Doing.POUR_OUT}}.get(who, set())

    for page in (reverse("sessions:batch", args=[bath.code]), reverse("sessions:shelf")):
        text = signed_in(reader).get(page).content.decode()
        shown = {doing for doing in (Doing.TOP_UP, Doing.POUR_OUT) if pages(bath)[doing] in text}
        assert shown == expected


@pytest.mark.parametrize(("shown", "is_offered"), [(Doing.MIX, True), (Doing.TOP_UP, False)])
def test_mixing_is_offered_to_whom_it_is_open(
    ada: Member, ada_client: Client, bath: Batch, shown: Doing, is_offered: bool
) -> None:
    let(ada, shown)
    recipe = reverse("chemistry:recipe", args=[bath.way.version.recipe.code])

    for page in (reverse("sessions:shelf"), recipe, reverse("chemistry:recipes")):
        text = ada_client.get(page).content.decode()
        assert (f'href="{reverse("chemistry:mix")}' in text) == is_offered


def test_figures_stay_a_stewards_and_it_is_said(ada: Member, ada_client: Client) -> None:
    let(ada, Doing.MIX)
    way = WayOfUseFactory(way="reused")
    FigureFactory(way=way, value=None, standing="remembered-low")
    code = way.version.recipe.code
    figures = reverse("chemistry:recipe-figures", args=[code])

    for page in ("mix", "mix-recipe", "recipe"):
        url = reverse(f"chemistry:{page}", args=[] if page == "mix" else [code])
        assert figures not in ada_client.get(url).content.decode()
    assert "A steward enters it first" in page_text(
        ada_client.get(reverse("chemistry:mix-recipe", args=[code]))
    )


def test_member_mixes_for_the_house_or_for_themselves(
    ada: Member, cyd: Member, ada_client: Client, bath: Batch, send
) -> None:
    let(ada, Doing.MIX)
    url = pages(bath)[Doing.MIX]
    form = {"way": "replenished", "volume_ml": "500", "storage": "full"}

    offered = ada_client.get(url).context["form"].fields["owner"].queryset
    refused = send(ada_client, url, owner=cyd.pk, **form)
    done = send(ada_client, url, owner=ada.pk, **form)

    assert list(offered) == [ada]
    assert (refused.status_code, list(refused.context["form"].errors)) == (422, ["owner"])
    assert done.status_code == 303
    assert Batch.objects.get(owner=ada).mixed_by == ada


def test_member_pours_out_and_is_not_sent_to_open_a_container(
    ada: Member, ada_client: Client, send
) -> None:
    let(ada, Doing.POUR_OUT)
    bottle = mixed_batch()
    url = reverse("chemistry:batch-pour", args=[bottle.code])

    text = ada_client.get(url).content.decode()
    done = send(ada_client, url, container="", how_much="all")

    assert reverse("chemistry:container-open") not in text
    assert done.status_code == 303
    bottle.refresh_from_db()
    assert bottle.discarded_at is not None
