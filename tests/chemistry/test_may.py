"""What an induction lets a member do to the solutions, and nobody else."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest

from chemistry.discarding import pour_out
from chemistry.mixing import mix_batch
from chemistry.models import Stream
from chemistry.models.batches import Storage
from chemistry.replenishing import replenish_batch
from chemistry.stopping import release_batch, stop_batch
from darkroom.errors import NotAllowed
from darkroom.models import Doing
from tests.factories.chemistry import mixed_batch, opened_container, replenished_way, reused_way
from tests.factories.darkroom import NOW
from tests.factories.inductions import let

pytestmark = pytest.mark.django_db
TICK = timedelta(microseconds=1)


def mix(by, *, owner=None, at=NOW):
    return mix_batch(
        way=reused_way(),
        volume_ul=1_000_000,
        storage=Storage.FULL,
        owner=owner,
        happened_at=at,
        key=uuid4(),
        by=by,
        at=at,
    )


def top_up(by, *, owner=None, at=NOW):
    bath = mixed_batch(replenished_way(), owner=owner)
    opened_container(Stream.DEVELOPER)
    return replenish_batch(batch=bath, added_ul=10_000, happened_at=at, key=uuid4(), by=by, at=at)


def pour(by, *, owner=None, at=NOW):
    bottle = mixed_batch(owner=owner)
    return pour_out(batch=bottle, container=None, happened_at=at, key=uuid4(), by=by, at=at)


ACTS = {Doing.MIX: mix, Doing.TOP_UP: top_up, Doing.POUR_OUT: pour}


@pytest.mark.parametrize("doing", Doing)
@pytest.mark.parametrize("shown", Doing)
def test_member_does_what_they_were_shown_and_nothing_else(ada, doing, shown):
    let(ada, shown)

    if doing == shown:
        assert ACTS[doing](ada).pk
    else:
        with pytest.raises(NotAllowed) as refusal:
            ACTS[doing](ada)
        assert (refusal.value.code, refusal.value.status) == ("not_allowed", 403)


@pytest.mark.parametrize("doing", Doing)
@pytest.mark.parametrize("who", ["ben", "adm"])
def test_stewards_need_none(doing, who, request):
    assert ACTS[doing](request.getfixturevalue(who)).pk


@pytest.mark.parametrize("doing", Doing)
def test_an_auditor_does_nothing_whatever_they_were_shown(aud, doing):
    let(aud, doing)

    with pytest.raises(NotAllowed):
        ACTS[doing](aud)


@pytest.mark.parametrize("doing", Doing)
def test_it_ends_at_its_very_moment(ada, doing):
    let(ada, doing, expires_at=NOW + TICK)

    assert ACTS[doing](ada).pk
    with pytest.raises(NotAllowed, match="“May "):
        ACTS[doing](ada, at=NOW + TICK)


@pytest.mark.parametrize("doing", Doing)
def test_private_bottles_of_others_stay_the_stewards(ada, cyd, ben, doing):
    let(ada, doing)

    with pytest.raises(NotAllowed, match="another member's own"):
        ACTS[doing](ada, owner=cyd)
    assert ACTS[doing](ada, owner=ada).pk
    assert ACTS[doing](ben, owner=cyd).pk


def test_a_stopped_bottle_is_still_released_by_a_steward_alone(ada):
    for doing in Doing:
        let(ada, doing)
    bottle = mixed_batch()
    stop_batch(batch=bottle, seen="cloudy", key=uuid4(), by=ada, at=NOW)

    with pytest.raises(NotAllowed):
        release_batch(batch=bottle, reason="fine", key=uuid4(), by=ada, at=NOW)
