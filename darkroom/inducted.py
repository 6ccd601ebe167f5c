"""What people have been shown, and what that lets them do."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from darkroom.models import Doing, Induction, InductionTopic, Member, Role
from darkroom.words import one_of

FOREVER = datetime.max.replace(tzinfo=UTC)
WARN_AHEAD = timedelta(days=30)
"""How long before it expires an induction is called expiring, and its member told."""

MOST_NAMED = 3


def doings(member: Member, *, at: datetime) -> frozenset[str]:
    """What this member may do of what otherwise stewards do; an auditor does nothing."""
    if not member.may_write:
        return frozenset()
    if member.is_steward:
        return frozenset(Doing.values)
    shown = Induction.objects.standing(at=at).filter(member=member)
    allowed = shown.values_list("topic__allows", flat=True)
    return frozenset(doing for doing in allowed if doing is not None)


def may(member: Member, doing: Doing, *, at: datetime) -> bool:
    return doing in doings(member, at=at)


def stewards() -> list[Member]:
    """Who can be asked, stewards before administrators."""
    found = Member.objects.filter(is_active=True, role__in=(Role.STEWARD, Role.ADMINISTRATOR))
    return sorted(found, key=lambda one: (one.is_administrator, one.name))


def a_steward(people: Sequence[Member]) -> str:
    """Whom to ask: a steward by name, or an administrator where there is no other."""
    others = [one for one in people if not one.is_administrator]
    if not people:
        return "a steward"
    return f"a steward: {_names(others)}" if others else f"an administrator: {_names(people)}"


@dataclass(frozen=True)
class Lack:
    """Why not. Codes: ``missing``, ``expired``, ``withdrawn``, ``expires`` (too early)."""

    code: str
    topic: InductionTopic
    sentence: str


class Inducted:
    """What a member has been shown, as of a moment; nothing is read before a topic is asked for.

    All topics, their givers, the member's own rows and the stewards are read once each.
    """

    def __init__(self, member: Member, *, zone: ZoneInfo, at: datetime) -> None:
        self.member, self.zone, self.at = member, zone, at

    @classmethod
    def of_many(
        cls, members: Iterable[Member], *, zone: ZoneInfo, at: datetime
    ) -> dict[int, Inducted]:
        """One for each of these by their key, in as many queries as for one."""
        found = {member.pk: cls(member, zone=zone, at=at) for member in members}
        if not found:
            return {}
        topics, asked, latest = _topics(), stewards(), _latest(found)
        for pk, one in found.items():
            one.topics, one.stewards, one.latest = topics, asked, latest[pk]
        return found

    def lasts_until(self, topic_id: int | None) -> datetime | None:
        """Until when the member may; ``FOREVER`` without an end, None if not at all."""
        if topic_id is None or self.topics[topic_id].is_given_by(self.member):
            return FOREVER
        found = self.latest.get(topic_id)
        if found is None or not found.is_standing(at=self.at):
            return None
        return FOREVER if found.expires_at is None else found.expires_at

    def covers(self, topic_id: int | None, *, until: datetime) -> bool:
        lasts = self.lasts_until(topic_id)
        return lasts is not None and lasts >= until

    def lack(self, what: str, topic_id: int | None, *, until: datetime) -> Lack | None:
        """What is missing for ``what`` until that moment, and whom to ask; None: nothing."""
        if topic_id is None or self.covers(topic_id, until=until):
            return None
        topic = self.topics[topic_id]
        code, how = self._how(topic)
        return Lack(code, topic, f"{what} needs the induction “{topic}”, {how} {self.whom(topic)}")

    def whom(self, topic: InductionTopic) -> str:
        """Whom to ask, as a sentence."""
        named = topic.named_givers()
        return f"Ask {_names(named) if named else a_steward(self.stewards)}."

    def day(self, at: datetime) -> str:
        return f"{at.astimezone(self.zone):%-d %B %Y}"

    def _how(self, topic: InductionTopic) -> tuple[str, str]:
        found = self.latest.get(topic.pk)
        if found is None:
            return "missing", "which is missing."
        if found.withdrawn_at is not None:
            said = found.reason if found.reason.endswith((".", "!", "?")) else f"{found.reason}."
            return "withdrawn", f"which was withdrawn on {self.day(found.withdrawn_at)}: {said}"
        assert found.expires_at is not None
        if found.expires_at <= self.at:
            return "expired", f"which expired on {self.day(found.expires_at)}."
        local = found.expires_at.astimezone(self.zone)
        return "expires", f"which expires on {local:%-d %B %Y at %H:%M}, before the session ends."

    @cached_property
    def topics(self) -> dict[int, InductionTopic]:
        return _topics()

    @cached_property
    def latest(self) -> dict[int, Induction]:
        """By topic the row that counts: what was given last, be it expired or withdrawn."""
        return _latest([self.member.pk])[self.member.pk]

    @cached_property
    def stewards(self) -> list[Member]:
        return stewards()


def _topics() -> dict[int, InductionTopic]:
    return {topic.pk: topic for topic in InductionTopic.objects.prefetch_related("givers")}


def _latest(members: Iterable[int]) -> dict[int, dict[int, Induction]]:
    rows = Induction.objects.filter(member__in=members, renewed_at__isnull=True)
    found: dict[int, dict[int, Induction]] = defaultdict(dict)
    for row in rows.order_by("entered_at", "pk"):
        found[row.member_id][row.topic_id] = row
    return found


def _names(people: Sequence[Member]) -> str:
    names = [one.name for one in people]
    if len(names) > MOST_NAMED:
        return f"{', '.join(names[:MOST_NAMED])} or another of {len(names)}"
    return one_of(names)
