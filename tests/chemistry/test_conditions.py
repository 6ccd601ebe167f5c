"""What state a bottle is in: in words, and the same in SQL."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chemistry.conditions import Condition, verdict
from chemistry.models import Account, Batch, BatchStop, FigureName, Role, Way
from chemistry.science.area import AU_MM2
from darkroom.models import HouseRules
from tests.examples import rolled_back
from tests.factories.chemistry import (
    FigureFactory,
    WayOfUseFactory,
    mixed_batch,
    replenished_way,
    reused_way,
    stock_way,
)
from tests.factories.darkroom import NOW, MemberFactory

pytestmark = pytest.mark.django_db
LIMITS = {
    "arrears": FigureName.ARREARS_LIMIT,
    "turnover": FigureName.TURNOVER_LIMIT,
    "area": FigureName.AREA_LIMIT,
}


def judged(batch, *, at=NOW):
    batch = Batch.objects.for_verdict().get(pk=batch.pk)
    return verdict(batch, at=at, rules=HouseRules.current())


def annotated(batch, *, at=NOW, rules=None):
    rules = rules or HouseRules.current()
    return Batch.objects.with_condition(at=at, rules=rules).get(pk=batch.pk).condition


def bottle(way=None, *, balance_ul=None, **row):
    batch = mixed_batch(way)
    Batch.objects.filter(pk=batch.pk).update(**row)
    if balance_ul is not None:
        Account.objects.filter(batch=batch).update(balance=balance_ul)
    return batch


def stop(batch, **changes):
    BatchStop.objects.create(
        batch=batch, seen="Cloudy", stopped_at=NOW, stopped_by=MemberFactory(), **changes
    )
    return batch


def share(value):
    return Decimal(value)


@pytest.mark.parametrize(
    ("make", "condition", "sentence"),
    [
        (lambda: bottle(), "fresh", "Ready to use."),
        (
            lambda: bottle(good_until=NOW + timedelta(days=30)),
            "fresh",
            "Ready to use, good until 1 April 2026.",
        ),
        (lambda: bottle(wear=share("0.7999")), "fresh", "Ready to use."),
        (lambda: bottle(wear=share("0.8")), "low", "80 % of its capacity is used."),
        (lambda: bottle(wear=share("0.9999")), "low", "99 % of its capacity is used."),
        (lambda: bottle(wear=share(1)), "spent", "100 % of its capacity is used."),
        (
            lambda: bottle(replenished_way(), arrears_mm2=share("1.6") * AU_MM2),
            "low",
            "Owes 80 % of what it may owe: top it up soon.",
        ),
        (
            lambda: bottle(replenished_way(), arrears_mm2=2 * AU_MM2),
            "low",
            "Owes 100 % of what it may owe: top it up soon.",
        ),
        (
            lambda: bottle(replenished_way(), arrears_mm2=2 * AU_MM2 + 1),
            "owed",
            "Owes more replenisher than it may: top it up before the next load.",
        ),
        (
            lambda: bottle(replenished_way(), turnover=share(1)),
            "spent",
            "1.00 of 1 bath volumes of replenisher are in.",
        ),
        (
            lambda: bottle(replenished_way(), used_mm2=30 * AU_MM2),
            "spent",
            "100 % of the area it may ever take has passed.",
        ),
        (
            lambda: bottle(replenished_way(), used_mm2=15 * AU_MM2, balance_ul=500_000),
            "spent",
            "100 % of the area it may ever take has passed.",
        ),
        (lambda: bottle(stock_way(), balance_ul=200_000), "low", "200 mL of stock is left."),
        (lambda: bottle(stock_way(), balance_ul=200_001), "fresh", "Ready to use."),
        (lambda: bottle(good_until=NOW), "out_of_date", "Out of date since 2 March 2026."),
        (
            lambda: bottle(usable_from=NOW + timedelta(hours=2)),
            "not_yet",
            "Usable from 2 March 2026, 20:00.",
        ),
        (lambda: bottle(balance_ul=0), "empty", "Nothing is left in it."),
        (lambda: stop(bottle()), "stopped", "Stopped on 2 March 2026: Cloudy."),
        (lambda: bottle(discarded_at=NOW), "discarded", "Discarded on 2 March 2026."),
    ],
)
def test_state_in_a_word_and_a_sentence(make, condition, sentence):
    batch = make()
    found = judged(batch)

    assert (found.condition, found.sentence) == (condition, sentence)
    assert annotated(batch) == condition


def test_worst_state_rules():
    batch = stop(bottle(wear=share(2), good_until=NOW, balance_ul=0))

    assert judged(batch).condition == Condition.STOPPED


def test_released_stop_no_longer_counts():
    released = {"released_at": NOW, "released_by": MemberFactory(), "release_reason": "Tested"}

    assert judged(stop(bottle(), **released)).condition == Condition.FRESH


def test_clock_alone_changes_a_state():
    batch = bottle(usable_from=NOW, good_until=NOW + timedelta(days=1))
    moments = (NOW - timedelta(seconds=1), NOW, NOW + timedelta(days=1))

    assert [judged(batch, at=at).condition for at in moments] == ["not_yet", "fresh", "out_of_date"]
    assert [annotated(batch, at=at) for at in moments] == ["not_yet", "fresh", "out_of_date"]


def test_fresh_and_low_are_usable():
    usable = [bottle(), bottle(wear=share("0.9"))]
    bottle(wear=share(1))
    owed = bottle(replenished_way(), arrears_mm2=9 * AU_MM2)

    found = Batch.objects.usable(at=NOW, rules=HouseRules.current())
    assert list(found) == usable
    assert not judged(owed).is_usable


def test_days_are_those_of_the_house():
    HouseRules.objects.create(pk=1, zone="Asia/Tokyo")

    assert judged(bottle(good_until=NOW)).sentence == "Out of date since 3 March 2026."


@pytest.mark.parametrize("count", [1, 3])
def test_verdicts_of_a_shelf_take_three_queries(count):
    for _ in range(count):
        stop(bottle())
    rules = HouseRules.current()

    with CaptureQueriesContext(connection) as queries:
        for batch in Batch.objects.for_verdict():
            verdict(batch, at=NOW, rules=rules)
    assert len(queries) == 3


def test_bath_without_any_limit_is_only_fresh():
    way = WayOfUseFactory(version__recipe__role=Role.DEVELOPER, way=Way.REPLENISHED)

    assert judged(bottle(way, arrears_mm2=10**9, turnover=99)).condition == Condition.FRESH


def seldom(value, *, otherwise=None):
    """Worse states hide those below them, so they must not come too often."""
    return st.sampled_from([*[otherwise] * 7, value])


amounts = st.decimals(0, 4, places=4)
shelves = st.fixed_dictionaries(
    {
        "wear": st.sampled_from(["0", "0.5", "0.799999999999", "0.8", "1", "1.5"]).map(Decimal),
        "arrears_mm2": amounts.map(lambda au: au * AU_MM2),
        "turnover": amounts,
        "used_mm2": amounts.map(lambda au: au * AU_MM2),
        "good_until": seldom(NOW, otherwise=NOW + timedelta(microseconds=1)),
        "usable_from": seldom(NOW + timedelta(microseconds=1), otherwise=NOW),
        "discarded_at": seldom(NOW),
        "balance_ul": st.sampled_from([0, 1, 200_000, 250_000, 500_000, 1_000_000]),
    }
)
limits = st.dictionaries(st.sampled_from(sorted(LIMITS)), st.decimals(0, 4, places=2))


specimens = st.tuples(
    st.sampled_from([reused_way, replenished_way, stock_way]),
    shelves,
    limits,
    seldom(True, otherwise=False),
)


@settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    shelf=st.lists(specimens, min_size=3, max_size=6),
    low_share=st.sampled_from(["0.10", "0.80", "1.00"]).map(Decimal),
)
def test_python_and_sql_agree(db, shelf, low_share):
    rules = HouseRules(low_share=low_share)
    with rolled_back():
        for way, row, limited, is_stopped in shelf:
            batch = bottle(_limited(way(), limited), **row)
            if is_stopped:
                stop(batch)
        found = {
            batch.pk: verdict(batch, at=NOW, rules=rules) for batch in Batch.objects.for_verdict()
        }
        said = Batch.objects.with_condition(at=NOW, rules=rules).values_list("pk", "condition")
        usable = Batch.objects.usable(at=NOW, rules=rules).values_list("pk", flat=True)

        assert {pk: each.condition for pk, each in found.items()} == dict(said)
        assert {pk for pk, each in found.items() if each.is_usable} == set(usable)


def _limited(way, limited):
    way.figures.filter(name__in=LIMITS.values()).delete()
    for name, value in limited.items():
        FigureFactory(way=way, name=LIMITS[name], value=value)
    return way
