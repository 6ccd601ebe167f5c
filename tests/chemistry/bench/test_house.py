"""What the house lends to the sums: its rules, its rows, its bottles."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from chemistry.models import Batch, ProcessStep, TimeRow, Use
from chemistry.science.area import AU_MM2
from chemistry.wear_cache import refresh
from darkroom.models import HouseRules, Material, Member
from tests.chemistry.bench.conftest import Ask, complaints, page_text, shown, url
from tests.factories.chemistry import mixed_batch, replenished_way, reused_way, stock_way
from tests.factories.darkroom import NOW, FormatFactory

EMPTY = {"volume_ml": "", "capacity_au_per_l": "", "passed_au": ""}


@pytest.fixture
def warm_house(db: None) -> HouseRules:
    HouseRules.objects.all().delete()
    return HouseRules.objects.create(pk=1, room_c=Decimal("23.5"), carry_out_ml_per_au=12)


@pytest.mark.parametrize(
    ("slug", "field", "value"),
    [
        ("pour-in", "vessel_c", "23.5"),
        ("warm-up", "room_c", "23.5"),
        ("drift", "around_c", "23.5"),
        ("first-rinse", "carry_ml_per_au", "12"),
    ],
)
def test_house_figures_are_filled_in(
    ask: Ask, warm_house: HouseRules, slug: str, field: str, value: str
) -> None:
    assert f'name="{field}" value="{value}"' in page_text(ask(slug))


@pytest.mark.parametrize(
    ("written", "source"), [("12", "House rules"), ("20", "Entered on this page")]
)
def test_house_figure_says_whose_it_is(
    ask: Ask, warm_house: HouseRules, written: str, source: str
) -> None:
    figures = {"area_au": "1", "silver_g_per_l": "4", "rinse_ml": "1000"}
    used = ask("first-rinse", **figures, carry_ml_per_au=written).context["answer"].used

    assert used[0].source == source


def test_catalogue_rows_are_offered_by_film(ask: Ask, catalogue: None) -> None:
    text = page_text(ask("time"))

    assert text.count("<optgroup") == TimeRow.objects.values("film").distinct().count() > 1
    assert text.count("<option") == TimeRow.objects.count() + 1


def test_catalogue_row_answers_with_its_source_and_standing(ask: Ask, catalogue: None) -> None:
    row = TimeRow.objects.filter(standing="read").first()
    assert row is not None
    used = ask("time", kind="bw", row=row.pk, points="", temp_c="20").context["answer"].used

    assert (used[0].source, used[0].standing) == (row.source, "read in the source")


def test_catalogue_colour_step_is_held_to_its_tolerance(ask: Ask, catalogue: None) -> None:
    step = ProcessStep.objects.get(process__code="c-41", role="developer")
    course = {"step": step.pk, "start_c": "37.8", "tau_min": "40"}
    cold, tempered = (ask("colour-drift", **course, around_c=around) for around in ("20", "37.8"))

    assert shown(tempered) == ["holds", "37.80 °C", "0.00 °C"]
    assert shown(cold)[0] == "unusable"
    assert "no other time makes up" in cold.context["answer"].sentence
    assert cold.context["answer"].used[0].source == step.source


def _passed(batch: Batch, units: int, by: Member) -> None:
    """Film went through it, and the row was brought up to date."""
    Use.objects.create(
        batch=batch,
        material=Material.FILM,
        area_mm2=units * AU_MM2,
        happened_at=NOW,
        entered_at=NOW,
        by=by,
        operation=uuid4(),
    )
    refresh(batch)


@time_machine.travel(NOW, tick=False)
def test_bottle_of_the_house_tells_what_is_left(ask: Ask, ben: Member) -> None:
    FormatFactory()
    batch = mixed_batch(reused_way(au_per_l=20))
    _passed(batch, 5, ben)
    answer = ask("left", bottle=batch.code, material="film", **EMPTY)

    assert shown(answer) == ["60 sheets", "15 AU"]
    assert f'href="{reverse("sessions:batch", args=[batch.code])}"' in page_text(answer)
    assert "Capacity 20 AU/L" in page_text(answer)


@time_machine.travel(NOW, tick=False)
def test_bottle_that_is_spent_is_not_recommended(ask: Ask, ben: Member) -> None:
    FormatFactory()
    batch = mixed_batch(reused_way(au_per_l=20))
    _passed(batch, 20, ben)
    answer = ask("left", bottle=batch.code, material="film", **EMPTY).context["answer"]

    assert answer.is_refusal
    assert answer.sentence == f"Do not use {batch.code}: 100 % of its capacity is used."


@time_machine.travel(NOW, tick=False)
def test_replenished_bottle_counts_its_arrears(ask: Ask, ben: Member) -> None:
    FormatFactory()
    batch = mixed_batch(replenished_way(arrears_au_per_l=2), volume_ml=2000)
    _passed(batch, 1, ben)

    assert shown(ask("left", bottle=batch.code, material="film", **EMPTY)) == ["12 sheets", "3 AU"]


@time_machine.travel(NOW, tick=False)
def test_bottle_is_not_for_other_material(ask: Ask) -> None:
    batch = mixed_batch(reused_way())
    said = complaints(ask("left", bottle=batch.code, material="fb_paper", **EMPTY))

    assert said["material"].startswith(f"{batch.code} has no capacity for FB paper")


def test_stock_is_not_offered_as_a_bath(ask: Ask) -> None:
    batch = mixed_batch(stock_way())

    assert f'value="{batch.code}"' not in page_text(ask("left"))


def test_private_bottle_is_its_owners_alone(
    ada_client: Client, ben_client: Client, cyd_client: Client, ada: Member
) -> None:
    code = mixed_batch(owner=ada).code
    seen = [
        f'value="{code}"' in page_text(client.get(url("left")))
        for client in (ada_client, ben_client, cyd_client)
    ]
    asked = cyd_client.get(url("left"), {"bottle": code, "material": "film", **EMPTY})

    assert seen == [True, True, False]
    assert "bottle" in complaints(asked)
