"""Several people give and withdraw the same induction at the same moment."""

from __future__ import annotations

from functools import partial
from uuid import uuid4

import pytest

from darkroom.inducting import AlreadyGiven, NotCurrent, give_induction, withdraw_induction
from darkroom.models import Doing, Induction, InductionTopic
from tests.concurrency.crowd import at_once
from tests.factories.darkroom import NOW, MemberFactory, StewardFactory
from tests.factories.inductions import InductionFactory, TopicFactory

pytestmark = pytest.mark.django_db(transaction=True)
CROWD = 8


@pytest.mark.parametrize("had_it_before", [False, True])
def test_however_many_give_it_one_stands(had_it_before):
    member, topic = MemberFactory(), TopicFactory()
    if had_it_before:
        InductionFactory(member=member, topic=topic)
    given = {"topic": topic, "member": member, "given_at": NOW, "at": NOW}

    answers = at_once(
        partial(give_induction, key=uuid4(), by=StewardFactory(), **given) for _ in range(CROWD)
    )

    assert {type(answer) for answer in answers} <= {Induction, AlreadyGiven}
    made = [answer for answer in answers if isinstance(answer, Induction)]
    assert Induction.objects.current().get() in made
    assert Induction.objects.count() == len(made) + had_it_before


def test_however_many_withdraw_it_one_reason_stays():
    row = InductionFactory()

    answers = at_once(
        partial(
            withdraw_induction,
            induction=row,
            reason=f"Reason {n}.",
            key=uuid4(),
            by=StewardFactory(),
            at=NOW,
        )
        for n in range(CROWD)
    )

    (gone,) = [answer for answer in answers if isinstance(answer, Induction)]
    assert sum(isinstance(answer, NotCurrent) for answer in answers) == CROWD - 1
    assert Induction.objects.get().reason == gone.reason


def test_however_many_ask_first_the_house_has_its_three_topics():
    answers = at_once(
        lambda: sorted(topic.allows for topic in InductionTopic.objects.with_fixed())
        for _ in range(CROWD)
    )

    assert answers == [sorted(Doing.values)] * CROWD
