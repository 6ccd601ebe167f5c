"""Tampering of every kind, done with the guards switched off, and what tells of it."""

from contextlib import contextmanager
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.models import ProtectedError

from chemistry import audit, wear_cache
from chemistry.canon import entry_hash
from chemistry.models import Account, AccountKind, Batch, LedgerHead, Movement, Use
from chemistry.verify import Fault, missing_guards, verify
from darkroom.models import Material
from tests.chemistry.loads import bath, passed_load, undone_load
from tests.factories.chemistry import FigureFactory, mixed_batch
from tests.factories.darkroom import NOW, MemberFactory

pytestmark = pytest.mark.django_db
OFF_IN_TESTS = {
    "The trigger movement_no_truncate on chemistry_movement is switched off.",
    "The trigger use_no_truncate on chemistry_use is switched off.",
}


def run(statement, *params):
    """Constraints first, for a table with checks still to come cannot be altered."""
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute(statement, params)


@contextmanager
def guards_off(table="chemistry_movement"):
    run(f"ALTER TABLE {table} DISABLE TRIGGER USER")
    yield
    run(f"ALTER TABLE {table} ENABLE TRIGGER USER")


@pytest.fixture
def house():
    """Nine entries: a bottle mixed, run four times, one run undone; all guards on."""
    for table, trigger in (("movement", "movement_no_truncate"), ("use", "use_no_truncate")):
        run(f"ALTER TABLE chemistry_{table} ENABLE TRIGGER {trigger}")
    fixer = mixed_batch()
    FigureFactory(way=fixer.way, material=Material.TABULAR, value=10)
    for minute in range(4):
        recorded = passed_load(bath(fixer, short_ul=5_000), at=NOW + timedelta(minutes=minute))
    undone_load(recorded, at=NOW + timedelta(minutes=9))
    return fixer


def faults(**options):
    return verify(**options).faults


def parts(**options):
    return {fault.part for fault in faults(**options)}


def test_untouched_house_holds(house):
    outcome = verify()

    assert outcome.faults == ()
    assert (outcome.entries, outcome.bottles) == (11, 1)


def test_empty_house_holds():
    assert {fault.message for fault in faults()} == OFF_IN_TESTS


CHANGES = {
    "operation": "gen_random_uuid()",
    "happened_at": "happened_at - interval '1 microsecond'",
    "entered_at": "entered_at + interval '1 microsecond'",
    "source_id": "(SELECT id FROM chemistry_account WHERE kind = 'sewer')",
    "target_id": "(SELECT id FROM chemistry_account WHERE kind = 'sewer')",
    "quantity": "quantity + 1",
    "method": "'measured'",
    "kind": "'pour'",
    "reason": "reason || ' '",
    "by_id": "NULL",
    "reverses_id": "7",
    "prev_hash": "repeat('f', 64)",
    "hash": "repeat('f', 64)",
    "seq": "1000",
}


@pytest.mark.parametrize("column", CHANGES)
def test_changed_column_is_told(house, column):
    with guards_off():
        change = f"SET {column} = {CHANGES[column]} WHERE seq = 5"
        run(f"UPDATE chemistry_movement {change}")  # noqa: S608 (our own list above)

    assert "chain" in parts()


def test_every_column_is_tried():
    columns = {field.column for field in Movement._meta.concrete_fields}

    assert set(CHANGES) == columns


def test_changed_quantity_tells_on_its_balances_too(house):
    with guards_off():
        run("UPDATE chemistry_movement SET quantity = quantity + 1 WHERE seq = 5")

    assert parts() == {"chain", "balance", "wear"}


def test_entry_hashed_anew_breaks_the_one_after_it(house):
    entry = Movement.objects.get(seq=5)
    entry.reason = "Somebody's own words"
    with guards_off():
        Movement.objects.filter(seq=5).update(reason=entry.reason, hash=entry_hash(entry))

    assert faults() == (Fault("chain", "Entry 6 does not follow the one before it."),)


def test_entry_taken_from_the_middle_is_told(house):
    with guards_off():
        Movement.objects.filter(seq=4).delete()

    assert Fault("chain", "Entry 4 is missing: 5 follows 3.") in faults()


def test_entry_taken_off_the_end_is_told(house):
    with guards_off():
        Movement.objects.filter(seq=11).delete()

    assert Fault("chain", "The head says 11, the last entry is 10.") in faults()


def cut_off_the_end(fixer, keep):
    """What somebody does who owns the database and knows this house."""
    kept = Movement.objects.get(seq=keep)
    with guards_off(), guards_off("chemistry_use"):
        gone = Movement.objects.filter(seq__gt=keep)
        operations = list(gone.values_list("operation", flat=True))
        Use.objects.filter(operation__in=operations, voids__isnull=False).delete()
        Use.objects.filter(operation__in=operations).delete()
        gone.filter(reverses__isnull=False).delete()
        gone.delete()
    LedgerHead.objects.update(seq=keep, hash=kept.hash, entered_at=kept.entered_at)
    set_balances_anew()
    wear_cache.refresh(fixer)


def set_balances_anew():
    for account in Account.objects.all():
        gained = sum(account.incoming.values_list("quantity", flat=True))
        account.balance = gained - sum(account.outgoing.values_list("quantity", flat=True))
        account.save(update_fields=["balance"])


def test_only_a_printed_report_tells_of_a_cut_end(house):
    printed = audit.report(since=NOW - timedelta(days=9), until=NOW + timedelta(days=9))
    assert faults(against=(printed.hash, printed.seq)) == ()
    cut_off_the_end(house, keep=5)

    assert faults() == ()
    assert faults(against=(printed.hash, printed.seq)) == (
        Fault("report", "There is no entry 11 any more."),
    )


