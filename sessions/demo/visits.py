"""What the members do: book, move, cancel, come and develop, record, forget, put right."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial

from chemistry.models import Film, Role
from darkroom.errors import DomainError
from darkroom.models import Format, Member
from sessions.asking import Ask
from sessions.booking import book_session
from sessions.cancelling import cancel_session
from sessions.demo.evenings import Evenings
from sessions.demo.habits import HABITS, Habit
from sessions.demo.world import World
from sessions.means import developer_key, latest_ways
from sessions.models import Session
from sessions.moving import move_session
from sessions.offers import free_starts, plan_for
from sessions.planning.plan import Plan
from sessions.planning.timeline import VESSEL, WET, Span

FRIDAY = 4
CHOICES = 8
HOURS_AHEAD = (20, 30, 44, 52, 70, 76, 95, 120, 150)


@dataclass
class Visits:
    """The members' side of the house."""

    world: World
    evenings: Evenings

    def plan_day(self, day: date) -> None:
        """How often somebody opens the booking page that day, and when."""
        world = self.world
        wishes = world.rng.choice((0, 1, 1, 1) if day.weekday() < FRIDAY else (1, 1, 2))
        for _ in range(wishes):
            member = world.rng.choice(world.members)
            at = world.moment(day, world.rng.randint(9, 20), world.rng.randint(0, 59))
            world.plan(at, partial(self.wish, member))

    def wish(self, member: Member, at: datetime) -> None:
        """Book something usual a few days ahead, in the evening or at the weekend."""
        rng = self.world.rng
        habit = rng.choices(HABITS, [habit.weight for habit in HABITS])[0]
        not_before = at + timedelta(hours=rng.choice(HOURS_AHEAD))
        self.book(member, habit, at, not_before=not_before)

    def book(self, member: Member, habit: Habit, at: datetime, *, not_before: datetime) -> None:
        """In the first vessel that serves; nothing where the house has none or refuses."""
        for vessel in habit.vessels:
            try:
                plan = plan_for(self._ask(member, habit), at=at, vessel=vessel)
                starts_at = self._start(plan, at, not_before)
                visit = book_session(
                    plan=plan, starts_at=starts_at, key=self.world.key(), by=member, at=at
                )
            except (DomainError, LookupError):
                self.world.done["refused"] += 1
                continue
            self.world.done["booked"] += 1
            self._expect(visit, plan)
            self._perhaps_otherwise(visit, plan, at)
            return

    def _ask(self, member: Member, habit: Habit) -> Ask:
        ways = {developer_key(way): way for way in latest_ways({Role.DEVELOPER})}
        return Ask(
            member=member,
            film=Film.objects.get(name=habit.film),
            index=habit.index,
            format=Format.objects.get(name=habit.format),
            sheets=self.world.rng.randint(*habit.sheets),
            developer=ways[habit.developer],
        )

    def _start(self, plan: Plan, at: datetime, not_before: datetime) -> datetime:
        """One of the first free starts from then on, at an hour when people come.

        Raises: LookupError.
        """
        starts = [start for start in free_starts(plan, at=at) if start >= not_before]
        if not starts:
            raise LookupError("nothing is free")
        usual = [start for start in starts if self._is_usual(start)]
        return self.world.rng.choice((usual or starts)[:CHOICES])

    def _is_usual(self, start: datetime) -> bool:
        local = start.astimezone(self.world.rules.tz)
        return local.hour >= (17 if local.weekday() < 5 else 10)

    # What becomes of it

    def _expect(self, visit: Session, plan: Plan) -> None:
        """A few sessions are forgotten until the next day; the others are recorded load by load."""
        late = timedelta(hours=20) if self.world.rng.random() < 0.04 else timedelta(0)
        starts_at = visit.starts_at
        for wet in wet_spans(plan):
            poured_at = starts_at + timedelta(seconds=wet.starts_s)
            self.world.plan(
                starts_at + timedelta(seconds=wet.ends_s) + late,
                partial(self.evenings.develop, visit, starts_at, poured_at),
            )

    def _perhaps_otherwise(self, visit: Session, plan: Plan, at: datetime) -> None:
        """Now and then somebody moves a session or gives it up, half way to it."""
        then = at + (visit.starts_at - at) / 2
        dice = self.world.rng.random()
        if dice < 0.05:
            self.world.plan(then, partial(self._cancel, visit))
        elif dice < 0.11:
            self.world.plan(then, partial(self._move, visit, plan))

    def _cancel(self, visit: Session, at: datetime) -> None:
        cancel_session(visit=visit, key=self.world.key(), by=visit.member, at=at)
        self.world.done["cancelled"] += 1

    def _move(self, visit: Session, plan: Plan, at: datetime) -> None:
        try:
            starts_at = self._start(plan, at, visit.starts_at + timedelta(hours=20))
            moved = move_session(
                visit=visit, starts_at=starts_at, key=self.world.key(), by=visit.member, at=at
            )
        except (DomainError, LookupError):
            self.world.done["refused"] += 1
            return
        self.world.done["moved"] += 1
        self._expect(moved, plan)


def wet_spans(plan: Plan) -> list[Span]:
    """From first pour to last drop, load by load."""
    vessels = (need for need in plan.timeline.needs if need.kind == VESSEL)
    wets = [span for need in vessels for span in need.spans if span.phase == WET]
    return sorted(wets, key=lambda span: span.starts_s)
