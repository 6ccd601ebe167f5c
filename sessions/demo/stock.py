"""What the house keeps on its shelf, and the figures and times that it found for itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from chemistry.adapting import FigureKey, adapt_recipe
from chemistry.calibrating import add_time_row
from chemistry.mixing import mix_batch
from chemistry.models import Batch, Film, Recipe, Stream, WasteContainer
from chemistry.models.batches import Storage
from chemistry.science.wear import UL_PER_L
from chemistry.waste import open_container
from darkroom.models import Agitation, Member
from sessions.demo.world import World

OWN_FIGURES: Mapping[str, Mapping[FigureKey, str]] = {
    "d-76": {
        ("reused", "capacity", "film"): "8",
        ("reused", "capacity", "tabular"): "8",
        ("reused", "reuse_step_area", ""): "2",
        ("reused", "reuse_step_pct", ""): "10",
        ("reused", "usable_after", ""): "12",
        ("to_draw", "usable_after", ""): "12",
        ("replenished", "arrears_limit", ""): "2",
        ("replenished", "keeping_tank", ""): "120",
    },
    "d-23": {
        ("replenished", "arrears_limit", ""): "3",
        ("replenished", "usable_after", ""): "12",
    },
    "xtol": {
        ("to_draw", "keeping_full", ""): "270",
        ("to_draw", "keeping_part", ""): "60",
    },
    "t-max-rs": {
        ("replenished", "arrears_limit", ""): "1.5",
        ("replenished", "turnover_limit", ""): "2",
        ("replenished", "keeping_tank", ""): "180",
    },
    "dd-x": {("to_draw", "min_stock", ""): "60", ("to_draw", "keeping_part", ""): "120"},
    "para-aminophenol": {("to_draw", "min_stock", ""): "10"},
    "wash-aid": {
        ("reused", "capacity", "film"): "12",
        ("reused", "capacity", "tabular"): "12",
        ("reused", "keeping_full", ""): "30",
    },
}
"""The steward's figures, by recipe. Invented, as the house is."""

OWN_TIMES: tuple[tuple[str, int, str, int, Agitation, Mapping[int, str]], ...] = (
    ("FP4 Plus", 125, "xtol", 1, Agitation.ROCKING, {20: "11", 22: "9.5", 24: "8.25"}),
    ("HP5 Plus", 400, "xtol", 1, Agitation.ROCKING, {20: "12", 22: "10.25", 24: "9"}),
    ("T-MAX 100", 100, "xtol", 1, Agitation.ROCKING, {20: "10", 22: "8.5", 24: "7.25"}),
    ("HP5 Plus", 400, "d-76", 0, Agitation.INVERSION, {20: "7.5", 22: "6.5", 24: "5.5"}),
    ("FP4 Plus", 125, "d-76", 0, Agitation.INVERSION, {20: "8.5", 22: "7.25", 24: "6.25"}),
    ("FP4 Plus", 125, "d-23", 0, Agitation.SHUFFLE, {20: "9", 22: "7.75", 24: "6.75"}),
    ("HP5 Plus", 400, "d-23", 0, Agitation.SHUFFLE, {20: "10", 22: "8.5", 24: "7.25"}),
)


@dataclass(frozen=True)
class Stocked:
    """A solution the house always has, and how much of it is mixed at a time."""

    recipe: str
    way: str
    litres: str
    storage: Storage


STOCK = (
    Stocked("d-76", "reused", "3", Storage.FULL),
    Stocked("xtol", "to_draw", "5", Storage.FULL),
    Stocked("t-max-rs", "replenished", "3", Storage.TANK),
    Stocked("d-23", "replenished", "4", Storage.TANK),
    Stocked("dk-25r", "to_draw", "1", Storage.FULL),
    Stocked("dd-x", "to_draw", "1", Storage.PART),
    Stocked("sb-5", "reused", "4", Storage.FULL),
    Stocked("rapid-fixer", "reused", "3", Storage.FULL),
    Stocked("wash-aid", "reused", "4", Storage.FULL),
)

CANS: Mapping[Stream, tuple[str, int]] = {
    Stream.DEVELOPER: ("DEV", 10),
    Stream.FIXER: ("FIX", 5),
    Stream.STOP: ("STOP", 5),
    Stream.WASH_AID: ("AID", 5),
}
"""By stream: how its containers are called, and how many litres they hold."""


def enter_own_figures(world: World, by: Member, at: datetime) -> None:
    for code, figures in OWN_FIGURES.items():
        adapt_recipe(
            version=Recipe.objects.get(code=code).latest(),
            figures={key: Decimal(value) for key, value in figures.items()},
            key=world.key(),
            by=by,
            at=at,
        )


def enter_own_times(world: World, by: Member, at: datetime) -> None:
    for film, index, developer, n, agitation, minutes in OWN_TIMES:
        add_time_row(
            film=Film.objects.get(name=film),
            developer=Recipe.objects.get(code=developer),
            dilution_n=Decimal(n),
            index=index,
            agitation=agitation,
            points={Decimal(c): Decimal(value) for c, value in minutes.items()},
            note="Step wedge, three runs in our own vessels",
            key=world.key(),
            by=by,
            at=at,
        )


def mix(
    world: World, stocked: Stocked, by: Member, at: datetime, *, owner: Member | None = None
) -> Batch:
    world.done["mixed"] += 1
    return mix_batch(
        way=Recipe.objects.get(code=stocked.recipe).latest().ways.get(way=stocked.way),
        volume_ul=int(Decimal(stocked.litres) * UL_PER_L),
        storage=stocked.storage,
        owner=owner,
        happened_at=at,
        key=world.key(),
        by=by,
        at=at,
    )


def open_can(world: World, stream: Stream, by: Member, at: datetime) -> WasteContainer:
    prefix, litres = CANS[stream]
    world.done[f"{prefix} opened"] += 1
    return open_container(
        code=f"{prefix}-{world.done[f'{prefix} opened']}",
        stream=stream,
        capacity_ul=litres * UL_PER_L,
        fill_limit_pct=world.rules.fill_limit_pct,
        happened_at=at,
        key=world.key(),
        by=by,
        at=at,
    )
