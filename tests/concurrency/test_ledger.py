"""Thirty-two people at one bottle, one form, one container; and the lost update that locks stop."""

import threading
import time
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection, transaction

from chemistry import accounts
from chemistry.accounts import Locked
from chemistry.discarding import AlreadyDiscarded, pour_out
from chemistry.ledger import TooFull
from chemistry.mixing import mix_batch
from chemistry.models import Account, Batch, BatchStop, LedgerHead, Movement, Role, Stream
from chemistry.models.batches import Storage
from chemistry.passing import pass_load
from chemistry.science.area import AU_MM2
from chemistry.stopping import AlreadyStopped, stop_batch
from chemistry.verify import balances, chain
from chemistry.waste import place_unplaced
from chemistry.wear_cache import cached_state, replay_batch
from tests.chemistry.loads import bath, passed_load, undone_load
from tests.concurrency.crowd import at_once
from tests.factories.chemistry import mixed_batch, opened_container, reused_way, stock_way
from tests.factories.darkroom import NOW, MemberFactory, StewardFactory

pytestmark = pytest.mark.django_db(transaction=True)
CROWD = 32


def fetched(batch):
    return Batch.objects.select_related("account", "way__version__recipe").get(pk=batch.pk)


def ledger_holds():
    assert [*chain(), *balances()] == []
    assert sum(Account.objects.values_list("balance", flat=True)) == 0


def test_thirty_two_loads_through_one_bottle_wear_it_exactly():
    fixer, by = mixed_batch(reused_way(au_per_l=20), volume_ml=2_000), MemberFactory()
    quarter = Decimal("0.25")
    found = at_once(
        [lambda: passed_load(bath(fetched(fixer)), units=quarter, carry_ul=0, by=by)] * CROWD
    )

    state = cached_state(fetched(fixer))
    assert not [each for each in found if isinstance(each, Exception)]
    assert state.wear == CROWD * quarter / 20 / 2
    assert state.area_mm2 == CROWD * quarter * AU_MM2
    assert state == replay_batch(fixer)


def test_thirty_two_loads_move_their_volumes_exactly():
    """No operation's retry stands behind these: a single deadlock would show."""
    by = MemberFactory()
    ways = [reused_way(Role.DEVELOPER), reused_way(Role.STOP), reused_way(), stock_way()]
    bottles = [mixed_batch(way, volume_ml=5_000) for way in ways]
    opened_container(Stream.FIXER)
    orders = [bottles, bottles[::-1], bottles[2:] + bottles[:2], [bottles[1], bottles[3]]]

    def act(order):
        return lambda: passed_load(*(bath(fetched(each), short_ul=7) for each in order), by=by)

    found = at_once([act(orders[turn % 4]) for turn in range(CROWD)])

    assert not [each for each in found if isinstance(each, Exception)]
    assert all(cached_state(fetched(each)) == replay_batch(each) for each in bottles)
    ledger_holds()


def test_loads_and_their_undoing_at_once_leave_no_wear():
    fixer, by = mixed_batch(), MemberFactory()
    found = at_once([lambda: undone_load(passed_load(bath(fetched(fixer)), by=by), by=by)] * 16)

    assert not [each for each in found if isinstance(each, Exception)]
    assert cached_state(fetched(fixer)) == cached_state(fixer)
    ledger_holds()


def test_one_form_sent_by_thirty_two_mixes_one_bottle():
    way, by, key = reused_way(), StewardFactory(), uuid4()
    figures = {"way": way, "volume_ul": 10**6, "storage": Storage.FULL, "key": key, "by": by}
    found = at_once([lambda: mix_batch(**figures, happened_at=NOW, at=NOW)] * CROWD)

    assert found == [Batch.objects.get()] * CROWD
    assert LedgerHead.objects.get().seq == 1


def test_bottles_mixed_at_once_get_numbers_of_their_own():
    ways, by = [reused_way(), reused_way()], StewardFactory()

    def act(turn):
        return lambda: mixed_batch(ways[turn % 2], by=by).code

    found = at_once([act(turn) for turn in range(CROWD)])

    assert sorted(found) == sorted(f"F-{number}" for number in range(1, CROWD + 1))


def test_one_litre_is_poured_out_once():
    fixer, by = mixed_batch(), StewardFactory()

    def act():
        return pour_out(
            batch=fixer,
            container=None,
            volume_ul=100_000,
            happened_at=NOW,
            key=uuid4(),
            by=by,
            at=NOW,
        )

    found = at_once([act] * CROWD)

    assert sum(isinstance(each, Batch) for each in found) == 10
    assert sum(isinstance(each, AlreadyDiscarded) for each in found) == CROWD - 10
    assert Account.objects.get(batch=fixer).balance == 0


