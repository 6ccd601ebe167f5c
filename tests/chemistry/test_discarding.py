"""Pouring a bottle out."""

from datetime import timedelta
from uuid import uuid4

import pytest

from chemistry.checks import InTheFuture, NotAVolume
from chemistry.discarding import AlreadyDiscarded, pour_out
from chemistry.ledger import NotEnough, TooFull
from chemistry.models import Account, Movement, Stream
from chemistry.waste import ContainerClosed, WrongStream, hand_over
from chemistry.wear_cache import cached_state, replay_batch
from darkroom.errors import NotAllowed
from tests.chemistry.loads import bath, passed_load
from tests.factories.chemistry import mixed_batch, opened_container
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db


def pour(batch, ben, container=None, volume_ul=None, **changes):
    figures = {"happened_at": NOW, "key": uuid4(), "by": ben, "at": NOW} | changes
    return pour_out(batch=batch, container=container, volume_ul=volume_ul, **figures)


@pytest.fixture
def fixer():
    return mixed_batch()


def test_all_poured_is_discarded(fixer, ben):
    can = opened_container()
    poured = pour(fixer, ben, can, happened_at=NOW - timedelta(hours=1))

    assert poured.discarded_at == NOW - timedelta(hours=1)
    assert Account.objects.get(container=can).balance == 1_000_000
    assert Movement.objects.latest("seq").kind == "pour"


def test_part_poured_leaves_the_rest(fixer, ben):
    poured = pour(fixer, ben, opened_container(), volume_ul=250_000)

    assert (poured.discarded_at, poured.account.balance) == (None, 750_000)
    assert cached_state(poured) == replay_batch(poured)


def test_without_a_container_it_is_unplaced(fixer, ben):
    pour(fixer, ben)

    assert Account.objects.get(kind="unplaced", stream="fixer").balance == 1_000_000


def test_empty_bottle_is_discarded_without_an_entry(ben):
    fixer = mixed_batch(volume_ml=1)
    passed_load(bath(fixer, short_ul=1_000), carry_ul=0)
    entries = Movement.objects.count()

    assert pour(fixer, ben).discarded_at == NOW
    assert Movement.objects.count() == entries


def test_more_than_there_is_is_refused(fixer, ben):
    with pytest.raises(NotEnough) as info:
        pour(fixer, ben, opened_container(), volume_ul=1_000_001)

    assert (info.value.field, info.value.facts) == ("volume_ml", {"most_ul": 1_000_000})


def test_more_than_the_limit_of_the_container_is_refused(fixer, ben):
    can = opened_container(capacity_ml=1_000, fill_limit_pct=90)

    with pytest.raises(TooFull) as info:
        pour(fixer, ben, can)
    assert (info.value.field, info.value.facts) == ("container", {"most_ul": 900_000})


def test_container_of_another_stream_is_refused(fixer, ben):
    with pytest.raises(WrongStream) as info:
        pour(fixer, ben, opened_container(Stream.DEVELOPER))
    assert (info.value.code, info.value.field) == ("wrong_stream", "container")


def test_container_that_has_left_is_refused(fixer, ben):
    can = opened_container()
    pour(fixer, ben, can, volume_ul=1)
    hand_over(
        containers=[can],
        carrier="A carrier",
        document="1",
        happened_at=NOW,
        key=uuid4(),
        by=ben,
        at=NOW,
    )

    with pytest.raises(ContainerClosed) as info:
        pour(fixer, ben, can, volume_ul=1)
    assert (info.value.code, info.value.field) == ("container_closed", "container")


def test_bottle_is_discarded_once(fixer, ben):
    pour(fixer, ben)

    with pytest.raises(AlreadyDiscarded) as info:
        pour(fixer, ben)
    assert (info.value.code, info.value.status) == ("already_discarded", 409)


@pytest.mark.parametrize(
    ("change", "refusal", "field"),
    [
        ({"volume_ul": 0}, NotAVolume, "volume_ml"),
        ({"happened_at": NOW + timedelta(seconds=1)}, InTheFuture, "happened_at"),
    ],
)
def test_bad_figures_are_refused_beside_their_field(fixer, ben, change, refusal, field):
    with pytest.raises(refusal) as info:
        pour(fixer, ben, **change)
    assert info.value.field == field


@pytest.mark.parametrize("role", ["ada", "aud"])
def test_only_a_steward_pours_out(request, fixer, role):
    with pytest.raises(NotAllowed):
        pour(fixer, request.getfixturevalue(role))


def test_form_sent_twice_is_done_once(fixer, ben):
    key = uuid4()
    for _ in range(2):
        pour(fixer, ben, volume_ul=400_000, key=key)

    assert Account.objects.get(batch=fixer).balance == 600_000
