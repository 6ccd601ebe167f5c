"""Recipes, processes and films; bottles and containers come by the real operations.

The figures are round numbers for tests and claim nothing about any real solution.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from uuid import uuid4

import factory

from chemistry.mixing import mix_batch
from chemistry.models import (
    Batch,
    Figure,
    FigureName,
    Film,
    Form,
    Hazard,
    Ingredient,
    Process,
    ProcessStep,
    Protection,
    Recipe,
    RecipeVersion,
    Role,
    Signal,
    Standing,
    Stream,
    TimePoint,
    TimeRow,
    Unit,
    WasteContainer,
    Way,
    WayOfUse,
)
from chemistry.models.batches import Storage
from chemistry.units import UL_PER_ML
from chemistry.waste import open_container
from darkroom.models import Agitation, Material, Member
from tests.factories.darkroom import NOW, StewardFactory

STREAM_OF_ROLE = {
    Role.DEVELOPER: Stream.DEVELOPER,
    Role.REPLENISHER: Stream.DEVELOPER,
    Role.STOP: Stream.STOP,
    Role.FIXER: Stream.FIXER,
    Role.WASH_AID: Stream.WASH_AID,
}
LETTER_OF_ROLE = {
    Role.DEVELOPER: "D",
    Role.REPLENISHER: "R",
    Role.STOP: "S",
    Role.FIXER: "F",
    Role.WASH_AID: "H",
}
TESTED = "Invented for a test."


class RecipeFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Recipe

    code = factory.Sequence(lambda n: f"recipe-{n}")
    name = factory.Sequence(lambda n: f"Recipe {n}")
    role = Role.FIXER
    letter = factory.LazyAttribute(lambda recipe: LETTER_OF_ROLE[Role(recipe.role)])


class RecipeVersionFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = RecipeVersion

    recipe = factory.SubFactory(RecipeFactory)
    number = 1
    contents = "One part of concentrate and four of water."
    stream = factory.LazyAttribute(lambda version: STREAM_OF_ROLE[Role(version.recipe.role)])


class IngredientFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Ingredient

    version = factory.SubFactory(RecipeVersionFactory)
    order = factory.Sequence(lambda n: n)
    name = factory.Sequence(lambda n: f"Powder {n}")
    amount = Decimal(10)
    unit = Unit.GRAM
    source = TESTED
    standing = Standing.HOUSE


class HazardFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Hazard

    version = factory.SubFactory(RecipeVersionFactory)
    form = Form.WORKING
    signal = Signal.NONE
    protection = (Protection.GOGGLES, Protection.GLOVES)
    source = TESTED
    standing = Standing.HOUSE


class WayOfUseFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = WayOfUse

    version = factory.SubFactory(RecipeVersionFactory)
    way = Way.REUSED


class FigureFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Figure

    way = factory.SubFactory(WayOfUseFactory)
    name = FigureName.CAPACITY
    value = Decimal(20)
    unit = "AU/L"
    source = TESTED
    standing = Standing.HOUSE


class ProcessFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Process

    code = factory.Sequence(lambda n: f"process-{n}")
    name = "Black-and-white negative"
    source = TESTED
    standing = Standing.HOUSE


class ProcessStepFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = ProcessStep

    process = factory.SubFactory(ProcessFactory)
    order = factory.Sequence(lambda n: n)
    name = "Fix"
    role = Role.FIXER
    minutes = Decimal(5)
    temp_c = Decimal(20)
    source = TESTED
    standing = Standing.HOUSE


class FilmFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Film

    name = factory.Sequence(lambda n: f"Film {n}")
    material = Material.FILM
    speed = 100
    process = factory.SubFactory(ProcessFactory)


class TimeRowFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = TimeRow

    film = factory.SubFactory(FilmFactory)
    developer = factory.SubFactory(RecipeFactory, role=Role.DEVELOPER)
    dilution_n = Decimal(0)
    index = 100
    agitation = Agitation.INVERSION
    source = TESTED
    standing = Standing.HOUSE


class TimePointFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = TimePoint

    row = factory.SubFactory(TimeRowFactory)
    temp_c = Decimal(20)
    minutes = Decimal(8)


def reused_way(
    role: Role = Role.FIXER, *, au_per_l: Decimal | int = 20, mix_n: Decimal | int = 4
) -> WayOfUse:
    """A solution that is poured back, good for so much film in a litre."""
    way = WayOfUseFactory(version__recipe__role=role, mix_n=Decimal(mix_n))
    FigureFactory(way=way, material=Material.FILM, value=au_per_l)
    return way


def replenished_way(
    *,
    ml_per_au: Decimal | int = 70,
    arrears_au_per_l: Decimal | int = 2,
    turnover: Decimal | int = 1,
    area_au_per_l: Decimal | int = 30,
) -> WayOfUse:
    """A developer that is topped up, with limits on what it may owe and for how long it lasts."""
    way = WayOfUseFactory(version__recipe__role=Role.DEVELOPER, way=Way.REPLENISHED)
    figures = {
        FigureName.REPLENISH: (ml_per_au, "mL/AU"),
        FigureName.ARREARS_LIMIT: (arrears_au_per_l, "AU/L"),
        FigureName.TURNOVER_LIMIT: (turnover, "tank volumes"),
        FigureName.AREA_LIMIT: (area_au_per_l, "AU/L"),
    }
    for name, (value, unit) in figures.items():
        FigureFactory(way=way, name=name, value=value, unit=unit)
    return way


def stock_way(*, draw_n: Decimal | int = 50) -> WayOfUse:
    """A developer whose stock is drawn and diluted 1+n for one load."""
    return WayOfUseFactory(
        version__recipe__role=Role.DEVELOPER, way=Way.TO_DRAW, draw_n=Decimal(draw_n)
    )


def mixed_batch(
    way: WayOfUse | None = None,
    *,
    volume_ml: int = 1000,
    storage: Storage = Storage.FULL,
    owner: Member | None = None,
    happened_at: datetime | None = None,
    by: Member | None = None,
    at: datetime = NOW - timedelta(days=1),
) -> Batch:
    """A bottle as a steward mixes it, with its account and its volume."""
    return mix_batch(
        way=way or reused_way(),
        volume_ul=volume_ml * UL_PER_ML,
        storage=storage,
        owner=owner,
        happened_at=happened_at or at,
        key=uuid4(),
        by=by or StewardFactory(),
        at=at,
    )


def opened_container(
    stream: Stream = Stream.FIXER,
    *,
    capacity_ml: int = 10_000,
    fill_limit_pct: int = 90,
    code: str | None = None,
    by: Member | None = None,
    at: datetime = NOW - timedelta(days=1),
) -> WasteContainer:
    """An empty container as a steward opens it."""
    return open_container(
        code=code or f"W-{WasteContainer.objects.count() + 1}",
        stream=stream,
        capacity_ul=capacity_ml * UL_PER_ML,
        fill_limit_pct=fill_limit_pct,
        happened_at=at,
        key=uuid4(),
        by=by or StewardFactory(),
        at=at,
    )
