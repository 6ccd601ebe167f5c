"""Booking a session: equipment and bottles are promised together or not at all."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from functools import partial
from uuid import UUID

from chemistry.models import Process
from darkroom.errors import DomainError, NotAllowed
from darkroom.inducted import Inducted
from darkroom.models import Equipment, HouseRules, Member, VesselFit
from darkroom.operations import claim_receipt, operation
from sessions import admission, company, pieces, supplies
from sessions.hours import check_start
from sessions.models import Session, SessionLine
from sessions.planning.plan import Plan, PlannedLine
from sessions.promising import Asked, choose_bottles, insert_allotments
from sessions.starts import later_starts


class NotBookable(DomainError):
    """What was planned cannot be booked (any more), whatever the time."""

    code = "not_bookable"


@operation
def book_session(
    *,
    plan: Plan,
    starts_at: datetime,
    companion: Member | None = None,
    key: UUID,
    by: Member,
    at: datetime,
) -> Session:
    """The session with its holds and allotments; sent twice under one key it is booked once.

    Everything is checked under the locks: the equipment, then every bottle that may be chosen.
    ``companion`` comes along, where nobody may be alone.
    Raises: NotAllowed, NotBookable, StartRefused, ChecksWanting, NotInducted, WouldBeAlone,
    NoCompany, SlotTaken, BottleRefused, AlreadySent.
    """
    figures = {
        "plan": plan.asked(),
        "starts_at": starts_at.astimezone(UTC).isoformat(),
        "companion": companion and companion.pk,
    }
    receipt = claim_receipt(by, key, "book_session", figures)
    if receipt.result:
        return Session.objects.get(code=receipt.result)
    rules = HouseRules.current()
    process = _check(plan, by)
    check_start(plan.timeline, starts_at, rules=rules, at=at)
    admission.check_house(process, rules=rules, at=at)
    span = (starts_at, starts_at + timedelta(seconds=plan.timeline.attended_s))
    inducted = Inducted(by, zone=rules.tz, at=at)
    wanted = admission.check_inducted(
        process, pieces.lock_candidates(plan.timeline.needs), inducted, until=span[1]
    )
    _check_vessels(plan)
    shelf = supplies.locked_for(plan.baths, by, _wishes(plan))
    kept = pieces.choose(wanted, starts_at)
    local = starts_at.astimezone(rules.tz)
    later = partial(later_starts, plan.timeline, wanted, after=local, rules=rules, at=at)
    if companion is not None or company.is_asked(process, rules):
        company.check_company(span, by=by, companion=companion, rules=rules, later=later)
    asked = Asked(
        plan,
        local,
        by.pk,
        may_lack=[bath.step_id for bath in plan.baths] if plan.accepts_mixing else (),
        later=later,
    )
    pours = choose_bottles(asked, shelf)
    visit = _insert(plan, span, by, companion, at)
    pieces.insert_holds(visit, kept)
    insert_allotments(visit, plan, pours)
    receipt.settle(visit.code)
    return visit


def _wishes(plan: Plan) -> Iterable[int]:
    return [bath.batch_id for bath in plan.baths if bath.batch_id is not None]


def _check(plan: Plan, by: Member) -> Process:
    if not by.may_write:
        raise NotAllowed("An auditor reads everything and books nothing.")
    process = Process.objects.get(pk=plan.process_id)
    if not process.is_bookable:
        raise NotBookable(f"This house keeps no baths for {process.name}.", field="film")
    return process


def _check_vessels(plan: Plan) -> None:
    """The plan was made before the vessels were locked."""
    vessels = Equipment.objects.in_bulk(plan.vessel_ids)
    fits = {
        (fit.equipment_id, fit.format_id): fit
        for fit in VesselFit.objects.filter(equipment__in=plan.vessel_ids)
    }
    for line in plan.lines:
        vessel, fit = vessels[line.vessel_id], fits.get((line.vessel_id, line.format_id))
        if not vessel.is_in_service:
            raise NotBookable(f"{vessel} is out of service. Choose another vessel.", field="option")
        if fit is None or line.sheets_per_load > fit.positions:
            raise NotBookable(
                f"{vessel} does not take {line.sheets_per_load} of these at once.", field="option"
            )
        if line.sheets_per_load > fit.advised and not plan.accepts_crowding:
            raise NotBookable(
                f"{fit.advised} at once develop evenly in {vessel}. Say that you crowd it all the "
                "same, or take the option that does not.",
                field="accepts_crowding",
            )


def _insert(
    plan: Plan,
    span: tuple[datetime, datetime],
    by: Member,
    companion: Member | None,
    at: datetime,
) -> Session:
    visit = Session(
        member=by,
        process_id=plan.process_id,
        vessel_id=plan.vessel_id,
        agitation=plan.lines[0].agitation,
        sheets_per_load=plan.lines[0].sheets_per_load,
        load_ml=plan.load_ml,
        companion=companion,
        starts_at=span[0],
        ends_at=span[1],
        created_at=at,
    )
    # Its constraints are the database's to judge, and what it points to has just been locked.
    visit.full_clean(validate_unique=False, validate_constraints=False)
    visit.save(force_insert=True)
    lines = [_line(visit, planned) for planned in plan.lines]
    for line in lines:
        line.full_clean(validate_constraints=False)
    SessionLine.objects.bulk_create(lines)
    return visit


def _line(visit: Session, planned: PlannedLine) -> SessionLine:
    return SessionLine(
        session=visit,
        film_id=planned.film_id,
        index=planned.index,
        format_id=planned.format_id,
        sheets=planned.sheets,
        vessel_id=planned.vessel_id,
        agitation=planned.agitation,
        sheets_per_load=planned.sheets_per_load,
        load_ml=planned.load_ml,
        time_row_id=planned.time_row_id,
        own_minutes=planned.own_minutes,
        temp_c=planned.temp_c,
    )
