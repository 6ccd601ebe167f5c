"""What happens at the sink: loads developed, recorded, and now and then recorded wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from functools import partial

from chemistry.models import Batch
from chemistry.units import ul_from_ml
from darkroom.models import Member
from sessions.demo.world import World
from sessions.models import Run, Session
from sessions.recording import BathDraft, RunDraft, record_run
from sessions.runcard import StepCard, card
from sessions.voiding import void_run

NOTES = (
    "",
    "",
    "",
    "",
    "",
    "Two sheets touched; a faint mark on one.",
    "Sheets came out even.",
    "Poured a little late.",
    "A stop more exposure next time.",
)
WRONG = ("Wrong bottle code noted.", "Counted the sheets wrong.", "Entered on the wrong session.")
WOBBLE = (Decimal("-0.3"), Decimal(0), Decimal(0), Decimal(0), Decimal("0.2"), Decimal("0.4"))
SHORT_UL = (10_000, 20_000, 35_000, 60_000)


@dataclass
class Evenings:
    """The members at the sink."""

    world: World

    def develop(
        self, visit: Session, starts_at: datetime, poured_at: datetime, at: datetime
    ) -> None:
        """Record the next load as the card has it, with what a real evening adds."""
        visit.refresh_from_db()
        if not visit.is_open() or visit.starts_at != starts_at:
            return
        planned = card(visit, at=poured_at, rules=self.world.rules).next_load
        if planned is None:
            return
        line = planned.load.line
        draft = RunDraft(
            process=visit.process,
            vessel=planned.load.vessel,
            agitation=planned.load.agitation,
            film=line.film,
            index=line.index,
            format=line.format,
            sheets=planned.load.sheets,
            happened_at=poured_at,
            baths=self._baths(planned.steps, visit.member, at),
            visit=visit,
            note=self.world.rng.choice(NOTES),
        )
        run = self.record(draft, visit.member, at)
        if self.world.rng.random() < 0.03:
            self.world.plan(at + timedelta(minutes=20), partial(self._put_right, run, draft))

    def record(self, draft: RunDraft, member: Member, at: datetime) -> Run:
        self.world.done["recorded"] += 1
        return record_run(draft=draft, key=self.world.key(), by=member, at=at)

    def _put_right(self, run: Run, draft: RunDraft, at: datetime) -> None:
        """Void it and enter it again."""
        reason = self.world.rng.choice(WRONG)
        void_run(run=run, reason=reason, key=self.world.key(), by=run.member, at=at)
        self.world.done["voided"] += 1
        self.record(draft, run.member, at)

    def _baths(
        self, steps: Sequence[StepCard], member: Member, at: datetime
    ) -> tuple[BathDraft, ...]:
        usable = Batch.objects.usable(at=at, rules=self.world.rules).order_by("code")
        mine = usable.filter(owner=None) | usable.filter(owner=member)
        serving = list(mine.select_related("way__version__recipe"))
        return tuple(self._bath(step, serving) for step in steps)

    def _bath(self, step: StepCard, serving: Sequence[Batch]) -> BathDraft:
        rng = self.world.rng
        batch = _taken(step, serving) if step.bottle else None
        return BathDraft(
            step=step.step,
            batch=batch,
            poured_ul=ul_from_ml(step.volume_ml),
            minutes=step.minutes or Decimal(9),
            temp_c=None if step.temp_c is None else step.temp_c + rng.choice(WOBBLE),
            short_ul=rng.choice(SHORT_UL) if batch is not None and rng.random() < 0.03 else 0,
        )


def _taken(step: StepCard, serving: Sequence[Batch]) -> Batch | None:
    """The bottle of the card, or what somebody takes who finds it stopped, spent or missing."""
    planned = step.batch
    if planned is not None and planned in serving:
        return planned
    of_role = [b for b in serving if b.way.version.recipe.role == step.step.role]
    if planned is None:
        return next(iter(of_role), None)
    alike = [b for b in of_role if b.way.version.recipe_id == planned.way.version.recipe_id]
    return next(iter(alike), planned)
