"""Making the invented house: three months of it, then what stands on the shelf today."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import datetime, timedelta

from chemistry.catalogue.load import load_catalogue
from chemistry.models import Batch, Movement, Stream
from darkroom.errors import DomainError
from darkroom.models import Equipment, Member
from sessions.demo import place, stock
from sessions.demo.evenings import Evenings
from sessions.demo.inducting import Inducting
from sessions.demo.people import admit_people
from sessions.demo.present import Present
from sessions.demo.rounds import Rounds
from sessions.demo.visits import Visits
from sessions.demo.world import World
from sessions.models import Session

DAYS = 92
LAST_ROUND_DAYS = 3
"""Before today: since then nobody has gone round, so that there is something to do."""


class NotEmpty(DomainError):
    """Somebody lives here already."""

    code = "not_empty"


@dataclass(frozen=True)
class Made:
    """What the demo did, by kind."""

    done: Counter[str]


def load_demo(*, now: datetime, days: int = DAYS) -> Made:
    """The whole demo, up to ``now``, by the operations of the house in order.

    Raises: NotEmpty.
    """
    check_empty()
    load_catalogue()
    rules = place.open_house()
    place.furnish()
    world = World(rules, admit_people())
    rounds, evenings = Rounds(world), Evenings(world)
    visits = Visits(world, evenings)
    today = world.day_of(now)
    first = today - timedelta(days=days)
    world.plan(world.moment(first, 9), lambda at: _begin(world, at))
    Inducting(world, now).plan(days)
    for n in range(days + 1):
        day = first + timedelta(days=n)
        world.plan(world.moment(day, 7), rounds.watch)
        if n % 3 == 2 and n <= days - LAST_ROUND_DAYS:
            world.plan(world.moment(day, 12, 30), rounds.go_round)
        visits.plan_day(day)
    Present(world, rounds, visits, evenings).arrange(now)
    world.live_until(now)
    return Made(world.done)


def check_empty() -> None:
    """Raises: NotEmpty."""
    for model, what in (
        (Member, "people"),
        (Equipment, "equipment"),
        (Batch, "bottles"),
        (Session, "sessions"),
        (Movement, "ledger entries"),
    ):
        if model._default_manager.exists():
            raise NotEmpty(
                f"This database already holds {what}. The demo only ever goes into an empty one."
            )


def _begin(world: World, at: datetime) -> None:
    """The stewards set the house up on its first morning."""
    by = world.steward_on(world.day_of(at))
    stock.enter_own_figures(world, by, at)
    stock.enter_own_times(world, by, at)
    for stream in Stream:
        stock.open_can(world, stream, by, at)
    for stocked in stock.STOCK:
        stock.mix(world, stocked, by, at)
