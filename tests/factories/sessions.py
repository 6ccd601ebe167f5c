"""A darkroom that can be booked: a process with its baths, vessels, and what stands round them."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from uuid import uuid4

from chemistry.models import Batch, Film, Process, ProcessStep, Role, TimeRow, Way, WayOfUse
from darkroom.models import Agitation, Equipment, EquipmentKind, Format, Member
from sessions.asking import Ask
from sessions.booking import book_session
from sessions.models import Session
from sessions.offers import free_starts, plan_for
from sessions.planning.plan import Plan
from tests.factories.chemistry import (
    FilmFactory,
    ProcessFactory,
    ProcessStepFactory,
    TimePointFactory,
    TimeRowFactory,
    WayOfUseFactory,
    mixed_batch,
    reused_way,
)
from tests.factories.darkroom import (
    IN2_MM2,
    NOW,
    EquipmentFactory,
    FormatFactory,
    VesselAgitationFactory,
    VesselFactory,
    VesselFitFactory,
)

TOMORROW_NOON = NOW.replace(hour=12) + timedelta(days=1)


@dataclass
class Bench:
    """Four steps (developer 8 min at 20 °C reused, stop, fixer, wash) and what they need."""

    developer: WayOfUse
    stop: WayOfUse
    fixer: WayOfUse
    process: Process
    steps: list[ProcessStep]
    film: Film
    row: TimeRow
    four_by_five: Format
    tank: Equipment
    booth: Equipment
    sink: Equipment
    pegs: Equipment
    bottles: dict[str, Batch] = field(default_factory=dict)

    def step(self, role: str) -> ProcessStep:
        return next(step for step in self.steps if step.role == role)

    def ask(self, member: Member, *, sheets: int = 4, **changes: object) -> Ask:
        given = {"film": self.film, "index": 100, "format": self.four_by_five} | changes
        return Ask(member=member, sheets=sheets, **given)

    def plan(
        self,
        member: Member,
        *,
        at: datetime = NOW,
        sheets: int = 4,
        vessel: str | None = None,
        **changes: object,
    ) -> Plan:
        return plan_for(self.ask(member, sheets=sheets, **changes), at=at, vessel=vessel)

    def book(
        self,
        member: Member,
        *,
        starts_at: datetime = TOMORROW_NOON,
        at: datetime = NOW,
        sheets: int = 4,
        plan: Plan | None = None,
        **changes: object,
    ) -> Session:
        plan = plan or self.plan(member, at=at, sheets=sheets, **changes)
        return book_session(plan=plan, starts_at=starts_at, key=uuid4(), by=member, at=at)

    def starts(self, plan: Plan, *, at: datetime = NOW) -> list[datetime]:
        return free_starts(plan, at=at)


def bench(*, with_bottles: bool = True, capacity_au_per_l: int = 20) -> Bench:
    """A small house: one tank for four 4×5 in 400 to 500 mL, one booth, one sink, one peg row."""
    process = ProcessFactory()
    roles = ((Role.DEVELOPER, None), (Role.STOP, 1), (Role.FIXER, 5), (Role.WATER, 5))
    steps = [
        ProcessStepFactory(
            process=process, order=order, name=Role(role).label, role=role, minutes=m
        )
        for order, (role, m) in enumerate(roles, start=1)
    ]
    developer = reused_way(Role.DEVELOPER, au_per_l=capacity_au_per_l, mix_n=0)
    film = FilmFactory(process=process)
    found = Bench(
        developer=developer,
        stop=reused_way(Role.STOP, au_per_l=capacity_au_per_l, mix_n=0),
        fixer=reused_way(Role.FIXER, au_per_l=capacity_au_per_l),
        process=process,
        steps=steps,
        film=film,
        row=printed_times(film, developer),
        four_by_five=FormatFactory(),
        tank=VesselFactory(code="T-1"),
        booth=EquipmentFactory(code="B-1", name="Booth", kind=EquipmentKind.BOOTH),
        sink=EquipmentFactory(code="S-1"),
        pegs=EquipmentFactory(code="P-1", name="Peg row", kind=EquipmentKind.PEGS),
    )
    if with_bottles:
        for name in ("developer", "stop", "fixer"):
            found.bottles[name] = mixed_batch(getattr(found, name), volume_ml=1000)
    return found


def printed_times(
    film: Film, developer: WayOfUse, agitation: Agitation = Agitation.INVERSION
) -> TimeRow:
    """8 min at 20 °C, 6 min at 24 °C."""
    n = developer.draw_n if developer.way == Way.TO_DRAW else developer.mix_n
    row = TimeRowFactory(
        film=film,
        developer=developer.version.recipe,
        dilution_n=n or Decimal(0),
        index=100,
        agitation=agitation,
    )
    TimePointFactory(row=row, temp_c=Decimal(20), minutes=Decimal(8))
    TimePointFactory(row=row, temp_c=Decimal(24), minutes=Decimal(6))
    return row


def drum(code: str = "J-1", *, max_ml: int = 300, **fit: int) -> Equipment:
    """A rocked drum for four 4×5 in 200 mL, which also takes one 8×10."""
    vessel = EquipmentFactory(code=code, name="Rocked drum", kind=EquipmentKind.DRUM)
    VesselAgitationFactory(equipment=vessel, agitation=Agitation.ROCKING, max_ml=max_ml)
    given = {"positions": 4, "advised": 4, "min_ml": 200} | fit
    VesselFitFactory(equipment=vessel, format=FormatFactory(), **given)
    VesselFitFactory(
        equipment=vessel, format=eight_by_ten(), positions=1, advised=1, min_ml=given["min_ml"]
    )
    return vessel


def eight_by_ten() -> Format:
    return FormatFactory(name="8×10", area_mm2=80 * IN2_MM2)


def stock_developer(draw_n: int = 1) -> WayOfUse:
    """A developer drawn one-shot, without a rule for its least stock."""
    return WayOfUseFactory(
        version__recipe__role=Role.DEVELOPER, way=Way.TO_DRAW, mix_n=None, draw_n=draw_n
    )
