"""The law of the ledger, as the database keeps it and the one writer obeys it."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction

from chemistry import canon, ledger
from chemistry.accounts import boundary
from chemistry.ledger import Line, NotEnough, TooFull
from chemistry.models import Account, AccountKind, LedgerHead, Method, Movement, MovementKind, Use
from tests.chemistry.loads import bath, passed_load, undone_load
from tests.factories.chemistry import mixed_batch, opened_container
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db


def post(*lines, happened_at=NOW, at=NOW, by=None, field=None):
    return ledger.post(lines, operation=uuid4(), by=by, happened_at=happened_at, at=at, field=field)


def water(account, quantity_ul, **options):
    return Line(boundary(AccountKind.SUPPLY), account, quantity_ul, MovementKind.MIX, **options)


def loss(account, quantity_ul):
    return Line(account, boundary(AccountKind.LOSS), quantity_ul, MovementKind.SPILL)


def refused(name):
    """Inside it, the database must refuse for the constraint or trigger of this name."""
    return _Refused(name)


class _Refused:
    def __init__(self, name):
        self.name = name
        self.block = transaction.atomic()
        self.expected = pytest.raises(IntegrityError)

    def __enter__(self):
        self.info = self.expected.__enter__()
        self.block.__enter__()

    def __exit__(self, *exc):
        self.block.__exit__(*exc)
        held = self.expected.__exit__(*exc)
        assert self.info.value.__cause__.diag.constraint_name == self.name
        return held


@pytest.fixture
def bottle():
    """A litre in a bottle that holds a litre."""
    return mixed_batch().account


def test_python_reads_the_hash_that_the_database_wrote(bottle, ben):
    first, second = post(
        loss(bottle, 7), water(bottle, 3, reason="Gläser | é\n", method=Method.MEASURED), by=ben
    )
    (undone,) = post(Line(second.target, second.source, 3, MovementKind.MIX, reverses=second))

    for entry in Movement.objects.filter(pk__in=[first.pk, second.pk, undone.pk]):
        assert canon.entry_hash(entry) == entry.hash
    assert [second.prev_hash, undone.prev_hash] == [first.hash, second.hash]


def test_first_entry_follows_sixty_four_zeros():
    mixed_batch()

    assert Movement.objects.get(seq=1).prev_hash == "0" * 64


def test_entries_are_handed_back_as_the_database_wrote_them(bottle):
    written = post(loss(bottle, 5), loss(bottle, 6))

    assert written == list(Movement.objects.filter(seq__in=[2, 3]))
    assert [entry.seq for entry in written] == [2, 3]


def test_entries_never_run_back_in_time_of_entry(bottle):
    (late,) = post(loss(bottle, 5), at=NOW)
    (next_one,) = post(
        loss(bottle, 5), happened_at=NOW - timedelta(hours=2), at=NOW - timedelta(hours=1)
    )

    assert next_one.entered_at == late.entered_at == NOW
    assert LedgerHead.objects.get().entered_at == NOW


def test_only_net_changes_reach_a_balance():
    full, drain = mixed_batch().account, boundary(AccountKind.LOSS)

    post(water(full, 400), Line(full, drain, 400, MovementKind.CARRY))

    full.refresh_from_db()
    assert full.balance == 1_000_000


def test_load_passes_from_full_bath_to_full_bath():
    developer, stop = mixed_batch(), mixed_batch()
    passed_load(bath(None), bath(developer), bath(stop), bath(None))

    balances = [bottle.account.balance for bottle in (developer, stop)]
    stored = list(Account.objects.filter(kind="batch").values_list("balance", flat=True))
    assert balances == stored == [1_000_000, 1_000_000]


@pytest.mark.parametrize("table", ["chemistry_movement", "chemistry_use"])
@pytest.mark.parametrize("statement", ["UPDATE {} SET operation = operation", "DELETE FROM {}"])
def test_what_was_written_is_neither_changed_nor_deleted(table, statement):
    passed_load(bath(mixed_batch()))

    with refused(f"{table}_append_only"), connection.cursor() as cursor:
        cursor.execute(statement.format(table))


@pytest.mark.parametrize(
    ("table", "trigger"),
    [("chemistry_movement", "movement_no_truncate"), ("chemistry_use", "use_no_truncate")],
)
def test_what_was_written_is_not_truncated(table, trigger):
    passed_load(bath(mixed_batch()))

    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute(f"ALTER TABLE {table} ENABLE TRIGGER {trigger}")
        with refused(f"{table}_append_only"):
            cursor.execute(f"TRUNCATE {table} CASCADE")


def test_account_stays_what_it_is(bottle):
    with refused("account_identity"):
        Account.objects.filter(pk=bottle.pk).update(stream="stop")


def test_both_sides_share_a_unit(bottle):
    silver = boundary(AccountKind.RECOVERY, unit="mg")

    with refused("movement_one_unit"):
        post(Line(bottle, silver, 1, MovementKind.DRAW))


def test_entry_is_reversed_once(bottle):
    (entry,) = post(loss(bottle, 5))
    back = Line(entry.target, entry.source, 5, MovementKind.SPILL, reverses=entry)
    post(back)

    with refused("movement_reversed_once"):
        post(back)


@pytest.mark.parametrize("change", ["quantity", "sides", "of a reversal"])
def test_reversal_is_the_exact_swap_of_an_entry(bottle, change):
    (entry,) = post(loss(bottle, 5))
    sides = (entry.source, entry.target) if change == "sides" else (entry.target, entry.source)
    if change == "of a reversal":
        (entry,) = post(Line(*sides, 5, MovementKind.SPILL, reverses=entry))

    with refused("movement_reversal_is_a_swap"):
        quantity = 4 if change == "quantity" else 5
        post(Line(*sides, quantity, MovementKind.SPILL, reverses=entry))


def test_reversal_happened_when_its_original_did(bottle):
    (entry,) = post(loss(bottle, 5), happened_at=NOW - timedelta(days=3))
    (back,) = post(Line(entry.target, entry.source, 5, MovementKind.SPILL, reverses=entry))

    assert back.happened_at == NOW - timedelta(days=3)


def test_intention_beyond_a_balance_says_what_there_is(bottle):
    post(loss(bottle, 937_500))

    with pytest.raises(NotEnough) as refusal, transaction.atomic():
        post(loss(bottle, 100_000), field="volume_ml")

    assert (refusal.value.code, refusal.value.field) == ("not_enough", "volume_ml")
    assert refusal.value.facts == {"most_ul": 62_500}
    assert refusal.value.message == "F-1 holds 62.5 mL, not 100 mL. At most 62.5 mL can be taken."


def test_intention_beyond_a_brim_says_what_fits(bottle):
    post(loss(bottle, 200_000))

    with pytest.raises(TooFull) as refusal, transaction.atomic():
        post(water(bottle, 250_000), field="added_ml")

    assert (refusal.value.code, refusal.value.field) == ("too_full", "added_ml")
    assert (
        refusal.value.message == "F-1 has room for 200 mL, not for 250 mL. Put in at most 200 mL."
    )


def test_fact_beyond_a_balance_is_made_good_from_the_unexplained(bottle):
    post(*ledger.settle([loss(bottle, 1_200_000)]))

    assert bottle.balance == 0
    flagged = Movement.objects.get(kind=MovementKind.SHORTFALL)
    assert (flagged.source.kind, flagged.target, flagged.quantity) == (
        "unexplained",
        bottle,
        200_000,
    )


def test_fact_beyond_a_bottles_brim_is_unexplained(bottle):
    post(*ledger.settle([water(bottle, 1)]))

    flagged = Movement.objects.get(kind=MovementKind.SHORTFALL)
    assert (flagged.source, flagged.target.kind, flagged.quantity) == (bottle, "unexplained", 1)


def test_fact_beyond_a_containers_brim_is_unplaced():
    can = opened_container(capacity_ml=1).account

    post(*ledger.settle([water(can, 1_500)]))

    flagged = Movement.objects.get(kind=MovementKind.SHORTFALL)
    assert (flagged.target.kind, flagged.target.stream) == ("unplaced", "fixer")
    assert (can.balance, flagged.quantity) == (1_000, 500)


def test_what_is_unplaced_never_falls_below_nothing():
    heap = boundary(AccountKind.UNPLACED, stream="fixer")
    post(water(heap, 100))

    post(*ledger.settle([loss(heap, 130)]))

    heap.refresh_from_db()
    assert heap.balance == 0


def test_balances_of_everything_sum_to_nothing():
    operation = passed_load(bath(mixed_batch(), short_ul=33), bath(mixed_batch()))
    undone_load(operation)

    assert sum(Account.objects.values_list("balance", flat=True)) == 0


def test_house_has_one_account_of_a_kind():
    assert boundary(AccountKind.SUPPLY) == boundary(AccountKind.SUPPLY)
    assert boundary(AccountKind.UNPLACED, stream="stop") != boundary(
        AccountKind.UNPLACED, stream="fixer"
    )


def test_uses_and_movements_of_a_load_carry_its_operation():
    operation = passed_load(bath(mixed_batch()))

    assert Use.objects.filter(operation=operation).count() == 1
    assert Movement.objects.filter(operation=operation).count() == 1
