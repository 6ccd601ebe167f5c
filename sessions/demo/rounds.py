"""What the stewards do: go round the shelf, top up, pour out, mix, see to the waste."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal

from django.db.models import F, Q

from chemistry.conditions import Condition, verdict
from chemistry.discarding import pour_out
from chemistry.models import Account, AccountKind, Batch, Stream, WasteContainer, Way
from chemistry.replenishing import replenish_batch, suggestion
from chemistry.science.wear import UL_PER_L
from chemistry.waste import hand_over, place_unplaced
from darkroom.models import Member
from sessions import alerts, reminding
from sessions.demo.stock import STOCK, mix, open_can
from sessions.demo.world import World
from sessions.models import Allotment

GONE = frozenset({Condition.SPENT, Condition.OUT_OF_DATE, Condition.EMPTY})
CARRIER = "Estuary Waste Services"
ROOM_UL = UL_PER_L
HALF = Decimal("0.5")
WORN_OUT = Decimal("0.95")
"""Not spent, but too little is left for anybody's load."""


@dataclass
class Rounds:
    """The stewards' side of the house. ``left_alone``: bottles that nobody has got round to."""

    world: World
    left_alone: set[int] = field(default_factory=set)

    def watch(self, at: datetime) -> None:
        """What the worker looks for by itself."""
        alerts.out_of_date(at=at)
        alerts.overdue(at=at)
        reminding.inductions(at=at)

    def go_round(self, at: datetime) -> None:
        by = self.world.steward_on(self.world.day_of(at))
        self._see_to_waste(by, at)
        promised = set(Allotment.objects.open().values_list("batch", flat=True))
        for batch in Batch.objects.open().for_verdict().order_by("code"):
            if batch.pk not in self.left_alone:
                self._see_to(batch, by, at, is_promised=batch.pk in promised)
        self._restock(by, at)

    def _see_to(self, batch: Batch, by: Member, at: datetime, *, is_promised: bool) -> None:
        found = verdict(batch, at=at, rules=self.world.rules).condition
        if batch.way.way == Way.REPLENISHED and found not in GONE:
            self._top_up(batch, by, at)
        elif (found in GONE or batch.wear >= WORN_OUT) and not is_promised:
            self.discard(batch, by, at)

    def _top_up(self, batch: Batch, by: Member, at: datetime) -> None:
        wanted = suggestion(batch)
        if not wanted.added_ul:
            return
        replenisher = batch.way.replenisher
        source = None
        if replenisher is not None:
            bottles = Batch.objects.open().filter(way__version__recipe=replenisher)
            source = bottles.filter(account__balance__gte=wanted.added_ul).first()
            if source is None:
                return
        replenish_batch(
            batch=batch,
            added_ul=wanted.added_ul,
            source=source,
            happened_at=at,
            key=self.world.key(),
            by=by,
            at=at,
        )
        self.world.done["replenished"] += 1

    def discard(self, batch: Batch, by: Member, at: datetime) -> None:
        can = self._can_with_room(batch.stream, batch.account.balance)
        can = can or open_can(self.world, Stream(batch.stream), by, at)
        self.pour(batch, can, by, at)

    def pour(self, batch: Batch, can: WasteContainer, by: Member, at: datetime) -> None:
        self.world.done["poured out"] += 1
        pour_out(batch=batch, container=can, happened_at=at, key=self.world.key(), by=by, at=at)

    def _restock(self, by: Member, at: datetime) -> None:
        soon = at + timedelta(days=self.world.rules.expiry_warning_days)
        keeps = Q(good_until=None) | Q(good_until__gt=soon)
        lasts = Q(wear__lt=HALF, account__balance__gt=F("full_ul") / 3)
        shelf = Batch.objects.open().shared().filter(keeps & lasts)
        fresh = shelf.with_condition(at=at, rules=self.world.rules)
        there = set(
            fresh.filter(Q(condition__in=(Condition.FRESH, Condition.NOT_YET))).values_list(
                "way__version__recipe__code", "way__way"
            )
        )
        for stocked in STOCK:
            if (stocked.recipe, stocked.way) not in there:
                mix(self.world, stocked, by, at)

    def _see_to_waste(self, by: Member, at: datetime) -> None:
        for stream in Stream:
            if self._can_with_room(stream, ROOM_UL) is None:
                open_can(self.world, stream, by, at)
            self._place(stream, by, at)

    def _place(self, stream: Stream, by: Member, at: datetime) -> None:
        account = Account.objects.filter(kind=AccountKind.UNPLACED, stream=stream).first()
        left_ul = account.balance if account is not None else 0
        can = self._can_with_room(stream, left_ul)
        if left_ul <= 0 or can is None:
            return
        place_unplaced(
            container=can,
            stream=stream,
            volume_ul=left_ul,
            happened_at=at,
            key=self.world.key(),
            by=by,
            at=at,
        )

    def hand_over(self, at: datetime) -> None:
        """The carrier takes what is half full. It is measured, so a little is unexplained."""
        open_cans = WasteContainer.objects.filter(consignment=None).select_related("account")
        fullest = max(open_cans, key=lambda can: can.account.balance)
        cans = [c for c in open_cans if c == fullest or c.account.balance * 2 >= c.capacity_ul]
        self.world.done["handed over"] += 1
        hand_over(
            containers=cans,
            carrier=CARRIER,
            document=f"EWS-{at:%Y}-{self.world.rng.randint(10_000, 99_999)}",
            quantities_ul={can.pk: round(can.account.balance, -5) for can in cans},
            happened_at=at,
            key=self.world.key(),
            by=self.world.steward_on(self.world.day_of(at)),
            at=at,
        )

    def _can_with_room(self, stream: str, volume_ul: int) -> WasteContainer | None:
        cans = WasteContainer.objects.filter(consignment=None, stream=stream).order_by("code")
        for can in cans.select_related("account"):
            if can.account.balance + volume_ul <= can.limit_ul:
                return can
        return None
