from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from chemistry.science.area import AU_MM2
from chemistry.science.wear import BathFigures, BathState
from sessions.planning.promises import Bottle, Promise, after_all, failures, newly_failing

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
LITRE = 1_000_000
REUSED = BathFigures(way="reused", capacity_mm2_per_l={"film": 10 * AU_MM2})
STOCK = BathFigures(way="to_draw", capacity_mm2_per_l={})
REPLENISHED = BathFigures(
    way="replenished",
    capacity_mm2_per_l={},
    replenish_ul_per_au=Decimal(70_000),
    arrears_limit_mm2_per_l=4 * AU_MM2,
    turnover_limit=Decimal(2),
    area_limit_mm2_per_l=30 * AU_MM2,
)


def bottle(figures=REUSED, **changes):
    given = {"state": BathState(volume_ul=LITRE), "full_ul": LITRE, "usable_from": NOON}
    return Bottle(figures=figures, **given | changes)


def promise(key=1, *, hour=0, au=1, hours=1, **changes):
    given = {
        "session": key,
        "member": 1,
        "starts_at": NOON + timedelta(hours=hour),
        "ends_at": NOON + timedelta(hours=hour + hours),
        "material": "film",
        "area_mm2": au * AU_MM2,
        "borrowed_ul": 400_000,
    }
    return Promise(key=key, **given | changes)


def codes(found):
    return {key: failure.code for key, failure in found.items()}


def test_what_exactly_reaches_the_capacity_still_goes():
    promised = [promise(1, au=6), promise(2, hour=2, au=4)]

    assert failures(bottle(), promised) == {}


def test_one_sheet_more_than_the_capacity_does_not_go():
    promised = [promise(1, au=6), promise(2, hour=2, au=Decimal("4.25"))]

    assert codes(failures(bottle(), promised)) == {2: "spent"}


def test_wear_so_far_counts_first():
    worn = bottle(state=BathState(volume_ul=LITRE, wear=Decimal("0.5")))

    assert codes(failures(worn, [promise(1, au=6)])) == {1: "spent"}


def test_an_earlier_promise_takes_the_place_of_a_later_one():
    new = promise(2, hour=-3, au=6, starts_at=NOON)

    broken = newly_failing(bottle(), [promise(1, hour=2, au=6)], new)

    assert [(f.key, f.code) for f in broken] == [(1, "spent")]


def test_a_promise_that_failed_before_is_nobodys_fault():
    hopeless = promise(1, hour=3, au=60)

    assert newly_failing(bottle(), [hopeless], promise(2, au=1)) == ()


def test_a_promise_whose_time_has_passed_still_counts():
    forgotten = promise(1, hour=-30, au=8, starts_at=NOON)

    assert codes(failures(bottle(), [forgotten, promise(2, au=4, hour=5)])) == {2: "spent"}


def test_overlapping_loans_share_the_volume():
    at_once = [promise(key, au=Decimal("0.1")) for key in (1, 2, 3)]

    assert codes(failures(bottle(), at_once)) == {3: "volume"}


def test_loans_one_after_the_other_do_not():
    one_by_one = [promise(key, hour=key, au=1) for key in range(1, 5)]

    assert failures(bottle(), one_by_one) == {}


def test_what_is_consumed_does_not_come_back():
    drawn = [
        promise(key, hour=key, borrowed_ul=0, consumed_ul=300_000, au=1) for key in range(1, 5)
    ]

    found = failures(bottle(STOCK), drawn)

    assert codes(found) == {4: "volume"}
    assert (found[4].value, found[4].limit) == (100_000, 300_000)


def test_what_a_loan_loses_is_part_of_the_loan():
    lossy = promise(1, borrowed_ul=LITRE, consumed_ul=20_000)

    assert failures(bottle(), [lossy]) == {}
    assert after_all(bottle(), [lossy]).volume_ul == 980_000


def test_arrears_limit_what_a_replenished_bath_takes():
    found = failures(bottle(REPLENISHED), [promise(1, au=3), promise(2, hour=2, au=2)])

    assert codes(found) == {2: "arrears"}


def test_turnover_and_area_since_mixing_end_a_replenished_bath():
    turned = BathState(volume_ul=LITRE, turnover=Decimal("2.1"))
    used = BathState(volume_ul=LITRE, area_mm2=29 * AU_MM2)

    assert codes(failures(bottle(REPLENISHED, state=turned), [promise()])) == {1: "turnover"}
    assert codes(failures(bottle(REPLENISHED, state=used), [promise(au=2)])) == {1: "area_limit"}


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"is_stopped": True}, "stopped"),
        ({"is_discarded": True}, "discarded"),
        ({"owner": 2}, "private"),
        ({"usable_from": NOON + timedelta(minutes=1)}, "not_yet"),
        ({"good_until": NOON + timedelta(minutes=59)}, "out_of_date"),
        ({"state": BathState(volume_ul=0)}, "volume"),
        ({"figures": BathFigures(way="reused", capacity_mm2_per_l={})}, "class"),
    ],
)
def test_a_bottle_that_is_not_fit_says_why(changes, code):
    assert codes(failures(replace(bottle(), **changes), [promise()])) == {1: code}


@pytest.mark.parametrize(
    "changes",
    [
        {"owner": 1},
        {"usable_from": NOON},
        {"good_until": NOON + timedelta(hours=1)},
    ],
)
def test_a_bottle_that_only_just_does_serves(changes):
    assert failures(replace(bottle(), **changes), [promise()]) == {}


promise_lists = st.lists(
    st.builds(
        lambda hour, au, borrowed, consumed: promise(
            0, hour=hour, au=Decimal(au), borrowed_ul=borrowed, consumed_ul=consumed
        ),
        st.integers(0, 6),
        st.integers(1, 4),
        st.integers(0, 600_000),
        st.integers(0, 300_000),
    ),
    max_size=6,
).map(lambda found: [replace(p, key=n) for n, p in enumerate(found)])


def accepted_of(asked: list[Promise]) -> list[Promise]:
    """Those that a bookkeeper lets in, one after the other."""
    accepted: list[Promise] = []
    for new in asked:
        if not newly_failing(bottle(), accepted, new):
            accepted.append(new)
    return accepted


@given(promise_lists)
def test_promises_accepted_one_by_one_are_all_kept(asked):
    accepted = accepted_of(asked)

    assert failures(bottle(), accepted) == {}
    assert after_all(bottle(), accepted).wear <= 1


@given(promise_lists)
def test_at_no_moment_is_more_out_than_there_is(asked):
    accepted = accepted_of(asked)

    for moment in {p.starts_at for p in accepted}:
        out = sum(p.out_ul for p in accepted if p.starts_at <= moment < p.ends_at)
        gone = sum(p.consumed_ul for p in accepted if p.ends_at <= moment)
        assert out + gone <= LITRE
