"""What people are told of inductions and company, once for each fact."""

from __future__ import annotations

from datetime import timedelta

import pytest

from darkroom.inducted import WARN_AHEAD
from darkroom.models import Doing, HouseRules, Induction
from sessions import admission, reminding
from sessions.models import Notice, Session
from sessions.models.notices import NoticeKind
from tests.factories.darkroom import NOW, MemberFactory
from tests.factories.inductions import InductionFactory, TopicFactory, let
from tests.sessions.bench import bench
from tests.sessions.test_company import colour, visit_of

pytestmark = pytest.mark.django_db
DAY, TICK = timedelta(days=1), timedelta(microseconds=1)
TOMORROW = NOW + DAY


@pytest.fixture
def rules(db):
    return HouseRules.current()


def told(member):
    notices = Notice.objects.filter(member=member).order_by("pk")
    return [(notice.kind, notice.subject) for notice in notices]


def test_who_holds_an_induction_is_told_thirty_days_before_it_ends(ada, ben):
    row = let(ada, Doing.MIX, expires_at=NOW + WARN_AHEAD)

    reminding.inductions(at=NOW - TICK)
    assert told(ada) == []
    for at in (NOW, NOW + DAY):
        reminding.inductions(at=at)

    notice = Notice.objects.get()
    assert (notice.member, notice.kind) == (ada, NoticeKind.INDUCTION)
    assert notice.subject == "Your induction “May mix” ends on 1 April 2026"
    assert row.given_by.name in notice.body
    assert notice.url == "/inductions/may-mix/"


def test_it_is_told_for_the_last_time_before_its_very_end(ada):
    let(ada, Doing.MIX, expires_at=NOW)

    reminding.inductions(at=NOW)
    assert told(ada) == []
    reminding.inductions(at=NOW - TICK)
    assert len(told(ada)) == 1


def test_renewed_it_is_told_again_of_its_new_end_only(ada):
    InductionFactory(member=ada, topic__name="Reels", expires_at=NOW + DAY, renewed_at=NOW)
    InductionFactory(
        member=ada, topic=Induction.objects.get().topic, expires_at=NOW + 60 * DAY, given_at=NOW
    )

    reminding.inductions(at=NOW)
    assert told(ada) == []
    reminding.inductions(at=NOW + 31 * DAY)
    assert len(told(ada)) == 1


def test_who_loses_one_is_told_why(ada, ben):
    over = {"withdrawn_at": NOW, "withdrawn_by": ben, "reason": "Left the bath on."}
    InductionFactory(member=ada, topic__name="Reels", **over)

    for at in (NOW - TICK, NOW, NOW + DAY):
        reminding.inductions(at=at)

    assert told(ada) == [(NoticeKind.INDUCTION, "Your induction “Reels” was withdrawn")]
    assert "On 2 March 2026: Left the bath on." in Notice.objects.get().body


def test_who_has_left_is_not_told(ada):
    let(ada, Doing.MIX, expires_at=NOW + DAY)
    ada.is_active = False
    ada.save()

    reminding.inductions(at=NOW)
    assert not Notice.objects.exists()


@pytest.fixture
def wet(db):
    found = bench()
    found.vessel.topic = TopicFactory(name="Small tanks")
    found.vessel.save()
    return found


def lacking(rules, at=NOW):
    return [(visit, lack.code) for visit, lack in admission.lacking(rules=rules, at=at)]


def test_a_session_that_will_lack_an_induction_is_found(ada, wet, rules):
    visit = wet.booked(ada, starts_at=TOMORROW)
    assert lacking(rules) == [(visit, "missing")]

    row = InductionFactory(member=ada, topic=wet.vessel.topic, expires_at=visit.ends_at)
    assert lacking(rules) == []

    Induction.objects.filter(pk=row.pk).update(expires_at=visit.ends_at - TICK)
    assert lacking(rules) == [(visit, "expires")]


def test_the_process_is_asked_for_as_well(ada, wet, rules):
    InductionFactory(member=ada, topic=wet.vessel.topic)
    wet.process.topic = TopicFactory()
    wet.process.save()
    visit = wet.booked(ada, starts_at=TOMORROW)

    assert lacking(rules) == [(visit, "missing")]


def test_whoever_gives_it_lacks_nothing(ben, wet, rules):
    wet.booked(ben, starts_at=TOMORROW)

    assert lacking(rules) == []


@pytest.mark.parametrize("field", ["cancelled_at", "ended_at"])
def test_what_is_over_lacks_nothing(ada, wet, rules, field):
    visit = wet.booked(ada, starts_at=TOMORROW)
    assert lacking(rules, at=visit.ends_at) == []

    Session.objects.update(**{field: NOW})
    assert lacking(rules) == []


@pytest.mark.parametrize("number", [3, 30])
def test_any_number_is_found_in_the_same_queries(wet, rules, number, django_assert_num_queries):
    for n in range(number):
        wet.booked(MemberFactory(), starts_at=TOMORROW + n * 6 * timedelta(hours=1))

    with django_assert_num_queries(6):  # sessions, holds, topics, givers, stewards, inductions
        assert len(lacking(rules)) == number


def test_member_and_stewards_are_told_once_of_what_is_lacking(ada, ben, cyd, wet):
    visit = wet.booked(ada, starts_at=TOMORROW)

    for at in (NOW, NOW + timedelta(minutes=5)):
        reminding.sessions_lacking(at=at)

    (said,) = told(ada)
    assert told(ben) == [said]
    assert said == (NoticeKind.SESSION_AFFECTED, "Ada, 3 March, 18:00: an induction is missing")
    assert {one.url for one in Notice.objects.all()} == {visit.get_absolute_url()}
    assert told(cyd) == []


def test_member_and_stewards_are_told_of_a_session_left_alone(ada, ben, cyd):
    wet = colour(bench())
    visit_of(wet, ada)
    other = visit_of(wet, cyd)
    reminding.sessions_alone(at=NOW)
    assert not Notice.objects.exists()

    Session.objects.filter(pk=other.pk).update(cancelled_at=NOW)
    for _ in range(2):
        reminding.sessions_alone(at=NOW)
    said = (NoticeKind.COMPANY, "Ada, 2 March, 19:00: nobody else is there")
    assert (told(ada), told(ben), told(cyd)) == ([said], [said], [])


def test_whoever_is_named_as_company_is_told_once_and_again_when_it_moves(ada, cyd):
    visit = visit_of(bench(), ada, companion=cyd)

    for _ in range(2):
        reminding.companions(at=NOW)
    assert told(cyd) == [(NoticeKind.COMPANY, "Ada counts on you as company")]

    later = {"starts_at": TOMORROW, "ends_at": TOMORROW + DAY}
    Session.objects.filter(pk=visit.pk).update(**later)
    reminding.companions(at=NOW)
    assert len(told(cyd)) == 2


def test_company_that_is_no_longer_needed_is_told_so_if_it_was_told_before(ada, cyd):
    wet = bench()
    visit_of(wet, ada, companion=cyd, cancelled_at=NOW)
    reminding.companions(at=NOW)
    assert told(cyd) == []

    visit = visit_of(wet, ada, companion=cyd)
    reminding.companions(at=NOW)
    Session.objects.filter(pk=visit.pk).update(cancelled_at=NOW)
    for _ in range(2):
        reminding.companions(at=NOW)
    assert [subject for _, subject in told(cyd)] == [
        "Ada counts on you as company",
        "Ada does not need you as company",
    ]
