"""What somebody was shown, what it lets them do, and what is said when it is missing."""

from __future__ import annotations

from datetime import UTC, timedelta

import pytest

from darkroom.inducted import FOREVER, Inducted, a_steward, doings, may, stewards
from darkroom.models import Doing, InductionTopic, Member
from tests.factories.darkroom import NOW, MemberFactory, StewardFactory
from tests.factories.inductions import InductionFactory, TopicFactory, let

TICK = timedelta(microseconds=1)
TONIGHT = NOW + timedelta(hours=2)
pytestmark = pytest.mark.django_db


@pytest.fixture
def topic(db: None) -> InductionTopic:
    return TopicFactory(name="Rotary drums")


def of(member: Member) -> Inducted:
    return Inducted(member, zone=UTC, at=NOW)


@pytest.mark.parametrize(
    ("who", "found"),
    [("ada", set()), ("aud", set()), ("ben", set(Doing.values)), ("adm", set(Doing.values))],
)
def test_without_an_induction_only_stewards_do_it(who, found, request):
    assert doings(request.getfixturevalue(who), at=NOW) == found


@pytest.mark.parametrize("doing", Doing)
def test_member_may_do_exactly_what_they_were_shown(ada, cyd, doing):
    let(ada, doing)
    InductionFactory(member=ada)

    assert doings(ada, at=NOW) == {doing}
    assert doings(cyd, at=NOW) == set()


def test_an_auditor_may_nothing_whatever_they_were_shown(aud):
    let(aud, Doing.MIX)

    assert not may(aud, Doing.MIX, at=NOW)


def test_it_ends_at_its_very_moment(ada):
    let(ada, Doing.MIX, expires_at=NOW)

    assert may(ada, Doing.MIX, at=NOW - TICK)
    assert not may(ada, Doing.MIX, at=NOW)


@pytest.mark.parametrize("over", ["withdrawn", "renewed"])
def test_what_is_withdrawn_or_renewed_lets_do_nothing(ada, ben, over):
    let(ada, Doing.MIX)
    gone = {"withdrawn_by": ben, "reason": "Spilt."} if over == "withdrawn" else {}
    ada.inductions.update(**{f"{over}_at": NOW}, **gone)

    assert not may(ada, Doing.MIX, at=NOW)


def test_what_needs_no_topic_is_free_and_asks_the_database_nothing(ada, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert of(ada).lack("The sink", None, until=TONIGHT) is None
        assert of(ada).lasts_until(None) == FOREVER


@pytest.mark.parametrize("number", [3, 30])
def test_any_number_of_topics_is_read_in_the_same_queries(ada, number, django_assert_num_queries):
    StewardFactory()
    topics = [TopicFactory() for _ in range(number)]
    topics[0].givers.add(MemberFactory())
    found = of(ada)

    with django_assert_num_queries(4):  # topics, givers, the member's own, stewards
        assert all(found.lack("It", topic.pk, until=TONIGHT) for topic in topics)


def test_until_its_end_it_covers_and_no_moment_longer(ada, ben, topic):
    InductionFactory(member=ada, topic=topic, expires_at=TONIGHT, given_by=ben)

    assert of(ada).lack("It", topic.pk, until=TONIGHT) is None
    lack = of(ada).lack("REEL-1", topic.pk, until=TONIGHT + TICK)
    assert lack is not None
    assert (lack.code, lack.topic) == ("expires", topic)
    assert lack.sentence == (
        "REEL-1 needs the induction “Rotary drums”, which expires on 2 March 2026 at 20:00, "
        "before the session ends. Ask a steward: Ben."
    )


def test_missing_says_whom_to_ask(ada, ben, topic):
    lack = of(ada).lack("REEL-1", topic.pk, until=NOW)

    assert lack is not None
    assert (lack.code, lack.sentence) == (
        "missing",
        "REEL-1 needs the induction “Rotary drums”, which is missing. Ask a steward: Ben.",
    )


def test_named_givers_are_asked_before_stewards(ada, ben, cyd, topic):
    topic.givers.add(cyd, MemberFactory(name="Zoe", is_active=False))

    assert of(ada).whom(topic) == "Ask Cyd."


def test_expired_and_withdrawn_say_when_and_why(ada, ben, topic):
    row = InductionFactory(member=ada, topic=topic, expires_at=NOW, given_by=ben)
    lack = of(ada).lack("It", topic.pk, until=NOW + TICK)
    assert lack is not None
    assert (lack.code, "which expired on 2 March 2026." in lack.sentence) == ("expired", True)

    row.withdrawn_at, row.withdrawn_by, row.reason = NOW, ben, "Left the bath on"
    row.save()
    lack = of(ada).lack("It", topic.pk, until=NOW)
    assert lack is not None
    assert lack.code == "withdrawn"
    assert "withdrawn on 2 March 2026: Left the bath on. Ask a steward: Ben." in lack.sentence


def test_what_was_given_last_counts(ada, ben, topic):
    old = {"topic": topic, "member": ada, "given_at": NOW - timedelta(days=50)}
    InductionFactory(**old, withdrawn_at=NOW, withdrawn_by=ben, reason="Spilt.")
    InductionFactory(topic=topic, member=ada)

    assert of(ada).lasts_until(topic.pk) == FOREVER


def test_whoever_gives_it_needs_none(ada, ben, adm, topic):
    assert [of(one).lasts_until(topic.pk) for one in (ada, ben, adm)] == [None, FOREVER, FOREVER]

    topic.givers.add(ada)
    assert [of(one).lasts_until(topic.pk) for one in (ada, ben, adm)] == [FOREVER, None, FOREVER]


def test_many_stewards_are_not_all_named(adm):
    for name in "BCDE":
        StewardFactory(name=name)

    assert a_steward(stewards()) == "a steward: B, C, D or another of 4"


def test_an_administrator_is_asked_where_there_is_no_other(adm):
    assert a_steward(stewards()) == "an administrator: Adm"
    assert a_steward([]) == "a steward"
