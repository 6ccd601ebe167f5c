"""Recording what was run. It is a fact, so no state of a bottle ever refuses it."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from chemistry import accounts
from chemistry.checks import check_happened, moment, require_writer
from chemistry.models import Batch, Film, Process, ProcessStep, Use
from chemistry.passing import BathPass, pass_load
from chemistry.units import ul_from_ml
from darkroom.errors import DomainError, NotAllowed
from darkroom.models import Equipment, Format, HouseRules, Member
from darkroom.operations import claim_receipt, operation
from sessions import settling
from sessions.models import Run, RunBath, Session

OLDEST_DAYS = 366


class NotPossible(DomainError):
    """What was entered cannot have happened; the field says which part of it."""

    code = "not_possible"


class SessionCancelled(DomainError):
    code = "session_cancelled"
    status = 409


@dataclass(frozen=True)
class BathDraft:
    """One bath as it was used; without a bottle it was plain water. A step left out has none."""

    step: ProcessStep
    batch: Batch | None
    poured_ul: int
    minutes: Decimal
    temp_c: Decimal | None = None
    short_ul: int = 0

    def figures(self) -> list[Any]:
        batch_id = None if self.batch is None else self.batch.pk
        temp = None if self.temp_c is None else _plain(self.temp_c)
        return [self.step.pk, batch_id, self.poured_ul, _plain(self.minutes), temp, self.short_ul]


@dataclass(frozen=True)
class RunDraft:
    """One load as it was run. ``is_last`` None: the plan says whether another load follows."""

    process: Process
    vessel: Equipment
    agitation: str
    film: Film
    index: int
    format: Format
    sheets: int
    happened_at: datetime
    baths: tuple[BathDraft, ...]
    visit: Session | None = None
    note: str = ""
    is_last: bool | None = None

    @property
    def area_mm2(self) -> Decimal:
        return self.sheets * self.format.area_mm2

    def figures(self, *, at: datetime) -> dict[str, Any]:
        """What makes two sendings of one form the same."""
        return {
            "visit": None if self.visit is None else self.visit.pk,
            "what": [self.process.pk, self.film.pk, self.index, self.format.pk, self.sheets],
            "how": [self.vessel.pk, self.agitation],
            "when": moment(self.happened_at, at=at),
            "baths": [bath.figures() for bath in self.baths],
            "note": self.note,
            "is_last": self.is_last,
        }


@operation
def record_run(*, draft: RunDraft, key: UUID, by: Member, at: datetime) -> Run:
    """The run as recorded; sent twice under one key it is recorded once.

    Raises: NotAllowed, NotPossible, SessionCancelled, AlreadySent.
    """
    receipt = claim_receipt(by, key, "record_run", draft.figures(at=at))
    if receipt.result:
        return Run.objects.get(code=receipt.result)
    _check(draft, by=by, at=at)
    visit = None if draft.visit is None else settling.lock(draft.visit)
    if visit is not None and visit.cancelled_at is not None:
        raise SessionCancelled("This session was cancelled. Record the run without a booking.")
    locked = accounts.lock(batch_ids=_batch_ids(draft, visit), streams=_streams(draft))
    run = _insert_run(draft, visit, by=by, at=at)
    if visit is not None:
        settling.take_share(visit, area_mm2=draft.area_mm2, is_last=draft.is_last, at=at)
    uses = pass_load(
        [_bath_pass(bath) for bath in draft.baths],
        locked=locked,
        area_mm2=draft.area_mm2,
        material=draft.film.material,
        carry_ul_per_au=ul_from_ml(HouseRules.current().carry_out_ml_per_au),
        operation=run.operation,
        by=by,
        happened_at=draft.happened_at,
        at=at,
    )
    _insert_baths(run, draft, uses)
    receipt.settle(run.code)
    return run


def _check(draft: RunDraft, *, by: Member, at: datetime) -> None:
    require_writer(by)
    if draft.visit is not None and not draft.visit.is_changed_by(by):
        raise NotAllowed("This is another member's session.")
    if not draft.baths:
        raise NotPossible("At least one bath was used.")
    check_happened(draft.happened_at, at=at)
    if draft.happened_at < at - timedelta(days=OLDEST_DAYS):
        raise NotPossible("This is more than a year ago; check the date.", field="happened_at")
    _check_vessel(draft)


def _check_vessel(draft: RunDraft) -> None:
    fit = draft.vessel.fits.filter(format=draft.format).first()
    if fit is None:
        raise NotPossible(f"{draft.vessel} does not take {draft.format}.", field="vessel")
    if not 1 <= draft.sheets <= fit.positions:
        raise NotPossible(
            f"{draft.vessel} takes 1 to {fit.positions} sheets of {draft.format}.", field="sheets"
        )


def _batch_ids(draft: RunDraft, visit: Session | None) -> set[int]:
    """Every bottle whose wear, volume or promises this run touches."""
    used = {bath.batch.pk for bath in draft.baths if bath.batch is not None}
    return used if visit is None else used | settling.promised_batches(visit)


def _streams(draft: RunDraft) -> set[str]:
    """Streams whose containers may receive something: each bath's own."""
    return {bath.batch.stream for bath in draft.baths if bath.batch is not None}


def _insert_run(draft: RunDraft, visit: Session | None, *, by: Member, at: datetime) -> Run:
    run = Run(
        session=visit,
        member_id=by.pk if visit is None else visit.member_id,
        process=draft.process,
        vessel=draft.vessel,
        agitation=draft.agitation,
        film=draft.film,
        index=draft.index,
        format=draft.format,
        sheets=draft.sheets,
        happened_at=draft.happened_at,
        entered_at=at,
        operation=uuid.uuid4(),
        note=draft.note,
    )
    run.full_clean()
    run.save(force_insert=True)
    return run


def _bath_pass(bath: BathDraft) -> BathPass:
    return BathPass(bath.step.role, bath.batch, bath.poured_ul, bath.short_ul)


def _insert_baths(run: Run, draft: RunDraft, uses: list[Use | None]) -> None:
    RunBath.objects.bulk_create(
        RunBath(
            run=run,
            step=bath.step,
            batch=bath.batch,
            use=use,
            poured_ul=bath.poured_ul,
            short_ul=bath.short_ul,
            minutes=bath.minutes,
            temp_c=bath.temp_c,
        )
        for bath, use in zip(draft.baths, uses, strict=True)
    )


def _plain(value: Decimal) -> str:
    """One text for one figure, however many zeros were typed."""
    return f"{value.normalize():f}"
