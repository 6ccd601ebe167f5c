from __future__ import annotations

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from chemistry.models import Batch, FigureName, Signal, Standing, Unit, WayOfUse
from darkroom.models import Member
from tests.factories.chemistry import (
    FigureFactory,
    HazardFactory,
    IngredientFactory,
    reused_way,
)

LIST = reverse("chemistry:mix")
HTMX = {"HX-Request": "true", "HX-Target": "mix-sum"}


@pytest.fixture
def way(db: None) -> WayOfUse:
    """A fixer mixed 1+4 that keeps for 30 days in a full bottle."""
    way = reused_way(mix_n=4)
    FigureFactory(way=way, name=FigureName.KEEPING_FULL, value=30, unit="days")
    return way


@pytest.fixture
def url(way: WayOfUse) -> str:
    return reverse("chemistry:mix-recipe", args=[way.version.recipe.code])


FIGURES = {"way": "reused", "volume_ml": "2000", "storage": "full"}


def test_mix_lists_what_can_be_mixed(ben_client: Client, way: WayOfUse) -> None:
    page = ben_client.get(LIST)

    assert page.status_code == 200
    assert reverse("chemistry:mix-recipe", args=[way.version.recipe.code]) in page.content.decode()


def test_mix_of_an_empty_house_says_what_to_do(ben_client: Client) -> None:
    assert "No recipe in this house yet" in ben_client.get(LIST).content.decode()


@pytest.mark.parametrize("who", ["ada_client", "aud_client"])
def test_mix_is_kept_from_others(who: str, url: str, request: pytest.FixtureRequest) -> None:
    client = request.getfixturevalue(who)
    answers = [client.get(LIST), client.get(url), client.post(url, FIGURES)]

    assert [answer.status_code for answer in answers] == [403, 403, 403]
    assert not Batch.objects.exists()


def test_mix_knows_only_its_methods(ben_client: Client, url: str) -> None:
    assert ben_client.post(LIST).status_code == 405
    assert ben_client.put(url).status_code == 405


def test_mix_of_an_unknown_recipe_is_not_found(ben_client: Client) -> None:
    assert ben_client.get(reverse("chemistry:mix-recipe", args=["no-such"])).status_code == 404


def test_mix_shows_cautions_before_amounts(ben_client: Client, way: WayOfUse, url: str) -> None:
    way.version.cautions = "Gives off vapour."
    way.version.save()
    text = ben_client.get(url, FIGURES).content.decode()

    assert text.index("Gives off vapour.") < text.index("The amounts")
    assert text.index("safety data sheet") < text.index("The amounts")


def test_mix_gives_hazards_before_amounts(ben_client: Client, way: WayOfUse, url: str) -> None:
    HazardFactory(version=way.version, signal=Signal.DANGER, statements=["H314"])
    text = ben_client.get(url, FIGURES).content.decode()

    assert text.index("<b>Danger</b>") < text.index("H314") < text.index("The amounts")


def test_mix_weighs_for_the_volume_and_for_no_more_than_the_concentrate(
    ben_client: Client, way: WayOfUse, url: str
) -> None:
    IngredientFactory(version=way.version, name="Thiosulfate", amount=800)
    diluted = ben_client.get(url, FIGURES, headers=HTMX)
    WayOfUse.objects.update(mix_n=None)
    whole = ben_client.get(url, FIGURES, headers=HTMX)

    amounts = [answer.context["now"][0].lines[0].amount for answer in (diluted, whole)]
    assert amounts == [320, 1600]
    assert "<b>320</b>" in diluted.content.decode()


def test_mix_puts_solutions_together_and_gives_a_litre_of_each_beforehand(
    ben_client: Client, way: WayOfUse, url: str
) -> None:
    WayOfUse.objects.update(mix_n=None)
    for order, (name, parts) in enumerate({"Solution A": 1, "Water": 9}.items()):
        IngredientFactory(
            version=way.version, order=order, part="Mix", name=name, amount=parts, unit=Unit.PARTS
        )
    IngredientFactory(version=way.version, order=9, part="Solution A", name="Salt", amount=50)
    context = ben_client.get(url, FIGURES, headers=HTMX).context

    assert [line.amount for line in context["now"][0].lines] == [200, 1800]
    assert [(one.title, one.lines[0].amount) for one in context["beforehand"]] == [
        ("Solution A", 50)
    ]


def test_mix_waits_for_the_amounts_that_are_missing(
    ben_client: Client, way: WayOfUse, url: str
) -> None:
    IngredientFactory(version=way.version, name="Hydroxide", amount=None)
    listed, page = ben_client.get(LIST), ben_client.post(url, FIGURES)

    assert "Enter the figures first" in listed.content.decode()
    assert "Nothing certain is known of: how much hydroxide" in page.content.decode()
    assert "form" not in page.context
    assert not Batch.objects.exists()


