"""Inductions as the pages show them: by topic and by person."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from uuid import UUID, uuid4

from chemistry.models import Process
from darkroom.inducted import WARN_AHEAD, Inducted
from darkroom.models import Equipment, HouseRules, Induction, InductionTopic, Member


@dataclass(frozen=True)
class Held:
    """An induction as it stands now."""

    induction: Induction
    at: datetime

    @property
    def is_standing(self) -> bool:
        return self.induction.is_standing(at=self.at)

    @property
    def is_expiring(self) -> bool:
        ends = self.induction.expires_at
        return self.is_standing and ends is not None and ends <= self.at + WARN_AHEAD

    @property
    def renew_key(self) -> UUID:
        """For the one tap that renews it."""
        return uuid4()

    @property
    def order(self) -> tuple[bool, datetime, str]:
        """Those that end soonest first, for good last."""
        ends = self.induction.expires_at
        return ends is None, ends or self.at, self.induction.member.name


@dataclass(frozen=True)
class Topic:
    """A topic with what asks for it and, as far as the reader may know, who has it."""

    topic: InductionTopic
    asked_by: Sequence[str]
    whom: str
    held: Sequence[Held]
    own: Held | None
    is_given_by_reader: bool

    @property
    def standing(self) -> list[Held]:
        return [one for one in self.held if one.is_standing]

    @property
    def expiring(self) -> list[Held]:
        return [one for one in self.held if one.is_expiring]

    @property
    def expired(self) -> list[Held]:
        return [one for one in self.held if not one.is_standing]


class Shown:
    """All topics for one reader; each table is read once."""

    def __init__(self, reader: Member, *, rules: HouseRules, at: datetime) -> None:
        self.reader, self.at = reader, at
        self.inducted = Inducted(reader, zone=rules.tz, at=at)

    def topics(self) -> list[Topic]:
        return [self.topic(one) for one in self.inducted.topics.values()]

    def topic(self, topic: InductionTopic) -> Topic:
        gives = topic.is_given_by(self.reader)
        may_know = self.reader.may_audit or gives
        held = self._held[topic.pk]
        return Topic(
            topic=topic,
            asked_by=self._asking[topic.pk],
            whom=self.inducted.whom(topic),
            held=sorted(held, key=lambda one: one.order) if may_know else [],
            own=next((one for one in held if one.induction.member_id == self.reader.pk), None),
            is_given_by_reader=gives,
        )

    @cached_property
    def _held(self) -> dict[int, list[Held]]:
        rows = Induction.objects.current().select_related("member", "given_by")
        found: dict[int, list[Held]] = defaultdict(list)
        for row in rows.filter(member__is_active=True):
            found[row.topic_id].append(Held(row, self.at))
        return found

    @cached_property
    def _asking(self) -> dict[int, list[str]]:
        found: dict[int, list[str]] = defaultdict(list)
        for piece in Equipment.objects.filter(topic__isnull=False):
            found[piece.topic_id or 0].append(str(piece))
        for process in Process.objects.filter(topic__isnull=False):
            found[process.topic_id or 0].append(process.name)
        return found


@dataclass(frozen=True)
class PersonLine:
    """Something this person was shown, and what the reader may do about it."""

    held: Held
    may_give: bool
    may_withdraw: bool


@dataclass(frozen=True)
class MissingLine:
    """Something this person was not shown, or no longer has."""

    topic: InductionTopic
    whom: str
    may_give: bool
    today: date

    @property
    def key(self) -> UUID:
        return uuid4()


class PersonShown:
    """One person's inductions for one reader."""

    def __init__(self, member: Member, reader: Member, *, rules: HouseRules, at: datetime) -> None:
        self.member, self.reader, self.at = member, reader, at
        self.today = at.astimezone(rules.tz).date()
        self.inducted = Inducted(member, zone=rules.tz, at=at)

    def lines(self) -> list[PersonLine]:
        """The latest first; what was renewed or withdrawn too."""
        return [
            PersonLine(
                Held(row, self.at),
                may_give=self._may_give(self.inducted.topics[row.topic_id]),
                may_withdraw=self._may_withdraw(self.inducted.topics[row.topic_id]),
            )
            for row in self._rows
        ]

    def missing(self) -> list[MissingLine]:
        have = {row.topic_id for row in self._rows if row.is_current()}
        return [
            MissingLine(topic, self.inducted.whom(topic), self._may_give(topic), self.today)
            for topic in self.inducted.topics.values()
            if topic.pk not in have and not topic.is_given_by(self.member)
        ]

    def gives(self) -> list[InductionTopic]:
        return [t for t in self.inducted.topics.values() if t.is_given_by(self.member)]

    @cached_property
    def _rows(self) -> list[Induction]:
        rows = Induction.objects.filter(member=self.member)
        return list(rows.select_related("topic", "given_by", "withdrawn_by"))

    def _may_give(self, topic: InductionTopic) -> bool:
        return topic.is_given_by(self.reader) and not topic.is_given_by(self.member)

    def _may_withdraw(self, topic: InductionTopic) -> bool:
        return self.reader.is_steward or topic.is_given_by(self.reader)
