"""Not alone with colour and toner: who is there, and what is said when nobody is."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import IntegrityError
from hypothesis import given
from hypothesis import strategies as st

from darkroom.models import HouseRules
from sessions import company
from sessions.company import NoCompany, WouldBeAlone, alone, check_company
from sessions.models import Session
from sessions.planning import slots
from sessions.planning.localtime import epoch_s, from_epoch
from tests.factories.darkroom import NOW, MemberFactory
from tests.sessions.bench import Bench, bench

HOUR = timedelta(hours=1)
SPAN = (NOW, NOW + 2 * HOUR)


def colour(wet: Bench) -> Bench:
    type(wet.process).objects.update(needs_held_temperature=True)
    HouseRules.current()
    HouseRules.objects.update(no_colour_alone=True)
    return wet


@pytest.fixture
def rules(db: None) -> HouseRules:
    colour(bench())
    return HouseRules.current()


def visit_of(wet: Bench, member, starts_at=NOW + HOUR, lasts=2 * HOUR, **changes) -> Session:
    """A session without anything held: only when somebody is there counts."""
    visit = Session.objects.create(
        member=member,
        process=wet.process,
        vessel=wet.vessel,
        agitation="inversion",
        sheets_per_load=4,
        load_ml=400,
        starts_at=starts_at,
        ends_at=starts_at + lasts,
        created_at=NOW - HOUR,
    )
    Session.objects.filter(pk=visit.pk).update(**changes)
    return visit


def hours(gaps) -> list[tuple[float, float]]:
    return [tuple((edge - NOW) / HOUR for edge in gap) for gap in gaps]


@pytest.mark.parametrize(
    ("there", "left"),
    [
        ([], [(0, 2)]),
        ([(0, 2)], []),
        ([(-1, 3)], []),
        ([(0, 1)], [(1, 2)]),
        ([(1, 2)], [(0, 1)]),
        ([(0.5, 1.5)], [(0, 0.5), (1.5, 2)]),
        ([(-2, 0), (2, 4)], [(0, 2)]),
    ],
)
def test_alone_is_what_the_others_do_not_cover(there, left):
    ranges = [(epoch_s(NOW + a * HOUR), epoch_s(NOW + b * HOUR)) for a, b in there]

    assert hours(alone(SPAN, ranges)) == left


@given(st.lists(st.tuples(st.integers(-90, 200), st.integers(1, 90))))
def test_every_minute_is_alone_or_accompanied_never_both(sessions):
    ranges = [(starts * 60, (starts + lasts) * 60) for starts, lasts in sessions]
    there = slots.normal(ranges)
    span = (from_epoch(0), from_epoch(120 * 60))

    gaps = [(epoch_s(a), epoch_s(b)) for a, b in alone(span, there)]
    for at in range(0, 120 * 60, 60):
        is_alone = any(low <= at < high for low, high in gaps)
        assert is_alone != any(low <= at < high for low, high in ranges)


@pytest.mark.django_db
def test_only_other_peoples_standing_sessions_count(ada, cyd):
    wet = bench()
    own = {"lasts": 2 * HOUR, "starts_at": NOW}
    visit_of(wet, ada, **own)
    visit_of(wet, cyd, cancelled_at=NOW, **own)
    visit_of(wet, cyd, ended_at=NOW, **own)
    assert company.others_there(ada.pk, SPAN) == []

    there = visit_of(wet, cyd, **own)
    assert company.others_there(ada.pk, SPAN) == [(epoch_s(SPAN[0]), epoch_s(SPAN[1]))]
    assert company.others_there(ada.pk, SPAN, ignoring=there.pk) == []


@pytest.mark.parametrize(("rule", "held"), [(True, False), (False, True), (False, False)])
@pytest.mark.django_db
def test_nobody_is_asked_for_company_without_the_rule_or_for_other_work(rule, held):
    wet, rules = bench(), HouseRules(no_colour_alone=rule)
    wet.process.needs_held_temperature = held

    assert not company.is_asked(wet.process, rules)


def test_others_together_are_company(ada, cyd, rules):
    wet = colour(bench())
    visit_of(wet, cyd, NOW, HOUR)
    with pytest.raises(WouldBeAlone) as refusal:
        check_company(SPAN, by=ada, companion=None, rules=rules)
    assert (refusal.value.code, refusal.value.field) == ("alone", "companion")
    assert refusal.value.message == (
        "Nobody else is booked from 19:00 to 20:00, and this house does no colour or toner work "
        "alone. Name who comes along, or start while others are booked."
    )

    visit_of(wet, MemberFactory(), NOW + HOUR, HOUR)
    check_company(SPAN, by=ada, companion=None, rules=rules)


def test_the_next_start_with_company_is_named(ada, cyd, rules):
    wet = colour(bench())
    visit_of(wet, cyd, NOW + 25 * HOUR, 3 * HOUR)
    later = [NOW + n * HOUR for n in (1, 24, 25, 26)]

    with pytest.raises(WouldBeAlone, match="On Tuesday 3 March at 19:00 others are there"):
        check_company(SPAN, by=ada, companion=None, rules=rules, later=lambda: later)


def test_whoever_is_named_is_company(ada, cyd, rules):
    check_company(SPAN, by=ada, companion=cyd, rules=rules)


@pytest.mark.parametrize("who", ["ada", "aud", "cyd"])
def test_some_cannot_be_company(ada, cyd, rules, who, request):
    cyd.is_active = False

    with pytest.raises(NoCompany) as refusal:
        check_company(SPAN, by=ada, companion=request.getfixturevalue(who), rules=rules)
    assert (refusal.value.code, refusal.value.field) == ("no_company", "companion")


def left(rules) -> list[tuple[Session, list]]:
    return [(visit, hours(gaps)) for visit, gaps in company.left_alone(rules=rules, at=NOW)]


def test_a_session_whose_company_is_gone_is_found(ada, cyd, rules):
    wet = colour(bench())
    lonely, other = visit_of(wet, ada), visit_of(wet, cyd)
    assert left(rules) == []

    Session.objects.filter(pk=other.pk).update(cancelled_at=NOW)
    assert left(rules) == [(lonely, [(1, 3)])]


def test_company_that_has_left_the_house_is_none(ada, cyd, rules):
    lonely = visit_of(colour(bench()), ada, companion=cyd)
    assert left(rules) == []

    cyd.is_active = False
    cyd.save()
    assert left(rules) == [(lonely, [(1, 3)])]


@pytest.mark.parametrize(
    "changes", [{"cancelled_at": NOW}, {"ended_at": NOW}, {"starts_at": NOW - HOUR}]
)
def test_what_is_over_or_under_way_is_not_looked_for(ada, rules, changes):
    visit_of(colour(bench()), ada, **changes)

    assert left(rules) == []


def test_without_the_rule_nobody_is_looked_for(ada, rules):
    visit_of(colour(bench()), ada)
    rules.no_colour_alone = False

    assert left(rules) == []


@pytest.mark.parametrize("number", [3, 30])
def test_any_number_is_found_in_two_queries(rules, number, django_assert_num_queries):
    wet = colour(bench())
    for n in range(number):
        visit_of(wet, MemberFactory(), NOW + (3 * n + 1) * HOUR)

    with django_assert_num_queries(2):
        assert len(left(rules)) == number


@pytest.mark.django_db
def test_nobody_is_their_own_company(ada):
    with pytest.raises(IntegrityError) as error:
        visit_of(bench(), ada, companion=ada)
    assert error.value.__cause__.diag.constraint_name == "session_companion_is_another"
