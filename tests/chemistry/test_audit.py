"""Where every microlitre of a stream went, over any period."""

from datetime import timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest

from chemistry import audit
from chemistry.audit import NoSuchEntry
from chemistry.canon import GENESIS
from chemistry.discarding import pour_out
from chemistry.models import LedgerHead, Movement, Role, Stream
from chemistry.waste import hand_over
from tests.chemistry.loads import bath, passed_load, undone_load
from tests.factories.chemistry import mixed_batch, opened_container, reused_way
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def report(since=NOW - 9 * DAY, until=NOW + DAY, **options):
    return audit.report(since=since, until=until, **options)


def figures(found, stream):
    line = next(line for line in found.lines if line.stream == stream)
    return {part: line.part_ul(part) for part in audit.PARTS if line.part_ul(part)}


@pytest.fixture
def month(ben):
    """Fixer mixed nine days ago, used from a stop bath, topped by a shortfall, carted off."""
    fixer = mixed_batch(at=NOW - 9 * DAY)
    stop = mixed_batch(reused_way(Role.STOP), volume_ml=5, at=NOW - 9 * DAY)
    can = opened_container(at=NOW - 9 * DAY)
    at = NOW - 3 * DAY
    passed_load(bath(stop), bath(fixer, short_ul=7_000), bath(None), at=at)
    pour_out(batch=fixer, container=can, happened_at=NOW, key=uuid4(), by=ben, at=NOW)
    hand_over(
        containers=[can],
        carrier="A carrier",
        document="N-17",
        quantities_ul={can.pk: 1_000_000},
        happened_at=NOW,
        key=uuid4(),
        by=ben,
        at=NOW,
    )


def test_a_quarter_of_two_streams(month):
    found = report(since=NOW - 5 * DAY)

    assert figures(found, "stop") == {"opening": 5_000, "unexplained": 15_000, "out": 20_000}
    assert figures(found, "fixer") == {
        "opening": 1_000_000,
        "in": 20_000,
        "unexplained": -13_000,
        "out": 1_000_000,
        "loss": 7_000,
    }
    assert found.is_balanced


def test_days_before_are_the_opening_and_days_after_do_not_count(month):
    before = report(since=NOW - 9 * DAY, until=NOW - 5 * DAY)

    assert figures(before, "fixer") == {"in": 1_000_000, "closing": 1_000_000}
    assert figures(report(since=NOW + DAY, until=NOW + 2 * DAY), "fixer") == {}


@pytest.mark.parametrize("stream", Stream.values)
@pytest.mark.parametrize("part", audit.PARTS)
def test_figure_is_the_sum_of_the_entries_behind_it(month, stream, part):
    undone_load(passed_load(bath(mixed_batch(at=NOW)), bath(mixed_batch(at=NOW))))
    period = {"since": NOW - 5 * DAY, "until": NOW + DAY}

    behind = audit.entries(**period, stream=stream, part=part)
    total = sum(audit.change_ul(entry, stream, part) for entry in behind)
    assert figures(report(**period), stream).get(part, 0) == total


def test_reversal_takes_back_what_its_original_counted_for():
    stop, fixer = mixed_batch(reused_way(Role.STOP)), mixed_batch()
    undone_load(passed_load(bath(stop, short_ul=9), bath(fixer), bath(None)))

    found = report()
    assert figures(found, "stop") == {"in": 1_000_000, "closing": 1_000_000}
    assert figures(found, "fixer") == {"in": 1_000_000, "closing": 1_000_000}


def test_report_can_be_had_again_for_ever(month):
    printed = report(since=NOW - 5 * DAY)
    passed_load(bath(mixed_batch(at=NOW), short_ul=3), happened_at=NOW - 2 * DAY, at=NOW)

    again = report(since=NOW - 5 * DAY, up_to_seq=printed.seq)
    assert (again.lines, again.seq, again.hash) == (printed.lines, printed.seq, printed.hash)
    assert (printed.later, again.later) == (0, 3)


def test_report_names_the_last_entry_it_rests_on(month):
    last = Movement.objects.latest("seq")

    assert (report().seq, report().hash) == (last.seq, last.hash)


def test_report_of_an_empty_house():
    found = report()

    assert (found.seq, found.hash, found.is_balanced) == (0, GENESIS, True)


def test_report_up_to_the_beginning_is_empty(month):
    found = report(up_to_seq=0)

    assert (figures(found, "fixer"), found.hash) == ({}, GENESIS)


@pytest.mark.parametrize("seq", [-1, 10**18])
def test_entry_that_is_not_there_is_refused(month, seq):
    with pytest.raises(NoSuchEntry) as info:
        report(up_to_seq=seq)
    assert (info.value.code, info.value.field) == ("no_such_entry", "up_to")


def test_later_entries_are_listed(month):
    seq = LedgerHead.objects.get().seq
    late = passed_load(bath(mixed_batch(at=NOW), short_ul=3), carry_ul=0)

    listed = audit.later_entries(since=NOW - DAY, until=NOW + DAY, up_to_seq=seq)
    assert [entry.kind for entry in listed] == ["mix", "spill"]
    assert listed.last().operation == late


def test_table_has_exact_millilitres_and_what_it_rests_on(month):
    found = report(since=NOW - 5 * DAY)
    rows = list(audit.csv_rows(found, zone=ZoneInfo("Europe/Lisbon")))

    assert rows[0] == [
        "stream",
        "waste_code",
        "opening_ml",
        "in_ml",
        "unexplained_ml",
        "out_ml",
        "loss_ml",
        "closing_ml",
        "balanced",
    ]
    fixer = "1000.000", "20.000", "-13.000", "1000.000", "7.000", "0.000"
    assert rows[3] == ["Fixer", "09 01 04*", *fixer, "yes"]
    assert ["hash", found.hash] in rows


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\t=1", " =1", "\r", "\n"])
def test_no_text_becomes_a_formula(text):
    assert list(audit.plain_cells([text])) == [f"'{text}"]


@pytest.mark.parametrize("text", ["", "Fixer", "09 01 04*", "a=1"])
def test_other_texts_stay_as_they_are(text):
    assert list(audit.plain_cells([text])) == [text]


def test_unknown_figure_is_a_bug():
    with pytest.raises(LookupError):
        audit.entries(since=NOW, until=NOW, stream="fixer", part="nothing")