def test_printed_report_tells_of_an_end_written_anew(house):
    printed = audit.report(since=NOW - timedelta(days=9), until=NOW + timedelta(days=9))
    cut_off_the_end(house, keep=5)
    for minute in range(5):
        passed_load(bath(house, short_ul=1), at=NOW + timedelta(minutes=minute))

    assert parts(against=(printed.hash, printed.seq)) == {"report"}


def test_head_set_back_is_told(house):
    LedgerHead.objects.update(seq=4)

    assert parts() == {"chain"}


@pytest.mark.parametrize("kind", [AccountKind.BATCH, AccountKind.LOSS])
def test_changed_balance_is_told(house, kind):
    account = Account.objects.get(kind=kind)
    Account.objects.filter(pk=account.pk).update(balance=account.balance - 1)

    assert parts() >= {"balance"}


@pytest.mark.parametrize("column", ["wear", "arrears_mm2", "turnover", "used_mm2"])
def test_changed_wear_is_told(house, column):
    Batch.objects.filter(pk=house.pk).update(**{column: "0.000000000001"})

    assert parts() == {"wear"}


@pytest.mark.parametrize(
    "change", ["area_mm2 = area_mm2 + 1", "material = 'tabular'", "batch_id = %s"]
)
def test_changed_use_is_told_by_the_wear(house, change):
    params = [mixed_batch().pk] if "%s" in change else []
    with guards_off("chemistry_use"):
        run(f"UPDATE chemistry_use SET {change} WHERE voids_id IS NULL", *params)  # noqa: S608

    assert parts() == {"wear"}


@pytest.mark.parametrize(
    ("table", "trigger"),
    [
        ("chemistry_movement", "movement_chain"),
        ("chemistry_movement", "movement_balance"),
        ("chemistry_movement", "movement_append_only"),
        ("chemistry_movement", "movement_no_truncate"),
        ("chemistry_use", "use_append_only"),
        ("chemistry_use", "use_no_truncate"),
        ("chemistry_account", "account_identity"),
    ],
)
@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("ALTER TABLE {} DISABLE TRIGGER {}", "The trigger {} on {} is switched off."),
        ("ALTER TABLE {} ENABLE REPLICA TRIGGER {}", "The trigger {} on {} is switched off."),
        ("DROP TRIGGER {1} ON {0}", "The trigger {} on {} is missing."),
    ],
)
def test_guard_that_is_off_or_gone_is_told(house, table, trigger, change, message):
    run(change.format(table, trigger))

    assert faults() == (Fault("guard", message.format(trigger, table)),)


def test_guard_that_fires_on_less_is_told(house):
    run("DROP TRIGGER use_append_only ON chemistry_use")
    run(
        "CREATE TRIGGER use_append_only BEFORE UPDATE ON chemistry_use"
        " FOR EACH ROW EXECUTE FUNCTION chemistry_append_only()"
    )

    message = "The trigger use_append_only on chemistry_use is not the one that was written."
    assert faults() == (Fault("guard", message),)


def test_guard_that_does_nothing_is_told(house):
    run(
        "CREATE OR REPLACE FUNCTION chemistry_append_only() RETURNS trigger LANGUAGE plpgsql"
        " AS $$ BEGIN RETURN OLD; END $$"
    )

    message = "The function chemistry_append_only is not the one that was written."
    assert faults() == (Fault("guard", message),)


@pytest.mark.parametrize(
    ("table", "name"),
    [
        ("chemistry_account", "account_vessel_holds_what_it_can"),
        ("chemistry_movement", "movement_quantity_positive"),
        ("chemistry_use", "use_area_positive"),
    ],
)
def test_constraint_that_is_gone_is_told(house, table, name):
    run(f"ALTER TABLE {table} DROP CONSTRAINT {name}")

    assert faults() == (Fault("guard", f"The constraint {name} is missing."),)


def test_index_that_is_gone_is_told(house):
    run("DROP INDEX account_boundary_once")

    assert faults() == (Fault("guard", "The constraint account_boundary_once is missing."),)


def test_truncate_guards_are_off_in_tests_only_and_it_shows():
    assert {fault.message for fault in missing_guards()} == OFF_IN_TESTS


def command(*args):
    out, err = StringIO(), StringIO()
    try:
        call_command("verify", *args, stdout=out, stderr=err)
    except CommandError as error:
        return str(error), err.getvalue()
    return out.getvalue().splitlines()[0], err.getvalue()


def test_command_says_that_all_holds(house):
    assert command() == ("11 entries, 11 accounts, 1 bottle checked: all holds.", "")


def test_command_fails_and_names_the_faults(house):
    LedgerHead.objects.update(seq=4)

    assert command() == (
        "11 entries, 11 accounts, 1 bottle checked, 1 fault found.",
        "chain: The head says 4, the last entry is 11.\n",
    )


def test_command_holds_a_printed_report_against_the_ledger(house):
    last = LedgerHead.objects.get()

    assert command("--against", last.hash, "11")[0].endswith("all holds.")
    assert command("--against", last.hash, "10")[0].endswith("1 fault found.")
    assert command("--against", last.hash, "ten")[0] == (
        "The number of an entry is a whole number, not ten."
    )


def test_whoever_wrote_an_entry_stays(house):
    person = MemberFactory()
    passed_load(bath(house), by=person, at=NOW + timedelta(hours=1))

    with pytest.raises(ProtectedError):
        person.delete()
