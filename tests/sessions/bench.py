"""A wet bench for tests: one process, its bottles, a vessel, and sessions booked on them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.backends.postgresql.psycopg_any import DateTimeTZRange

from chemistry.models import (
    Batch,
    FigureName,
    Film,
    Process,
    ProcessStep,
    Role,
    Standing,
    TimeRow,
    Way,
    WayOfUse,
)
from darkroom.models import Agitation, Equipment, EquipmentKind, Format, Member
from sessions.models import Allotment, Hold, Phase, Session, SessionLine
from sessions.recording import BathDraft, RunDraft
from tests.factories import chemistry as made
from tests.factories.darkroom import NOW, EquipmentFactory, FormatFactory, VesselFactory

LOAD_UL = 400_000


def developer_way() -> WayOfUse:
    """A reused developer: 10 % more time for every 2 units that a litre has developed."""
    way = made.reused_way(Role.DEVELOPER, au_per_l=16, mix_n=1)
    for name, value in ((FigureName.REUSE_STEP_AREA, 2), (FigureName.REUSE_STEP_PCT, 10)):
        made.FigureFactory(way=way, name=name, material="", value=value)
    return way


@dataclass(frozen=True)
class Bench:
    process: Process
    steps: tuple[ProcessStep, ...]
    film: Film
    row: TimeRow
    size: Format
    vessel: Equipment
    sink: Equipment
    pegs: Equipment
    developer: Batch
    fixer: Batch

    @property
    def bottles(self) -> tuple[Batch | None, ...]:
        """By step: developer, water, fixer."""
        return (self.developer, None, self.fixer)

    def baths(self, **changes: Any) -> tuple[BathDraft, ...]:
        return tuple(
            BathDraft(step, batch, LOAD_UL, step.minutes or Decimal(8), **changes)
            for step, batch in zip(self.steps, self.bottles, strict=True)
        )

    def draft(self, **changes: Any) -> RunDraft:
        """Four sheets, an hour ago."""
        usual = RunDraft(
            process=self.process,
            vessel=self.vessel,
            agitation=Agitation.INVERSION,
            film=self.film,
            index=100,
            format=self.size,
            sheets=4,
            happened_at=NOW - timedelta(hours=1),
            baths=self.baths(),
        )
        return replace(usual, **changes)

    def booked(
        self,
        member: Member,
        *,
        sheets: int = 8,
        starts_at: datetime = NOW - timedelta(hours=2),
        lasts: timedelta = timedelta(hours=4),
        **line: Any,
    ) -> Session:
        """A session in loads of four, with its holds and what it is promised."""
        visit = Session.objects.create(
            member=member,
            process=self.process,
            vessel=self.vessel,
            agitation=Agitation.INVERSION,
            sheets_per_load=4,
            load_ml=LOAD_UL // 1000,
            starts_at=starts_at,
            ends_at=starts_at + lasts,
            created_at=starts_at - timedelta(days=1),
        )
        SessionLine.objects.create(
            **{"time_row": self.row, "temp_c": Decimal(20), "film": self.film, "index": 100}
            | {"session": visit, "format": self.size, "sheets": sheets}
            | line
        )
        self._hold(visit)
        self._promise(visit, sheets)
        return visit

    def _hold(self, visit: Session) -> None:
        end, hour = visit.ends_at, timedelta(hours=1)
        spans = (
            (self.vessel, Phase.WET, visit.starts_at, end - hour),
            (self.sink, Phase.CLEAN, end - hour, end),
            (self.pegs, Phase.DRY, end - hour, end + hour),
        )
        for equipment, phase, starts_at, ends_at in spans:
            Hold.objects.create(
                session=visit,
                equipment=equipment,
                phase=phase,
                period=DateTimeTZRange(starts_at, ends_at),
            )

    def _promise(self, visit: Session, sheets: int) -> None:
        for step, batch in zip(self.steps, self.bottles, strict=True):
            if batch is not None:
                Allotment.objects.create(
                    session=visit,
                    step=step,
                    way=batch.way,
                    batch=batch,
                    period=DateTimeTZRange(visit.starts_at, visit.ends_at),
                    material=self.film.material,
                    area_mm2=sheets * self.size.area_mm2,
                    loads=-(-sheets // 4),
                    borrowed_ul=LOAD_UL,
                    consumed_ul=-(-sheets // 4) * 20_000,
                )


def bench(
    *, developer: WayOfUse | None = None, developer_ml: int = 1000, fixer_ml: int = 1000
) -> Bench:
    """Developer, water, fixer; a container for the fixer; a tank for four 4×5."""
    way = developer or developer_way()
    process = made.ProcessFactory()
    steps = (
        made.ProcessStepFactory(
            process=process, order=1, name="Develop", role=Role.DEVELOPER, minutes=None
        ),
        made.ProcessStepFactory(
            process=process, order=2, name="Rinse", role=Role.WATER, minutes=Decimal(1)
        ),
        made.ProcessStepFactory(process=process, order=3, name="Fix", role=Role.FIXER),
    )
    film = made.FilmFactory(process=process)
    row = made.TimeRowFactory(film=film, developer=way.version.recipe, dilution_n=way.draw_n or 0)
    for temp_c, minutes in ((18, "9.5"), (20, "8"), (24, "6")):
        made.TimePointFactory(row=row, temp_c=Decimal(temp_c), minutes=Decimal(minutes))
    made.opened_container()
    return Bench(
        process=process,
        steps=steps,
        film=film,
        row=row,
        size=FormatFactory(),
        vessel=VesselFactory(),
        sink=EquipmentFactory(),
        pegs=EquipmentFactory(name="Pegs", kind=EquipmentKind.PEGS),
        developer=made.mixed_batch(way, volume_ml=developer_ml),
        fixer=made.mixed_batch(volume_ml=fixer_ml),
    )


__all__ = ["LOAD_UL", "NOW", "Bench", "Standing", "Way", "bench", "developer_way"]
