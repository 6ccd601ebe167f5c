"""What the invented house shows its people, and what it looks at.

It throws dice of its own, so that what is booked and run does not depend on it.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from uuid import UUID

from chemistry.models import Process
from darkroom.checking import mark_check
from darkroom.inducting import give_induction, withdraw_induction
from darkroom.models import (
    Doing,
    Equipment,
    Gates,
    HouseCheck,
    Induction,
    InductionTopic,
    Member,
)
from sessions.demo.world import SEED, World

YEAR = 365

TOPICS: tuple[tuple[str, str, str, int | None, tuple[str, ...]], ...] = (
    (
        "rotary-drums",
        "Rotary drums",
        "Seating a reel, closing the drum, which way it turns and what to do when it leaks.",
        YEAR,
        (),
    ),
    (
        "heated-drum",
        "Heated drum",
        "Warming it up, how hot the jacket gets, and never leaving it alone.",
        YEAR,
        ("kwabena",),
    ),
    (
        "colour-chemistry",
        "Colour chemistry",
        "Gloves, air and spills with bleach and colour developer; what goes into which can.",
        YEAR,
        ("noor", "marisol"),
    ),
)
ASKED_BY = {"REEL-1": "rotary-drums", "REEL-2": "rotary-drums", "HEAT-1": "heated-drum"}

EYEWASH, EXTRACTION, FIRST_AID = "eyewash", "extraction", "first-aid"
CHECKS = (
    (EYEWASH, "The eyewash runs clear", "Let it run for three minutes.", 7, Gates.ALL, True),
    (
        EXTRACTION,
        "The extraction is running",
        "Hold a strip of paper to the slot at the back of the sink: it must stick.",
        1,
        Gates.COLOUR_AND_TONER,
        False,
    ),
    (FIRST_AID, "The first-aid box is full", "Compare it with its list.", 30, Gates.NONE, False),
)

ENDING_DAYS = 12
"""Until then somebody's induction lasts; another one's ended days ago."""


@dataclass
class Inducting:
    world: World
    now: datetime
    rng: random.Random = field(default_factory=lambda: random.Random(SEED + 1))  # noqa: S311

    def plan(self, days: int) -> None:
        """From the first morning on. Since the day before yesterday nobody looked at the air."""
        self.world.plan(self._on(days, 9), self._begin)
        for n in range(2, days):
            self.world.plan(self._on(n, 18), self._extraction)
        for n in range(1, days, 6):
            self.world.plan(self._on(n, 19, 40), self._eyewash)
        self.world.plan(self._on(20, 20), self._withdraw)
        self.world.plan(self._on(4, 19), self._miss_plasters)

    def _on(self, days_ago: int, hour: int, minute: int = 0) -> datetime:
        day = self.world.day_of(self.now) - timedelta(days=days_ago)
        return self.world.moment(day, hour, minute)

    def _begin(self, at: datetime) -> None:
        self._topics()
        for code, name, how, every, gates, by_stewards in CHECKS:
            HouseCheck.objects.create(
                code=code,
                name=name,
                how=how,
                every_days=every,
                gates=gates,
                by_stewards=by_stewards,
            )
        for code, *_ in CHECKS:
            self._mark(code, self._steward(at), at)
        self._give_all(at)

    def _topics(self) -> None:
        for code, name, about, days, givers in TOPICS:
            topic = InductionTopic.objects.create(
                code=code, name=name, about=about, valid_days=days
            )
            topic.givers.set([self.world.people[handle] for handle in givers])
        for piece, code in ASKED_BY.items():
            Equipment.objects.filter(code=piece).update(topic=_topic(code))
        colour = Process.objects.filter(needs_held_temperature=True)
        colour.update(topic=_topic("colour-chemistry"))

    def _give_all(self, at: datetime) -> None:
        """What everybody was shown before this house wrote anything down, and some since."""
        ending = self.now - timedelta(days=YEAR - ENDING_DAYS)
        rotary, heated = _topic("rotary-drums"), _topic("heated-drum")
        kwabena = self.world.people["kwabena"]
        for member in self.world.members:
            given_at = at - timedelta(days=self.rng.randint(5, 200))
            is_ending = member == self.world.people["ulla"]
            self._give(rotary, member, self._steward(at), at, ending if is_ending else given_at)
        for handle, days in (("gwilym", YEAR + 3), ("hana", 200), ("jasper", 150)):
            given_at = self.now - timedelta(days=days)
            self._give(heated, self.world.people[handle], kwabena, at, given_at)
        noor = self.world.people["noor"]
        self._give(_topic("colour-chemistry"), self.world.people["hana"], noor, at, at)
        for doing, handles in (
            (Doing.MIX, ("bea",)),
            (Doing.TOP_UP, ("bea", "dov", "kirsi")),
            (Doing.POUR_OUT, ("bea", "caoimhe")),
        ):
            topic = InductionTopic.objects.with_fixed().get(allows=doing)
            for handle in handles:
                self._give(topic, self.world.people[handle], self._steward(at), at, at)

    def _give(
        self, topic: InductionTopic, member: Member, by: Member, at: datetime, given_at: datetime
    ) -> None:
        give_induction(topic=topic, member=member, given_at=given_at, key=self._key(), by=by, at=at)
        self.world.done["inducted"] += 1

    def _withdraw(self, at: datetime) -> None:
        withdraw_induction(
            induction=Induction.objects.get(
                topic__code="heated-drum", member=self.world.people["jasper"]
            ),
            reason="Left it heating over lunch. Come and be shown it again, gladly.",
            key=self._key(),
            by=self._steward(at),
            at=at,
        )

    def _extraction(self, at: datetime) -> None:
        self._mark(EXTRACTION, self.rng.choice(self.world.members), at)

    def _eyewash(self, at: datetime) -> None:
        self._mark(EYEWASH, self._steward(at), at)

    def _miss_plasters(self, at: datetime) -> None:
        self._mark(FIRST_AID, self.world.people["emeka"], at, note="No plasters left.")

    def _mark(self, code: str, by: Member, at: datetime, *, note: str = "") -> None:
        check = HouseCheck.objects.get(code=code)
        mark_check(check=check, is_good=not note, note=note, key=self._key(), by=by, at=at)

    def _steward(self, at: datetime) -> Member:
        return self.world.steward_on(self.world.day_of(at))

    def _key(self) -> UUID:
        return UUID(int=self.rng.getrandbits(128), version=4)


def _topic(code: str) -> InductionTopic:
    return InductionTopic.objects.get(code=code)
