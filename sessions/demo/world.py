"""The invented house as it is lived in: its people, its dice, and what is to happen when."""

from __future__ import annotations

import heapq
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime, time
from uuid import UUID

from darkroom.models import HouseRules, Member, Role

SEED = 4505
Happening = Callable[[datetime], None]


@dataclass
class World:
    """One timeline: everything that is to happen is done in order, each at its own moment."""

    rules: HouseRules
    people: dict[str, Member]
    rng: random.Random = field(default_factory=lambda: random.Random(SEED))  # noqa: S311
    done: Counter[str] = field(default_factory=Counter)
    _agenda: list[tuple[datetime, int, Happening]] = field(default_factory=list)
    _entries: int = 0

    @property
    def members(self) -> list[Member]:
        return [member for member in self.people.values() if member.role == Role.MEMBER]

    @property
    def stewards(self) -> list[Member]:
        return [member for member in self.people.values() if member.role == Role.STEWARD]

    def steward_on(self, day: date) -> Member:
        """The stewards take turns by the week."""
        return self.stewards[day.isocalendar().week % len(self.stewards)]

    def key(self) -> UUID:
        """A form key; the same ones each time the demo is made."""
        return UUID(int=self.rng.getrandbits(128), version=4)

    def moment(self, day: date, hour: int, minute: int = 0) -> datetime:
        """A local time of the house."""
        return datetime.combine(day, time(hour, minute), self.rules.tz)

    def day_of(self, at: datetime) -> date:
        return at.astimezone(self.rules.tz).date()

    def plan(self, at: datetime, happening: Happening) -> None:
        """Let this happen at that moment."""
        self._entries += 1
        heapq.heappush(self._agenda, (at, self._entries, happening))

    def live_until(self, now: datetime) -> None:
        """Do everything up to and with ``now``; what was to happen later never does."""
        while self._agenda and self._agenda[0][0] <= now:
            at, _, happening = heapq.heappop(self._agenda)
            happening(at)
