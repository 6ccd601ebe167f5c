"""Containers: opened, filled, handed over."""

from datetime import timedelta
from uuid import uuid4

import pytest

from chemistry.checks import InTheFuture, NotAVolume, WordsWanted
from chemistry.discarding import pour_out
from chemistry.ledger import NotEnough, TooFull
from chemistry.models import Account, Consignment, Movement, Stream, WasteContainer
from chemistry.waste import (
    CodeTaken,
    ContainerClosed,
    NotALimit,
    NothingToHandOver,
    WrongStream,
    hand_over,
    open_container,
    place_unplaced,
)
from darkroom.errors import NotAllowed
from tests.factories.chemistry import mixed_batch, opened_container
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db


def sent(by, **figures):
    return {"happened_at": NOW, "key": uuid4(), "by": by, "at": NOW} | figures


def opened(by, **changes):
    figures = {"code": "W-1", "stream": "fixer", "capacity_ul": 10**7, "fill_limit_pct": 90}
    return open_container(**sent(by, **(figures | changes)))


def placed(by, can, volume_ul, **changes):
    figures = {"container": can, "stream": "fixer", "volume_ul": volume_ul}
    return place_unplaced(**sent(by, **(figures | changes)))


def handed(by, *cans, **changes):
    figures = {"containers": cans, "carrier": "A carrier", "document": "N-17"}
    return hand_over(**sent(by, **(figures | changes)))


def filled(by, litres=1, **options):
    """A container with so many litres of used fixer in it."""
    can = opened_container(**options)
    fixer = mixed_batch(volume_ml=litres * 1000)
    pour_out(batch=fixer, container=can, **sent(by))
    return can


def balance(kind, **filters):
    return Account.objects.get(kind=kind, **filters).balance


@pytest.fixture
def heap(ben):
    """A litre of used fixer that found no container."""
    pour_out(batch=mixed_batch(), container=None, **sent(ben))


def test_opened_container_is_empty(ben):
    can = opened(ben)

    assert (can.limit_ul, can.account.balance, can.account.capacity) == (9_000_000, 0, 10**7)


@pytest.mark.parametrize(
    ("change", "refusal", "code", "field"),
    [
        ({"capacity_ul": 0}, NotAVolume, "not_a_volume", "capacity_ml"),
        ({"fill_limit_pct": 0}, NotALimit, "not_a_limit", "fill_limit_pct"),
        ({"fill_limit_pct": 101}, NotALimit, "not_a_limit", "fill_limit_pct"),
        ({"code": " "}, WordsWanted, "words_wanted", "code"),
        ({"code": "W-1234567890x"}, WordsWanted, "words_wanted", "code"),
        ({"code": "W-9"}, CodeTaken, "code_taken", "code"),
        ({"happened_at": NOW + timedelta(1)}, InTheFuture, "in_the_future", "happened_at"),
    ],
)
def test_bad_container_is_refused_beside_its_field(ben, change, refusal, code, field):
    opened(ben, code="W-9")

    with pytest.raises(refusal) as info:
        opened(ben, **change)
    assert (info.value.code, info.value.field) == (code, field)


def test_what_was_unplaced_is_placed(ben, heap):
    can = opened(ben)
    placed(ben, can, 400_000)

    assert (balance("unplaced", stream="fixer"), can.account.balance) == (600_000, 0)
    assert balance("container") == 400_000


def test_more_than_is_unplaced_is_refused(ben, heap):
    with pytest.raises(NotEnough) as info:
        placed(ben, opened(ben), 1_000_001)
    assert (info.value.field, info.value.facts) == ("volume_ml", {"most_ul": 1_000_000})


def test_more_than_the_container_takes_is_refused(ben, heap):
    with pytest.raises(TooFull) as info:
        placed(ben, opened(ben, capacity_ul=500_000), 460_000)
    assert (info.value.field, info.value.facts) == ("volume_ml", {"most_ul": 450_000})


def test_container_of_another_stream_takes_nothing(ben, heap):
    with pytest.raises(WrongStream):
        placed(ben, opened(ben, stream=Stream.STOP), 1)


def test_handed_over_containers_are_empty_and_closed(ben):
    cans = [filled(ben, litres=2), filled(ben)]
    consignment = handed(ben, *cans)

    assert list(consignment.containers.all()) == cans
    assert (balance("carrier"), balance("container", container=cans[0])) == (3_000_000, 0)
    assert Movement.objects.filter(operation=consignment.operation).count() == 2


def test_measured_volume_counts_and_the_rest_is_unexplained(ben):
    less, more = filled(ben, litres=2), filled(ben)
    handed(ben, less, more, quantities_ul={less.pk: 1_900_000, more.pk: 1_050_000})

    assert (balance("carrier"), balance("unexplained")) == (2_950_000, 50_000)
    assert set(Account.objects.filter(kind="container").values_list("balance", flat=True)) == {0}
    assert Movement.objects.filter(kind="correct", method="measured").count() == 2


def test_measured_as_reckoned_needs_no_correction(ben):
    can = filled(ben)
    handed(ben, can, quantities_ul={can.pk: 1_000_000})

    assert Movement.objects.filter(kind="correct").count() == 0
    assert Movement.objects.latest("seq").method == "measured"


def test_more_than_the_brim_cannot_have_been_measured(ben):
    can = filled(ben, capacity_ml=2_000)

    with pytest.raises(TooFull) as info:
        handed(ben, can, quantities_ul={can.pk: 2_000_001})
    assert info.value.field == f"measured-{can.code}"
    assert Consignment.objects.count() == 0


def test_container_leaves_once(ben):
    can = filled(ben)
    handed(ben, can)

    with pytest.raises(ContainerClosed) as info:
        handed(ben, can)
    assert info.value.field == "containers"


@pytest.mark.parametrize("measured_ul", [None, 0])
def test_empty_container_stays(ben, measured_ul):
    can = opened(ben)
    measured = {} if measured_ul is None else {can.pk: measured_ul}

    with pytest.raises(NothingToHandOver) as info:
        handed(ben, can, quantities_ul=measured)
    assert (info.value.code, info.value.field) == ("nothing_to_hand_over", "containers")


@pytest.mark.parametrize(
    ("change", "refusal", "field"),
    [
        ({"carrier": " "}, WordsWanted, "carrier"),
        ({"document": ""}, WordsWanted, "document"),
        ({"document": "9" * 61}, WordsWanted, "document"),
        ({"containers": []}, NothingToHandOver, "containers"),
        ({"happened_at": NOW + timedelta(1)}, InTheFuture, "happened_at"),
    ],
)
def test_bad_hand_over_is_refused_beside_its_field(ben, change, refusal, field):
    with pytest.raises(refusal) as info:
        handed(ben, filled(ben), **change)
    assert info.value.field == field


@pytest.mark.parametrize("role", ["ada", "aud"])
def test_only_a_steward_handles_waste(request, ben, role):
    by, can = request.getfixturevalue(role), filled(ben)

    for act in (lambda: opened(by), lambda: placed(by, can, 1), lambda: handed(by, can)):
        with pytest.raises(NotAllowed):
            act()


def test_forms_sent_twice_are_done_once(ben, heap):
    keys = {name: uuid4() for name in ("open", "place", "hand")}
    for _ in range(2):
        can = opened(ben, key=keys["open"])
        placed(ben, can, 300_000, key=keys["place"])
        handed(ben, can, key=keys["hand"])

    assert (WasteContainer.objects.count(), Consignment.objects.count()) == (1, 1)
    assert balance("carrier") == 300_000
