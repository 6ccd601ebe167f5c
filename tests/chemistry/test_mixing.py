"""Making up a bottle."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from chemistry.checks import InTheFuture, NotAVolume
from chemistry.mixing import Breakdown, OldVersion, breakdown, mix_batch
from chemistry.models import Batch, FigureName, Movement, Role
from chemistry.models.batches import Storage
from chemistry.wear_cache import cached_state
from darkroom.errors import NotAllowed
from darkroom.operations import AlreadySent
from tests.factories.chemistry import (
    FigureFactory,
    RecipeVersionFactory,
    mixed_batch,
    reused_way,
    stock_way,
)
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db
LITRE_UL = 1_000_000


def mix(ben, **changes):
    figures = {
        "way": None,
        "volume_ul": LITRE_UL,
        "storage": Storage.FULL,
        "happened_at": NOW,
        "key": uuid4(),
        "by": ben,
        "at": NOW,
    }
    figures |= changes
    figures["way"] = figures["way"] or reused_way()
    return mix_batch(**figures)


def test_bottle_is_full_to_the_mark(ben):
    batch = mix(ben)

    entry = Movement.objects.get()
    assert (str(entry.source), entry.target.batch, entry.quantity) == ("Supply", batch, LITRE_UL)
    assert (batch.account.balance, batch.account.capacity, batch.full_ul) == (LITRE_UL,) * 3
    assert (batch.stream, batch.account.stream, cached_state(batch).wear) == ("fixer", "fixer", 0)


def test_codes_count_up_under_the_letter_of_the_recipe(ben):
    fixer, developer = reused_way(), reused_way(Role.DEVELOPER)
    codes = [mix(ben, way=way).code for way in (fixer, developer, fixer, reused_way())]

    assert codes == ["F-1", "D-1", "F-2", "F-3"]


def test_numbers_count_as_numbers(ben):
    way = reused_way()
    Batch.objects.filter(pk=mix(ben, way=way).pk).update(code="F-9")
    Batch.objects.filter(pk=mix(ben, way=way).pk).update(code="F-old")

    assert [mix(ben, way=way).code, mix(ben, way=way).code] == ["F-10", "F-11"]


@pytest.mark.parametrize(
    ("storage", "days"), [(Storage.FULL, 180), (Storage.PART, 60), (Storage.TANK, None)]
)
def test_keeping_time_follows_how_it_is_stored(ben, storage, days):
    way = reused_way()
    FigureFactory(way=way, name=FigureName.KEEPING_FULL, value=180)
    FigureFactory(way=way, name=FigureName.KEEPING_PART, value=60)

    batch = mix(ben, way=way, storage=storage)
    assert batch.good_until == (days and NOW + timedelta(days=days))


def test_solution_is_usable_once_it_has_stood(ben):
    way = reused_way()
    FigureFactory(way=way, name=FigureName.USABLE_AFTER, value=Decimal("1.5"))

    assert mix(ben, way=way).usable_from == NOW + timedelta(minutes=90)
    assert mix(ben).usable_from == NOW


def test_bottle_may_be_private(ben, ada):
    assert mix(ben, owner=ada).owner == ada


@pytest.mark.parametrize(
    ("change", "refusal", "code", "field"),
    [
        ({"volume_ul": 0}, NotAVolume, "not_a_volume", "volume_ml"),
        ({"volume_ul": -5}, NotAVolume, "not_a_volume", "volume_ml"),
        ({"volume_ul": 10**17}, NotAVolume, "not_a_volume", "volume_ml"),
        (
            {"happened_at": NOW + timedelta(microseconds=1)},
            InTheFuture,
            "in_the_future",
            "happened_at",
        ),
    ],
)
def test_bad_figures_are_refused_beside_their_field(ben, change, refusal, code, field):
    with pytest.raises(refusal) as info:
        mix(ben, **change)

    assert (info.value.code, info.value.field) == (code, field)


def test_rewritten_recipe_is_mixed_in_its_latest_version(ben):
    way = reused_way()
    RecipeVersionFactory(recipe=way.version.recipe, number=2)

    with pytest.raises(OldVersion) as info:
        mix(ben, way=way)
    assert (info.value.code, info.value.field) == ("old_version", "way")


@pytest.mark.parametrize("role", ["ada", "aud"])
def test_only_a_steward_mixes(request, role):
    with pytest.raises(NotAllowed) as info:
        mix(request.getfixturevalue(role))
    assert (info.value.code, info.value.status) == ("not_allowed", 403)


def test_form_sent_twice_is_mixed_once(ben):
    key, way = uuid4(), reused_way()
    first = mix(ben, way=way, key=key, happened_at=NOW, at=NOW)
    later = NOW + timedelta(seconds=2)
    second = mix(ben, way=way, key=key, happened_at=later, at=later)

    assert (first, Batch.objects.count()) == (second, 1)


def test_form_sent_again_with_other_figures_is_not_taken(ben):
    key, way = uuid4(), reused_way()
    mix(ben, way=way, key=key)

    with pytest.raises(AlreadySent):
        mix(ben, way=way, key=key, volume_ul=2 * LITRE_UL)
    assert Batch.objects.count() == 1


def test_refused_form_may_be_sent_again(ben):
    key = uuid4()
    with pytest.raises(NotAVolume):
        mix(ben, key=key, volume_ul=0)

    assert mix(ben, key=key).code == "F-1"


def test_dilution_is_worked_out_to_the_whole():
    assert breakdown(reused_way(mix_n=4), LITRE_UL) == Breakdown(LITRE_UL, "1+4", 200_000, 800_000)
    assert breakdown(reused_way(mix_n=2), LITRE_UL) == Breakdown(LITRE_UL, "1+2", 333_333, 666_667)


def test_powder_has_no_dilution():
    assert breakdown(stock_way(), LITRE_UL) == Breakdown(LITRE_UL, "", None, None)


def test_factory_makes_what_the_operation_makes():
    assert mixed_batch(volume_ml=250).account.balance == 250_000
