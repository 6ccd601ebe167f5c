from datetime import timedelta
from uuid import uuid4

import pytest

from chemistry.models import Role
from chemistry.stopping import stop_batch
from darkroom.errors import NotAllowed
from sessions.fetching import NothingToFetch, fetch_bottles
from tests.factories.chemistry import mixed_batch
from tests.factories.darkroom import NOW
from tests.factories.sessions import TOMORROW_NOON, bench

pytestmark = pytest.mark.django_db


def waiting(house, member, *, sheets=4, starts_at=TOMORROW_NOON):
    plan = house.plan(member, sheets=sheets).with_bottles({}, accepts_mixing=True)
    return house.book(member, plan=plan, starts_at=starts_at)


def fetch(visit, by, *, key=None):
    return fetch_bottles(visit=visit, key=key or uuid4(), by=by, at=NOW)


def promised(visit):
    return {a.step.role: a.batch for a in visit.allotments.open()}


def test_bottles_mixed_meanwhile_are_promised_and_the_others_awaited(ada):
    house = bench(with_bottles=False)
    visit = waiting(house, ada)
    developer = mixed_batch(house.developer)

    fetch(visit, ada)

    assert promised(visit) == {Role.DEVELOPER: developer, Role.STOP: None, Role.FIXER: None}


def test_a_bottle_that_is_promised_out_does_not_serve(ada, cyd):
    house = bench(with_bottles=False, capacity_au_per_l=1)
    first = waiting(house, ada)
    second = waiting(house, cyd, sheets=1, starts_at=first.starts_at + timedelta(hours=4))
    mixed_batch(house.developer)

    fetch(first, ada)

    with pytest.raises(NothingToFetch):
        fetch(second, cyd)


def test_without_a_new_bottle_nothing_changes(ada):
    visit = waiting(bench(with_bottles=False), ada)

    with pytest.raises(NothingToFetch):
        fetch(visit, ada)


def test_sent_twice_it_is_done_once(ada):
    house, key = bench(with_bottles=False), uuid4()
    visit = waiting(house, ada)
    mixed_batch(house.developer)

    assert fetch(visit, ada, key=key) == fetch(visit, ada, key=key)


def test_who_may_fetch(ada, ben, cyd, aud):
    house = bench(with_bottles=False)
    visit = waiting(house, ada)
    developer = mixed_batch(house.developer)

    for stranger in (cyd, aud):
        with pytest.raises(NotAllowed):
            fetch(visit, stranger)
    fetch(visit, ben)

    assert promised(visit)[Role.DEVELOPER] == developer


def test_another_bottle_takes_the_place_of_one_that_was_stopped(ada):
    house = bench()
    visit = house.book(ada)
    kept = promised(visit)
    stop_batch(batch=kept[Role.FIXER], seen="cloudy", key=uuid4(), by=ada, at=NOW)
    other = mixed_batch(house.fixer)

    fetch(visit, ada)

    assert promised(visit) == kept | {Role.FIXER: other}


def test_while_there_is_no_other_the_stopped_one_stays_promised(ada):
    visit = bench().book(ada)
    kept = promised(visit)
    stop_batch(batch=kept[Role.FIXER], seen="cloudy", key=uuid4(), by=ada, at=NOW)

    with pytest.raises(NothingToFetch):
        fetch(visit, ada)

    assert promised(visit) == kept
