"""Laws that hold whatever happens in a house: nothing is made or lost, and what is stored follows.

A house of a developer, a stop bath, a fixer, a replenished tank, stock to draw and two containers
lives through random acts, some back-dated. Intentions may be refused; facts and undoing may not.
"""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from chemistry import audit
from chemistry.discarding import pour_out
from chemistry.models import Account, Batch, LedgerHead, Role, Stream, WasteContainer
from chemistry.replenishing import replenish_batch
from chemistry.verify import balances, chain
from chemistry.waste import hand_over, place_unplaced
from chemistry.wear_cache import cached_state, replay_batch
from darkroom.errors import DomainError
from darkroom.models import Member
from tests.chemistry.loads import bath, passed_load, undone_load
from tests.examples import rolled_back
from tests.factories.chemistry import (
    mixed_batch,
    opened_container,
    replenished_way,
    reused_way,
    stock_way,
)
from tests.factories.darkroom import NOW, StewardFactory

START = NOW - timedelta(days=30)


@dataclass
class House:
    by: Member
    bottles: list[Batch]
    at: datetime = START
    recorded: list[UUID] = field(default_factory=list)

    @classmethod
    def furnished(cls) -> "House":
        by = StewardFactory()
        wear = [reused_way(role) for role in (Role.DEVELOPER, Role.STOP, Role.FIXER)]
        ways = [*wear, replenished_way(), stock_way(draw_n=9)]
        bottles = [mixed_batch(way, volume_ml=300, by=by, at=START) for way in ways]
        for stream in (Stream.DEVELOPER, Stream.FIXER):
            opened_container(stream, capacity_ml=700, by=by, at=START)
        return cls(by, bottles)

    def sent(self, late: int) -> dict[str, object]:
        """An hour later each time; told ``late`` hours after it happened."""
        self.at += timedelta(hours=1)
        happened_at = self.at - timedelta(hours=late)
        return {"by": self.by, "at": self.at, "happened_at": happened_at}

    def bottle(self, which: int) -> Batch:
        return Batch.objects.get(pk=self.bottles[which].pk)

    def run(self, late: int, which: list[int | None], units: Decimal, short_ul: int) -> None:
        baths = [
            bath(None if each is None else self.bottle(each), poured_ul=90_001, short_ul=short_ul)
            for each in which
        ]
        recorded = passed_load(*baths, units=units, carry_ul=20_003, **self.sent(late))
        self.recorded.append(recorded)

    def undo(self, late: int, which: int) -> None:
        if self.recorded:
            at = self.sent(0)["at"]
            undone_load(self.recorded[which % len(self.recorded)], by=self.by, at=at)

    def replenish(self, late: int, added_ul: int) -> None:
        replenish_batch(
            batch=self.bottle(3), added_ul=added_ul, source=None, key=uuid4(), **self.sent(late)
        )

    def pour(self, late: int, which: int, volume_ul: int | None, into: int) -> None:
        cans = [None, *WasteContainer.objects.order_by("pk")]
        pour_out(
            batch=self.bottle(which),
            container=cans[into],
            volume_ul=volume_ul,
            key=uuid4(),
            **self.sent(late),
        )

    def place(self, late: int, into: int, volume_ul: int) -> None:
        can = WasteContainer.objects.order_by("pk")[into]
        place_unplaced(
            container=can, stream=can.stream, volume_ul=volume_ul, key=uuid4(), **self.sent(late)
        )

    def hand_over(self, late: int, into: int, measured_ul: int | None) -> None:
        can = WasteContainer.objects.order_by("pk")[into]
        hand_over(
            containers=[can],
            carrier="A carrier",
            document="N-17",
            quantities_ul={} if measured_ul is None else {can.pk: measured_ul},
            key=uuid4(),
            **self.sent(late),
        )