def test_mix_works_the_dilution_out_as_it_is_typed(ben_client: Client, url: str) -> None:
    fragment = ben_client.get(url, FIGURES, headers=HTMX)
    text = fragment.content.decode()

    assert fragment.status_code == 200
    assert text.strip().startswith("<section")
    assert "<html" not in text
    assert "<b>400</b>" in text
    assert "<b>1\u00a0600</b>" in text


def test_mix_works_the_dilution_out_without_javascript(ben_client: Client, url: str) -> None:
    page = ben_client.post(url, FIGURES | {"work_out": "1", "storage": "part"})
    form = page.context["form"]

    assert page.status_code == 200
    assert "<html" in page.content.decode()
    assert "<b>400</b>" in page.content.decode()
    assert (form["volume_ml"].value(), form["storage"].value()) == ("2000", "part")
    assert not Batch.objects.exists()


@pytest.mark.parametrize("volume", ["0", "-1", "two", "1,200"])
def test_mix_says_in_the_preview_what_is_no_volume(
    ben_client: Client, url: str, volume: str
) -> None:
    fragment = ben_client.get(url, FIGURES | {"volume_ml": volume}, headers=HTMX)

    assert fragment.status_code == 422
    assert 'class="errors"' in fragment.content.decode()


def test_mix_makes_a_bottle_and_says_so(ben_client: Client, ben: Member, url: str, send, told):
    answer = send(ben_client, url, **FIGURES)

    batch = Batch.objects.get()
    assert (answer.status_code, answer["Location"]) == (
        303,
        reverse("sessions:batch", args=["F-1"]),
    )
    assert (batch.full_ul, batch.mixed_by, f"{batch.mixed_at:%H:%M}") == (2_000_000, ben, "17:00")
    assert told(answer) == ["F-1 is mixed: 2 000 mL, good until 1 April 2026."]


def test_mix_can_be_private(ben_client: Client, ada: Member, url: str, send) -> None:
    send(ben_client, url, **FIGURES, owner=ada.pk)

    assert Batch.objects.get().owner == ada


def test_mix_sent_twice_is_mixed_once(ben_client: Client, url: str, send) -> None:
    key = str(uuid4())
    answers = [send(ben_client, url, **FIGURES, key=key) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert Batch.objects.count() == 1


def test_mix_sent_again_with_other_figures_is_asked_about(ben_client: Client, url: str, send):
    key = str(uuid4())
    send(ben_client, url, **FIGURES, key=key)
    answer = send(ben_client, url, **FIGURES | {"volume_ml": "1500"}, key=key)

    text = answer.content.decode()
    assert answer.status_code == 409
    assert 'value="1500"' in text
    assert "already sent" in text
    assert key not in text
    assert Batch.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "written"),
    [
        ("volume_ml", "0"),
        ("volume_ml", "a lot"),
        ("way", "to_draw"),
        ("storage", "bucket"),
        ("happened_at", "2026-03-03 10:00"),
        ("happened_at", "yesterday"),
        ("owner", "999999"),
    ],
)
def test_mix_refuses_beside_the_field_and_keeps_what_was_typed(
    ben_client: Client, url: str, field: str, written: str, send
) -> None:
    answer = send(ben_client, url, **FIGURES | {"happened_at": "2026-03-02 16:59", field: written})

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"][field].value() == written
    assert not Batch.objects.exists()


def test_mix_waits_for_a_figure_that_is_missing(ben_client: Client, way: WayOfUse, url: str, send):
    way.figures.filter(name=FigureName.CAPACITY).update(
        value=None, standing=Standing.REMEMBERED_LOW
    )
    page, answer = ben_client.get(url), send(ben_client, url, **FIGURES)

    recipe = way.version.recipe.code
    assert reverse("chemistry:recipe-figures", args=[recipe]) in page.content.decode()
    assert "capacity" in page.content.decode().lower()
    assert "<form" not in body(page)
    assert answer.status_code == 200
    assert not Batch.objects.exists()


def body(page) -> str:
    """The page below its head, where only its own forms stand."""
    return page.content.decode().split("<main")[1].split("</main")[0]


@pytest.mark.parametrize("recipes", [3, 30])
def test_mix_asks_the_database_the_same_for_many(
    ben_client: Client, recipes: int, django_assert_num_queries
) -> None:
    for _ in range(recipes):
        reused_way()
    ben_client.get(LIST)

    with django_assert_num_queries(8):
        ben_client.get(LIST)
