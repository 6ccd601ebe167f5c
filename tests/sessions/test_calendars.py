"""Calendars read back as a calendar program reads them."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from darkroom.models import HouseRules
from sessions.calendars import REACH, calendar_of
from sessions.cancelling import cancel_session
from sessions.feeds import make_feed
from sessions.models import Session
from sessions.moving import move_session
from tests.factories.darkroom import NOW
from tests.factories.sessions import TOMORROW_NOON, bench, drum

pytestmark = pytest.mark.django_db
LATER = TOMORROW_NOON + timedelta(hours=4)


def feed_of(member, kind="member", **what):
    return make_feed(kind=kind, by=member, at=NOW, **what).feed


def read(feed, *, at=NOW):
    """The calendar, and its events by their UID."""
    file = calendar_of(
        feed, rules=HouseRules.current(), link="https://house.example{}".format, at=at
    )
    calendar = Calendar.from_ical(file)
    events = {str(event["uid"]): event for event in calendar.events}
    assert len(events) == len(calendar.events)
    return calendar, events


def the_event(feed, *, at=NOW):
    ((uid, event),) = read(feed, at=at)[1].items()
    return uid, event


def move(visit, starts_at, by):
    return move_session(visit=visit, starts_at=starts_at, key=uuid4(), by=by, at=NOW)


def cancel(visit, by, at=NOW):
    return cancel_session(visit=visit, key=uuid4(), by=by, at=at)


def test_a_session_stands_in_its_members_calendar(ada):
    visit = bench().book(ada)

    uid, event = the_event(feed_of(ada))

    assert uid == f"{visit.code}@wetside"
    assert (event.start, event.end) == (visit.starts_at, visit.ends_at)
    assert (event["dtstamp"].dt, event.last_modified, event.sequence) == (NOW, NOW, 0)
    assert event.summary == f"4 sheets of 4×5 {visit.lines.get().film} at 100, T-1 Small tank"
    assert event.url == f"https://house.example{visit.get_absolute_url()}"
    assert (event.status, event.transparency) == ("CONFIRMED", "OPAQUE")


def test_a_session_names_all_its_lines_and_each_of_its_vessels_once(ada):
    house = bench()
    visit = house.book(ada)
    first = visit.lines.get()
    for sheets, vessel in ((2, None), (3, drum())):
        given = {"agitation": "rocking", "sheets_per_load": 4, "load_ml": 200, "vessel": vessel}
        visit.lines.create(
            film=first.film,
            index=50,
            format=first.format,
            sheets=sheets,
            time_row=first.time_row,
            temp_c=20,
            **(given if vessel else {}),
        )

    _, event = the_event(feed_of(ada))

    film = first.film
    assert event.summary == (
        f"4 sheets of 4×5 {film} at 100; 2 sheets of 4×5 {film} at 50; "
        f"3 sheets of 4×5 {film} at 50, "
        "T-1 Small tank and J-1 Rocked drum"
    )
    assert event.description == "Black-and-white negative"


def test_a_calendar_names_itself_its_zone_and_nothing_that_rings(ada):
    HouseRules.objects.create(pk=1, name="House; of, light", zone="Europe/Lisbon")
    bench().book(ada)

    calendar, events = read(feed_of(ada))

    assert calendar.calendar_name == "Sessions, House; of, light"
    assert (calendar["x-wr-timezone"], calendar["version"]) == ("Europe/Lisbon", "2.0")
    assert calendar.refresh_interval == timedelta(hours=1)
    assert [part.name for part in calendar.walk()] == ["VCALENDAR", "VEVENT"]
    assert {event.location for event in events.values()} == {"House; of, light"}


def test_an_empty_calendar_is_one_too(ada):
    calendar, events = read(feed_of(ada))

    assert (calendar.name, events) == ("VCALENDAR", {})


def test_moving_keeps_the_uid_and_raises_the_sequence_each_time(ada):
    visit, feed = bench().book(ada), feed_of(ada)
    seen = [the_event(feed)]
    for starts_at in (LATER, TOMORROW_NOON):
        move(visit, starts_at, ada)
        seen.append(the_event(feed))

    assert len({uid for uid, _ in seen}) == 1
    assert [event.start for _, event in seen] == [TOMORROW_NOON, LATER, TOMORROW_NOON]
    sequences = [event.sequence for _, event in seen]
    assert sequences == sorted(set(sequences))


def test_a_cancelled_session_stays_as_cancelled_for_thirty_days(ada):
    visit, feed = bench().book(ada), feed_of(ada)
    uid, before = the_event(feed)
    cancelled_at = NOW + timedelta(hours=1)

    cancel(visit, ada, at=cancelled_at)

    after_uid, after = the_event(feed, at=cancelled_at + timedelta(days=30, seconds=-1))
    assert (after_uid, after.status, after.transparency) == (uid, "CANCELLED", "TRANSPARENT")
    assert after.sequence > before.sequence
    assert (after.last_modified, after.start) == (cancelled_at, visit.starts_at)
    assert read(feed, at=cancelled_at + timedelta(days=30))[1] == {}


def test_a_calendar_reaches_back_thirty_days(ada):
    visit, feed = bench().book(ada), feed_of(ada)
    gone = visit.ends_at + REACH

    assert the_event(feed, at=gone - timedelta(seconds=1))[1].start == visit.starts_at
    assert read(feed, at=gone)[1] == {}


def test_the_same_state_makes_the_same_file(ada):
    house, feed = bench(), feed_of(ada)
    for hours in (0, 2, 4):
        house.book(ada, starts_at=TOMORROW_NOON + timedelta(hours=hours))

    files = {
        calendar_of(feed, rules=HouseRules.current(), link=str, at=NOW + timedelta(hours=n))
        for n in range(3)
    }

    assert len(files) == 1


def test_each_has_their_own_and_stewards_all_with_names(ada, cyd, ben):
    house = bench()
    mine, other = house.book(ada), house.book(cyd, starts_at=LATER)

    own = read(feed_of(ada))[1]
    everybodys = read(feed_of(ben, "house"))[1]

    assert set(own) == {f"{mine.code}@wetside"}
    assert set(everybodys) == {f"{visit.code}@wetside" for visit in (mine, other)}
    assert everybodys[f"{other.code}@wetside"].summary.startswith("Cyd: 4 sheets of ")
    assert read(feed_of(ben))[1] == {}


@pytest.mark.parametrize(
    ("zone", "instant"),
    [
        # The hour that comes twice, first and second time, and the one after it.
        ("Europe/Lisbon", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        ("Europe/Lisbon", datetime(2026, 10, 25, 1, 30, tzinfo=UTC)),
        ("Europe/Lisbon", datetime(2026, 10, 25, 2, 30, tzinfo=UTC)),
        # Across the hour that is left out.
        ("Europe/Lisbon", datetime(2026, 3, 29, 0, 45, tzinfo=UTC)),
        ("America/St_Johns", datetime(2026, 11, 1, 3, 45, tzinfo=UTC)),
        ("Australia/Lord_Howe", datetime(2026, 4, 4, 14, 45, tzinfo=UTC)),
    ],
)
def test_clock_changes_shift_nothing(ada, zone, instant):
    visit = bench().book(ada)
    HouseRules.objects.update(zone=zone)
    lasts = visit.ends_at - visit.starts_at
    Session.objects.filter(pk=visit.pk).update(starts_at=instant, ends_at=instant + lasts)
    local = instant.astimezone(ZoneInfo(zone))

    _, event = the_event(feed_of(ada), at=instant)

    assert event.start.astimezone(ZoneInfo(zone)) == local
    assert event.start.astimezone(ZoneInfo(zone)).fold == local.fold
    assert event["dtstart"].to_ical().endswith(b"Z")
    assert event.end - event.start == lasts


def test_a_piece_tells_its_phases_and_nothing_private(ada, cyd):
    house = bench()
    visit = house.book(ada, sheets=8)
    feed = feed_of(cyd, "equipment", equipment=house.tank)

    calendar, events = read(feed)

    held = visit.holds.filter(equipment=house.tank)
    spans = {(hold.period.lower, hold.period.upper) for hold in held}
    assert len(spans) > 1
    assert {(event.start, event.end) for event in events.values()} == spans
    assert {event.summary for event in events.values()} <= {
        "In use: loading in the dark",
        "In use: wet steps",
        "In use: cleaning",
        "In use: drying",
    }
    text = calendar.to_ical().decode()
    for secret in ("Ada", "ada@", str(visit.code), str(visit.lines.get().film), "URL"):
        assert secret not in text


def test_a_pieces_uids_outlive_a_move_and_another_pieces_are_others(ada):
    house = bench()
    visit = house.book(ada)
    feeds = [feed_of(ada, "equipment", equipment=piece) for piece in (house.tank, house.sink)]
    before = [read(feed)[1] for feed in feeds]

    move(visit, LATER, ada)

    after = [read(feed)[1] for feed in feeds]
    assert [set(events) for events in after] == [set(events) for events in before]
    assert not set(before[0]) & set(before[1])
    for uid, event in after[0].items():
        assert event.start == before[0][uid].start + (LATER - TOMORROW_NOON)
        assert event.sequence > before[0][uid].sequence


def test_what_a_cancelled_session_kept_is_no_longer_in_the_pieces_calendar(ada):
    house = bench()
    visit = house.book(ada)
    feed = feed_of(ada, "equipment", equipment=house.sink)
    assert read(feed)[1] != {}

    cancel(visit, ada)

    assert read(feed)[1] == {}


def test_a_piece_reaches_back_as_far_with_all_holds_of_a_session_together(ada):
    house = bench()
    visit = house.book(ada, sheets=8)
    feed = feed_of(ada, "equipment", equipment=house.tank)
    uids = set(read(feed)[1])
    gone = visit.ends_at + REACH

    assert set(read(feed, at=gone - timedelta(seconds=1))[1]) == uids
    assert read(feed, at=gone)[1] == {}


@pytest.mark.parametrize("count", [1, 12])
@pytest.mark.parametrize(("kind", "queries"), [("member", 2), ("house", 2), ("equipment", 1)])
def test_a_calendar_asks_as_much_of_the_database_for_12_as_for_1(
    ben, count, kind, queries, django_assert_num_queries
):
    house = bench()
    for n in range(count):
        start = TOMORROW_NOON + timedelta(days=n // 6, hours=(n % 6) * 1.5)
        house.book(ben, starts_at=start, sheets=1)
    what = {"equipment": house.sink} if kind == "equipment" else {}
    feed, rules = feed_of(ben, kind, **what), HouseRules.current()

    with django_assert_num_queries(queries):
        file = calendar_of(feed, rules=rules, link=str, at=NOW)

    assert len(Calendar.from_ical(file).events) >= count
