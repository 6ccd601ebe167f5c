"""Giving an induction, giving it again, withdrawing it."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from darkroom.errors import DomainError, NotAllowed
from darkroom.inducting import (
    AlreadyGiven,
    CannotBeInducted,
    NotCurrent,
    WrongDay,
    give_induction,
    withdraw_induction,
)
from darkroom.models import Doing, Induction, InductionTopic, Member
from darkroom.operations import AlreadySent
from darkroom.words import WordsWanted
from tests.factories.darkroom import NOW
from tests.factories.inductions import InductionFactory, TopicFactory

DAY = timedelta(days=1)
pytestmark = pytest.mark.django_db


@pytest.fixture
def topic(db: None) -> InductionTopic:
    return TopicFactory(valid_days=365)


def give(topic, member, by, **changes) -> Induction:
    figures = {"given_at": NOW, "key": uuid4(), "at": NOW} | changes
    return give_induction(topic=topic, member=member, by=by, **figures)


def withdraw(induction, by, **changes) -> Induction:
    figures = {"reason": "Left the bath on.", "key": uuid4(), "at": NOW} | changes
    return withdraw_induction(induction=induction, by=by, **figures)


def test_steward_gives_what_nobody_is_named_for(topic, ada, ben):
    given = give(topic, ada, ben, given_at=NOW - DAY)

    assert (given.given_by, given.entered_at) == (ben, NOW)
    assert given.expires_at == NOW + 364 * DAY


def test_topic_without_a_term_is_given_for_good(ada, ben):
    assert give(TopicFactory(), ada, ben).expires_at is None


@pytest.mark.parametrize("who", ["ada", "aud"])
def test_others_give_nothing(topic, cyd, who, request):
    with pytest.raises(NotAllowed) as refusal:
        give(topic, cyd, request.getfixturevalue(who))
    assert refusal.value.status == 403


def test_named_givers_give_it_and_other_stewards_do_not(topic, ada, ben, cyd, adm):
    topic.givers.add(ada)

    with pytest.raises(NotAllowed):
        give(topic, cyd, ben)
    assert give(topic, cyd, ada).given_by == ada
    assert give(topic, ben, adm).given_by == adm


def test_stewards_give_it_once_everybody_named_has_left(topic, ada, ben, cyd):
    topic.givers.add(cyd)
    Member.objects.filter(pk=cyd.pk).update(is_active=False)

    assert give(topic, ada, ben).given_by == ben


def test_giving_it_again_renews_it_by_a_new_row(topic, ada, ben):
    first = give(topic, ada, ben, given_at=NOW - 300 * DAY)
    again = give(topic, ada, ben)

    first.refresh_from_db()
    assert (first.renewed_at, first.expires_at) == (NOW, NOW + 65 * DAY)
    assert list(Induction.objects.current()) == [again]


def test_form_sent_twice_gives_it_once(topic, ada, ben):
    key = uuid4()
    first = give(topic, ada, ben, key=key)
    again = give(topic, ada, ben, key=key, given_at=NOW + DAY, at=NOW + DAY)

    assert (first, Induction.objects.count()) == (again, 1)
    with pytest.raises(AlreadySent):
        give(topic, ada, ben, key=key, given_at=NOW - DAY)


@pytest.mark.parametrize(
    ("who", "said"),
    [("ben", "You give"), ("adm", "Adm gives"), ("aud", "is an auditor"), ("cyd", "no longer")],
)
def test_some_cannot_be_given_it(topic, cyd, ben, who, said, request):
    Member.objects.filter(pk=cyd.pk).update(is_active=False)

    with pytest.raises(CannotBeInducted, match=said) as refusal:
        give(topic, request.getfixturevalue(who), ben)
    assert (refusal.value.code, refusal.value.field) == ("cannot_be_inducted", "member")


@pytest.mark.parametrize(
    ("given_at", "said"),
    [
        (NOW + timedelta(microseconds=1), "in the future"),
        (NOW - 365 * DAY, "has expired already"),
        (NOW - 20 * DAY, "again after that day"),
    ],
)
def test_a_day_on_which_it_cannot_have_been_given_is_refused(topic, ada, ben, given_at, said):
    InductionFactory(topic=topic, member=ada)

    with pytest.raises(WrongDay, match=said) as refusal:
        give(topic, ada, ben, given_at=given_at)
    assert (refusal.value.code, refusal.value.field) == ("wrong_day", "given_on")
    assert Induction.objects.current().count() == 1


def test_given_a_microsecond_later_it_stands_for_one_more(topic, ada, ben):
    given = give(topic, ada, ben, given_at=NOW - 365 * DAY + timedelta(microseconds=1))

    assert given.is_standing(at=NOW)
    assert not given.is_standing(at=given.expires_at)


def test_row_that_came_meanwhile_is_told_and_nothing_else_is_changed(topic, ada, ben, monkeypatch):
    standing = InductionFactory(topic=topic, member=ada)
    monkeypatch.setattr("darkroom.inducting._current", lambda *_: None)

    with pytest.raises(AlreadyGiven) as refusal:
        give(topic, ada, ben)
    assert (refusal.value.code, refusal.value.status) == ("already_given", 409)
    assert list(Induction.objects.all()) == [standing]


def test_steward_withdraws_it_with_a_reason(topic, ada, ben):
    gone = withdraw(InductionFactory(topic=topic, member=ada), ben)

    assert (gone.withdrawn_at, gone.withdrawn_by, gone.reason) == (NOW, ben, "Left the bath on.")
    assert not gone.is_standing(at=NOW)


def test_who_gives_it_withdraws_it_too(topic, ada, cyd):
    topic.givers.add(cyd)

    assert withdraw(InductionFactory(topic=topic, member=ada), cyd).withdrawn_by == cyd


@pytest.mark.parametrize("who", ["ada", "aud"])
def test_others_withdraw_nothing(topic, ada, who, request):
    with pytest.raises(NotAllowed):
        withdraw(InductionFactory(topic=topic, member=ada), request.getfixturevalue(who))


@pytest.mark.parametrize("reason", ["", "  \n ", "x" * 301])
def test_withdrawing_wants_words(topic, ada, ben, reason):
    with pytest.raises(WordsWanted) as refusal:
        withdraw(InductionFactory(topic=topic, member=ada), ben, reason=reason)
    assert refusal.value.field == "reason"


@pytest.mark.parametrize("field", ["withdrawn_at", "renewed_at"])
def test_what_is_over_is_not_withdrawn_again(topic, ada, ben, field):
    over = InductionFactory(topic=topic, member=ada)
    gone = {"withdrawn_by": ben, "reason": "x"} if field == "withdrawn_at" else {}
    Induction.objects.filter(pk=over.pk).update(**{field: NOW}, **gone)

    with pytest.raises(NotCurrent) as refusal:
        withdraw(over, ben)
    assert (refusal.value.code, refusal.value.status) == ("not_current", 409)


def test_withdrawn_it_can_be_given_anew(topic, ada, ben):
    withdraw(InductionFactory(topic=topic, member=ada), ben)

    assert give(topic, ada, ben).is_standing(at=NOW)
    assert Induction.objects.count() == 2


def test_form_sent_twice_withdraws_it_once(topic, ada, ben):
    standing, key = InductionFactory(topic=topic, member=ada), uuid4()

    assert withdraw(standing, ben, key=key) == withdraw(standing, ben, key=key, at=NOW + DAY)
    assert Induction.objects.get().withdrawn_at == NOW


def test_house_has_its_three_topics_from_the_first_time_on(db):
    for _ in range(2):
        found = InductionTopic.objects.with_fixed()
        assert {topic.allows for topic in found} == set(Doing.values)


def test_every_refusal_has_a_code_of_its_own():
    refusals = [AlreadyGiven, CannotBeInducted, NotCurrent, WrongDay]

    assert len({refusal.code for refusal in refusals} - {DomainError.code}) == len(refusals)
