"""The last days before now: what makes today's shelf worth a look.

The three months before go their own way, so none of this may count on what they left behind.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import ROUND_CEILING, Decimal
from functools import partial

from django.db.models import Count, Q

from chemistry.conditions import Condition
from chemistry.figures import bath_figures
from chemistry.models import Batch, Film, Process, ProcessStep, Role, Stream, Way
from chemistry.models.batches import Storage
from chemistry.science.area import AU_MM2
from chemistry.science.wear import UL_PER_L
from chemistry.stopping import release_batch, stop_batch
from darkroom.models import Agitation, Equipment, Format, Material
from sessions import bottles
from sessions.bottles import Bottle
from sessions.demo.evenings import Evenings
from sessions.demo.habits import HABITS
from sessions.demo.rounds import Rounds
from sessions.demo.stock import STOCK, Stocked, mix, open_can
from sessions.demo.visits import Visits
from sessions.demo.world import World
from sessions.models import Allotment, Notice
from sessions.recording import BathDraft, RunDraft

PRIVATE = Stocked("para-aminophenol", "to_draw", "0.5", Storage.PART)
FORGOTTEN = (
    Stocked("rapid-fixer", "reused", "1", Storage.PART),
    Stocked("wash-aid", "reused", "1", Storage.FULL),
)
TOO_YOUNG = Stocked("d-76", "reused", "2", Storage.FULL)
MISTAKE = Stocked("sb-5", "reused", "4.2", Storage.FULL)
SMALL = {
    Condition.OWED: Stocked("t-max-rs", "replenished", "1", Storage.TANK),
    Condition.SPENT: Stocked("sb-5", "reused", "0.5", Storage.FULL),
    Condition.LOW: Stocked("wash-aid", "reused", "0.5", Storage.FULL),
}
"""Small bottles that a busy afternoon brings to that state."""

ENOUGH = {Condition.LOW: Decimal("0.81"), Condition.SPENT: Decimal("1.02")}
OWED_BEYOND = Decimal("0.25")
USUAL = 6
"""So many habits, the commonest ones, fill the days to come."""
MOST_SHEETS = 4
LOAD_UL = 1_000_000
A_FEW_AU = 4


@dataclass
class Present:
    world: World
    rounds: Rounds
    visits: Visits
    evenings: Evenings

    def arrange(self, now: datetime) -> None:
        """Plan what happens in the last weeks and days."""
        world, today = self.world, self.world.day_of(now)

        def on(days_ago: int, hour: int, minute: int = 0) -> datetime:
            return world.moment(today - timedelta(days=days_ago), hour, minute)

        world.plan(on(32, 18), self._mix_and_forget)
        world.plan(on(20, 11), self.rounds.hand_over)
        for days_ago in (30, 20, 10, 3):
            world.plan(on(days_ago, 21), self._read_notices)
        world.plan(on(12, 17), self._mix_privately)
        world.plan(on(8, 20), partial(self._stop_the_busiest, "Smells of eggs.", released=True))
        world.plan(on(2, 9, 30), self._mix_wrong)
        for n in range(USUAL):
            world.plan(on(2, 10 + n), partial(self._come_soon, n, now + timedelta(days=n)))
        for n, wanted in enumerate(SMALL):
            world.plan(on(1, 13, 10 * n), partial(self._bring_to, wanted))
        for n in range(USUAL, USUAL + 4):
            world.plan(on(1, 18, n), partial(self._come_soon, n, now + timedelta(minutes=30)))
        world.plan(on(1, 20, 10), partial(self._stop_the_busiest, "Came out brown, with flakes."))
        world.plan(on(1, 19), self._mix_what_is_spoken_for)
        world.plan(now - timedelta(hours=1), self._mix_just_now)

    def _mix(self, stocked: Stocked, at: datetime) -> Batch:
        return mix(self.world, stocked, self.world.steward_on(self.world.day_of(at)), at)

    def _mix_and_forget(self, at: datetime) -> None:
        """They go out of date, and nobody pours them out."""
        self.rounds.left_alone.update(self._mix(stocked, at).pk for stocked in FORGOTTEN)

    def _mix_wrong(self, at: datetime) -> None:
        """Out at once, into a can of its own, which it nearly fills."""
        by = self.world.steward_on(self.world.day_of(at))
        can = open_can(self.world, Stream.STOP, by, at)
        self.rounds.pour(self._mix(MISTAKE, at), can, by, at + timedelta(minutes=20))

    def _mix_just_now(self, at: datetime) -> None:
        self._mix(TOO_YOUNG, at)

    def _read_notices(self, at: datetime) -> None:
        Notice.objects.filter(seen_at__isnull=True).update(seen_at=at)

    def _mix_what_is_spoken_for(self, at: datetime) -> None:
        """Whoever asks today finds something left beside what the sessions ahead will take."""
        shelf = bottles.shown(Batch.objects.open().shared(), at=at, rules=self.world.rules)
        for stocked in STOCK:
            if stocked.way == Way.REUSED and not any(_takes_more(b, stocked) for b in shelf):
                self._mix(stocked, at)

    def _mix_privately(self, at: datetime) -> None:
        by = self.world.steward_on(self.world.day_of(at))
        mix(self.world, PRIVATE, by, at, owner=self.world.people["hana"])

    def _come_soon(self, n: int, not_before: datetime, at: datetime) -> None:
        member = self.world.members[n % len(self.world.members)]
        habit = HABITS[n % USUAL]
        self.visits.book(member, habit, at, not_before=max(at, not_before))

    def _stop_the_busiest(self, seen: str, at: datetime, *, released: bool = False) -> None:
        """A member stops the developer that most sessions still count on."""
        ahead = Q(allotments__state=Allotment.State.OPEN, allotments__session__starts_at__gt=at)
        developers = Batch.objects.usable(at=at, rules=self.world.rules).shared()
        batch = (
            developers.filter(way__version__recipe__role=Role.DEVELOPER)
            .annotate(counting=Count("allotments", filter=ahead))
            .order_by("-counting", "code")
            .first()
        )
        if batch is None:
            return
        by = self.world.rng.choice(self.world.members)
        stop_batch(batch=batch, seen=seen, key=self.world.key(), by=by, at=at)
        if released:
            self.world.plan(at + timedelta(hours=15), partial(self._release, batch))

    def _release(self, batch: Batch, at: datetime) -> None:
        release_batch(
            batch=batch,
            reason="It was the drain. A test strip came out as always.",
            key=self.world.key(),
            by=self.world.steward_on(self.world.day_of(at)),
            at=at,
        )

    # Bottles brought to a state by what is run through them

    def _bring_to(self, wanted: Condition, at: datetime) -> None:
        self._wear_out(self._mix(SMALL[wanted], at), wanted, at + timedelta(minutes=30))

    def _wear_out(self, batch: Batch, wanted: Condition, at: datetime) -> None:
        self.world.plan(at, partial(self._wear_more, batch, wanted))

    def _wear_more(self, batch: Batch, wanted: Condition, at: datetime) -> None:
        bottle = Batch.objects.for_verdict().get(pk=batch.pk)
        sheets = _sheets_wanting(bottle, wanted)
        if sheets > 0:
            self._run_loose(bottle, min(MOST_SHEETS, sheets), at)
            self._wear_out(batch, wanted, at + timedelta(minutes=40))

    def _run_loose(self, batch: Batch, sheets: int, at: datetime) -> None:
        """8×10 sheets in the big trays, without a booking."""
        process = Process.objects.get(code="bw-neg")
        usable = Batch.objects.usable(at=at, rules=self.world.rules).filter(owner=None)
        serving = list(usable.select_related("account", "way__version__recipe").order_by("code"))
        draft = RunDraft(
            process=process,
            vessel=Equipment.objects.get(code="TRAY-2"),
            agitation=Agitation.SHUFFLE,
            film=Film.objects.get(name="HP5 Plus"),
            index=400,
            format=Format.objects.get(name="8×10"),
            sheets=sheets,
            happened_at=at - timedelta(minutes=30),
            baths=tuple(
                _bath(step, _bottle_for(step.role, batch, serving)) for step in process.steps.all()
            ),
            note="Not booked; the trays stood there anyway.",
        )
        self.evenings.record(draft, self.world.rng.choice(self.world.members), at)


def _takes_more(bottle: Bottle, stocked: Stocked) -> bool:
    if bottle.batch.way.version.recipe.code != stocked.recipe or not bottle.verdict.is_usable:
        return False
    left_mm2 = bottle.left_mm2(Material.FILM)
    return left_mm2 is None or left_mm2 - bottle.promised_mm2 > A_FEW_AU * AU_MM2


def _bath(step: ProcessStep, batch: Batch | None) -> BathDraft:
    return BathDraft(
        step=step,
        batch=batch,
        poured_ul=LOAD_UL if batch is None else min(LOAD_UL, batch.account.balance),
        minutes=step.minutes or Decimal(10),
        temp_c=step.temp_c,
    )


def _bottle_for(role: str, batch: Batch, serving: list[Batch]) -> Batch | None:
    """This bottle where it serves, or else the fullest that does; plain water has none."""
    if role == batch.way.version.recipe.role:
        return batch
    of_role = [b for b in serving if b.way.version.recipe.role == role]
    return max(of_role, key=lambda b: (b.account.balance, b.code), default=None)


def _sheets_wanting(batch: Batch, wanted: Condition) -> int:
    """Sheets of 8×10 until the bottle is in that state."""
    figures, litres = bath_figures(batch.way), Decimal(batch.account.balance) / UL_PER_L
    if wanted == Condition.OWED:
        limit = (figures.arrears_limit_mm2_per_l or Decimal(0)) * litres
        missing = limit + OWED_BEYOND * AU_MM2 - batch.arrears_mm2
    else:
        capacity = figures.capacity_mm2_per_l[Material.FILM] * litres
        missing = (ENOUGH[wanted] - batch.wear) * capacity
    return int((missing / AU_MM2).to_integral_value(rounding=ROUND_CEILING))