def test_what_is_unplaced_is_placed_once_and_only_below_the_limit():
    by = StewardFactory()
    pour_out(batch=mixed_batch(), container=None, happened_at=NOW, key=uuid4(), by=by, at=NOW)
    cans = [opened_container(capacity_ml=400, fill_limit_pct=100) for _ in range(2)]

    def act(can):
        return lambda: place_unplaced(
            container=can,
            stream="fixer",
            volume_ul=100_000,
            happened_at=NOW,
            key=uuid4(),
            by=by,
            at=NOW,
        )

    found = at_once([act(cans[turn % 2]) for turn in range(CROWD)])

    assert sum(isinstance(each, TooFull) for each in found) == CROWD - 8
    holds = Account.objects.filter(kind="container").values_list("balance", flat=True)
    assert list(holds) == [400_000, 400_000]
    assert Account.objects.get(kind="unplaced", stream="fixer").balance == 200_000


def test_one_bottle_is_stopped_once():
    fixer, by = mixed_batch(), MemberFactory()
    found = at_once(
        [lambda: stop_batch(batch=fixer, seen="Cloudy", key=uuid4(), by=by, at=NOW)] * CROWD
    )

    assert sum(isinstance(each, BatchStop) for each in found) == 1
    assert sum(isinstance(each, AlreadyStopped) for each in found) == CROWD - 1


def unlocked(batch):
    """The same accounts without their locks: what the code would be without this module."""
    account = Account.objects.select_related("batch__way__version__recipe").get(batch=batch)
    return Locked({account.pk: account}, frozenset({batch.stream}))


def locked(batch):
    return accounts.lock(batch_ids=[batch.pk], streams=[batch.stream])


def use(fixer, by, lock):
    pass_load(
        [bath(fixer)],
        locked=lock(fixer),
        area_mm2=AU_MM2,
        material="film",
        carry_ul_per_au=0,
        operation=uuid4(),
        by=by,
        happened_at=NOW,
        at=NOW,
    )


def wait_for_somebody_waiting():
    """Until another connection waits for a lock that this one holds."""
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline:
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT count(*) FROM pg_locks"
                " WHERE NOT granted AND pg_backend_pid() = ANY(pg_blocking_pids(pid))"
            )
            if cursor.fetchone()[0]:
                return
        time.sleep(0.01)
    raise AssertionError("nobody waited")


@pytest.mark.parametrize(("lock", "remembered"), [(unlocked, 1), (locked, 2)])
def test_second_of_two_loads_sees_the_first_only_under_the_lock(lock, remembered):
    fixer, by = mixed_batch(reused_way(au_per_l=20)), MemberFactory()
    other = fetched(fixer)

    def second():
        try:
            with transaction.atomic():
                use(other, by, lock)
        finally:
            connection.close()

    with transaction.atomic():
        use(fixer, by, lock)
        thread = threading.Thread(target=second)
        thread.start()
        wait_for_somebody_waiting()
    thread.join(timeout=60)

    assert fetched(fixer).wear == remembered * Decimal("0.05")
    assert replay_batch(fixer).wear == Decimal("0.1")


def test_containers_are_read_after_their_locks():
    """A container that left while somebody waited for it is no longer offered."""
    can, found = opened_container(), []

    def waits():
        try:
            with transaction.atomic():
                found.append(accounts.lock(streams=["fixer"]).containers("fixer"))
        finally:
            connection.close()

    with transaction.atomic():
        accounts.lock(container_ids=[can.pk])
        thread = threading.Thread(target=waits)
        thread.start()
        wait_for_somebody_waiting()
        with connection.cursor() as cursor:
            cursor.execute(
                "INSERT INTO chemistry_consignment"
                " (carrier, document, handed_over_at, entered_at, by_id, operation)"
                " SELECT 'A carrier', 'N-17', now(), now(), id, gen_random_uuid()"
                " FROM darkroom_member LIMIT 1"
            )
            cursor.execute(
                "UPDATE chemistry_wastecontainer SET consignment_id ="
                " (SELECT id FROM chemistry_consignment)"
            )
    thread.join(timeout=60)

    assert found == [[]]


def test_entries_of_a_crowd_are_in_one_order():
    by = MemberFactory()
    bottles = [mixed_batch() for _ in range(8)]

    def act(turn):
        at = NOW + timedelta(seconds=turn)
        return lambda: passed_load(bath(fetched(bottles[turn % 8])), by=by, at=at)

    found = at_once([act(turn) for turn in range(CROWD)])

    assert not [each for each in found if isinstance(each, Exception)]
    entered = list(Movement.objects.order_by("seq").values_list("entered_at", flat=True))
    assert entered == sorted(entered)
    ledger_holds()
