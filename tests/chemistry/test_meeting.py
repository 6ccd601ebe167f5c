"""What meets in a container."""

from datetime import timedelta
from uuid import uuid4

import pytest

from chemistry import ledger
from chemistry.discarding import pour_out
from chemistry.ledger import Line
from chemistry.meeting import DangerousMixture, WarnedMixture, classes_in, classes_waiting
from chemistry.models import Account, Batch, MovementKind, RecipeVersion
from chemistry.waste import place_unplaced
from darkroom.operations import AlreadySent
from tests.factories.chemistry import mixed_batch, opened_container, reused_way
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db

ACID_FIXER = ("SULFITE_THIOSULFATE", "AMMONIUM", "ACID")
ALKALINE_FIXER = ("SULFITE_THIOSULFATE", "AMMONIUM")
TONER = ("SULFIDE",)


def bottle(classes):
    """A bottle of the fixer stream that counts as this."""
    way = reused_way()
    RecipeVersion.objects.filter(pk=way.version_id).update(classes=classes)
    return Batch.objects.get(pk=mixed_batch(way).pk)


def pour(batch, can, by, **changes):
    figures = {"volume_ul": 100_000, "happened_at": NOW, "key": uuid4(), "by": by, "at": NOW}
    return pour_out(batch=batch, container=can, **(figures | changes))


def place(can, by, **changes):
    figures = {"volume_ul": 50_000, "happened_at": NOW, "key": uuid4(), "by": by, "at": NOW}
    return place_unplaced(container=can, stream="fixer", **(figures | changes))


def held(can):
    account = Account.objects.get(container=can)
    return set(classes_in([account])[account.pk])


def taken_back(by):
    """The last entry, undone."""
    entry = ledger.Movement.objects.latest("seq")
    back = Line(entry.target, entry.source, entry.quantity, MovementKind.CORRECT)
    ledger.post([back], operation=uuid4(), by=by, happened_at=NOW, at=NOW)


@pytest.fixture
def can(db):
    return opened_container()


def test_empty_container_takes_anything(can, ben):
    pour(bottle(TONER), can, ben)

    assert held(can) == {"SULFIDE"}


def test_container_holds_the_classes_of_all_that_was_poured(can, ben):
    pour(bottle(ALKALINE_FIXER), can, ben)
    pour(bottle(("ORGANIC_REDUCER",)), can, ben)

    assert held(can) == {*ALKALINE_FIXER, "ORGANIC_REDUCER"}


def test_the_same_again_is_poured_without_a_word(can, ben):
    for _ in range(2):
        pour(bottle(ACID_FIXER), can, ben)

    assert Account.objects.get(container=can).balance == 200_000


@pytest.mark.parametrize("is_accepted", [False, True])
def test_what_must_never_meet_is_refused_beside_the_container(can, ben, is_accepted):
    pour(bottle(ACID_FIXER), can, ben)
    with pytest.raises(DangerousMixture) as info:
        pour(bottle(TONER), can, ben, is_accepted=is_accepted)

    assert (info.value.code, info.value.field) == ("dangerous_mixture", "container")
    assert f"In {can} sulfide would meet acid." in info.value.message
    assert "frees hydrogen sulfide" in info.value.message
    assert Account.objects.get(container=can).balance == 100_000


def test_the_other_way_round_it_is_refused_as_well(can, ben):
    pour(bottle(TONER), can, ben)
    with pytest.raises(DangerousMixture):
        pour(bottle(ACID_FIXER), can, ben)


def test_what_is_warned_of_asks_for_a_yes(can, ben):
    pour(bottle(ACID_FIXER), can, ben)
    with pytest.raises(WarnedMixture) as info:
        pour(bottle(ALKALINE_FIXER), can, ben)

    assert (info.value.code, info.value.field) == ("warned_mixture", "is_accepted")
    assert "sulfur dioxide" in info.value.message


def test_with_a_yes_it_is_poured(can, ben):
    pour(bottle(ACID_FIXER), can, ben)
    pour(bottle(ALKALINE_FIXER), can, ben, is_accepted=True)

    assert Account.objects.get(container=can).balance == 200_000


def test_a_yes_is_part_of_what_was_sent(can, ben):
    batch, key = bottle(ACID_FIXER), uuid4()
    pour(batch, can, ben, key=key)

    with pytest.raises(AlreadySent):
        pour(batch, can, ben, key=key, is_accepted=True)


def test_beside_the_containers_nothing_is_asked(can, ben):
    pour(bottle(ACID_FIXER), can, ben)
    pour(bottle(TONER), None, ben)

    assert classes_waiting("fixer") == {"SULFIDE"}
    assert classes_waiting("stop") == frozenset()


def test_what_was_taken_back_is_no_longer_in_it(can, ben):
    pour(bottle(TONER), can, ben)
    taken_back(ben)

    assert held(can) == set()
    pour(bottle(ACID_FIXER), can, ben)


def test_what_was_taken_back_in_part_still_is(can, ben):
    toner = bottle(TONER)
    pour(toner, can, ben)
    pour(toner, can, ben)
    taken_back(ben)

    assert held(can) == {"SULFIDE"}


def test_what_waited_is_refused_like_what_is_poured(can, ben):
    pour(bottle(ACID_FIXER), can, ben)
    pour(bottle(TONER), None, ben)

    with pytest.raises(DangerousMixture) as info:
        place(can, ben)
    assert info.value.field == "container"


def test_what_waited_asks_for_a_yes(can, ben):
    pour(bottle(ACID_FIXER), can, ben)
    pour(bottle(ALKALINE_FIXER), None, ben)
    with pytest.raises(WarnedMixture):
        place(can, ben)

    place(can, ben, is_accepted=True)
    assert Account.objects.get(container=can).balance == 150_000


def test_what_was_placed_counts_as_everything_that_waited_then(can, ben):
    pour(bottle(ALKALINE_FIXER), None, ben)
    pour(bottle(("SELENIUM",)), None, ben)
    place(can, ben)

    assert held(can) == {*ALKALINE_FIXER, "SELENIUM"}
    with pytest.raises(DangerousMixture):
        pour(bottle(ACID_FIXER), can, ben)


def test_an_empty_heap_forgets_what_stood_there(can, ben):
    pour(bottle(TONER), None, ben)
    place(can, ben, volume_ul=100_000)
    pour(bottle(ACID_FIXER), None, ben)
    other = opened_container()
    place(other, ben)

    assert held(can) == {"SULFIDE"}
    assert held(other) == set(ACID_FIXER)
    assert classes_waiting("fixer") == set(ACID_FIXER)


@pytest.mark.parametrize("bottles", [1, 6])
def test_contents_ask_the_database_the_same_for_many(can, ben, bottles, django_assert_num_queries):
    opened_container()
    for _ in range(bottles):
        pour(bottle(ACID_FIXER), can, ben)
        pour(bottle(ACID_FIXER), None, ben)
        place(can, ben, happened_at=NOW - timedelta(hours=1))
    accounts = list(Account.objects.filter(container__isnull=False))

    with django_assert_num_queries(4):
        classes_in(accounts)
