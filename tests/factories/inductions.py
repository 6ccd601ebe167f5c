"""Topics, who was shown them, and what the house looks at."""

from __future__ import annotations

from datetime import datetime, timedelta

import factory

from darkroom.models import (
    CheckMark,
    Doing,
    HouseCheck,
    Induction,
    InductionTopic,
    Member,
)
from tests.factories.darkroom import NOW, MemberFactory, StewardFactory


class TopicFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = InductionTopic

    code = factory.Sequence(lambda n: f"topic-{n}")
    name = factory.Sequence(lambda n: f"Topic {n}")
    about = "Shown once before it is used alone."


class InductionFactory(factory.django.DjangoModelFactory):
    """Given ten days ago, for good."""

    class Meta:
        model = Induction

    member = factory.SubFactory(MemberFactory)
    topic = factory.SubFactory(TopicFactory)
    given_by = factory.SubFactory(StewardFactory)
    given_at = NOW - timedelta(days=10)
    entered_at = factory.SelfAttribute("given_at")


class HouseCheckFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = HouseCheck

    code = factory.Sequence(lambda n: f"check-{n}")
    name = factory.Sequence(lambda n: f"Check {n} is well")
    every_days = 7


class CheckMarkFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = CheckMark

    house_check = factory.SubFactory(HouseCheckFactory)
    at = NOW - timedelta(days=1)
    by = factory.SubFactory(StewardFactory)
    is_good = True


def fixed_topic(doing: Doing) -> InductionTopic:
    """One of the three that every house has."""
    return InductionTopic.objects.with_fixed().get(allows=doing)


def let(member: Member, doing: Doing, *, expires_at: datetime | None = None) -> Induction:
    """From now on this member may do what otherwise stewards do."""
    return InductionFactory(member=member, topic=fixed_topic(doing), expires_at=expires_at)