lateness = st.sampled_from([0, 0, 0, 1, 5, 30])
volumes = st.sampled_from([1, 999, 50_000, 123_457, 300_000])
bottles = st.integers(0, 4)
acts = st.one_of(
    st.tuples(
        st.just("run"),
        lateness,
        st.lists(st.one_of(st.none(), bottles), min_size=1, max_size=5),
        st.sampled_from(["0.25", "1", "7.5"]).map(Decimal),
        st.sampled_from([0, 0, 777, 400_000]),
    ),
    st.tuples(st.just("undo"), lateness, st.integers(0, 9)),
    st.tuples(st.just("replenish"), lateness, volumes),
    st.tuples(st.just("pour"), lateness, bottles, st.none() | volumes, st.integers(0, 2)),
    st.tuples(st.just("place"), lateness, st.integers(0, 1), volumes),
    st.tuples(st.just("hand_over"), lateness, st.integers(0, 1), st.none() | volumes),
)
FACTS = {"run", "undo"}

lives = settings(
    max_examples=30,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


def live(story):
    """A furnished house after the story; only intentions are ever refused."""
    house = House.furnished()
    for name, *details in story:
        try:
            getattr(house, name)(*details)
        except DomainError:
            assert name not in FACTS
    return house


@lives
@given(story=st.lists(acts, max_size=14), since=st.integers(0, 20), hours=st.integers(0, 20))
def test_nothing_is_made_or_lost(db, story, since, hours):
    with rolled_back():
        live(story)
        begin = START - timedelta(hours=3) + timedelta(hours=since)
        seq = LedgerHead.objects.get().seq
        reports = [
            audit.report(since=begin, until=begin + timedelta(hours=hours), up_to_seq=upto)
            for upto in (seq, seq // 2)
        ]
        now = audit.report(since=begin, until=NOW)
        held = dict.fromkeys(Stream.values, 0)
        for account in Account.objects.exclude(stream=""):
            held[account.stream] += account.balance

        assert sum(Account.objects.values_list("balance", flat=True)) == 0
        assert all(found.is_balanced for found in (*reports, now))
        assert {line.stream: line.closing_ul for line in now.lines} == held
        assert [*chain(), *balances()] == []


@lives
@given(story=st.lists(acts, max_size=14))
def test_every_vessel_holds_between_nothing_and_its_brim(db, story):
    with rolled_back():
        live(story)

        for account in Account.objects.filter(kind__in=["batch", "container", "unplaced"]):
            assert account.balance >= 0
            assert account.capacity is None or account.balance <= account.capacity


@lives
@given(story=st.lists(acts, max_size=14))
def test_stored_wear_is_the_replay(db, story):
    with rolled_back():
        live(story)

        for batch in Batch.objects.select_related("account"):
            assert cached_state(batch) == replay_batch(batch)


@lives
@given(story=st.lists(acts, max_size=8), which=bottles, units=st.sampled_from([1, 40]))
def test_undoing_the_last_load_brings_back_every_wear(db, story, which, units):
    with rolled_back():
        house = live(story)
        wear = list(Batch.objects.values_list("wear", "arrears_mm2", "used_mm2"))
        house.run(0, [which, None, (which + 1) % 5], Decimal(units), 5)
        house.undo(0, -1)

        assert list(Batch.objects.values_list("wear", "arrears_mm2", "used_mm2")) == wear


@pytest.mark.parametrize("act", sorted({"run", "undo", "replenish", "pour", "place", "hand_over"}))
def test_every_act_really_happens(db, act):
    """Else the laws above would hold for want of anything happening."""
    story = {
        "run": [("run", 0, [0, 1, 2, None], Decimal(1), 0)],
        "undo": [("run", 0, [2], Decimal(1), 0), ("undo", 0, 0)],
        "replenish": [("replenish", 0, 50_000)],
        "pour": [("pour", 0, 2, 50_000, 2)],
        "place": [("pour", 0, 2, 50_000, 0), ("place", 0, 1, 999)],
        "hand_over": [("pour", 0, 2, 50_000, 2), ("hand_over", 0, 1, 50_000)],
    }[act]
    entries = []
    for steps in (story[:-1], story):
        with rolled_back():
            live(steps)
            entries.append(LedgerHead.objects.get().seq)

    assert entries[0] < entries[1]
