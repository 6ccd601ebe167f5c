"""Wear, arrears and turnover of a bath, replayed from what happened to it.

A *reused* bath wears: every pass takes its share of a capacity, 0 is fresh and 1 is spent.
A *replenished* bath does not wear; it falls into arrears, which replenisher pays.
A solution *to draw* is used once in diluted form and does neither.
The replay is a plain fold in Decimal, so that a stored state can be checked against it.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from chemistry.science.area import AU_MM2
from chemistry.science.errors import UnknownClass, check_positive, check_range
from chemistry.science.replenish import RateStage, paid_mm2

UL_PER_L = 1_000_000
SPENT = Decimal(1)
ZERO = Decimal(0)
PLACES = Decimal("1e-12")
WAYS = frozenset({"reused", "replenished", "to_draw"})


@dataclass(frozen=True, slots=True)
class BathFigures:
    """What the recipe says about a bath in one way of use.

    A class of material that ``capacity_mm2_per_l`` does not name may not be booked on a reused
    bath; for the other ways an empty mapping means that no class is excluded.
    ``replenish_stages``, where there are any, stand in place of the single rate.
    """

    way: str
    capacity_mm2_per_l: Mapping[str, Decimal]
    replenish_ul_per_au: Decimal | None = None
    arrears_limit_mm2_per_l: Decimal | None = None
    turnover_limit: Decimal | None = None
    area_limit_mm2_per_l: Decimal | None = None
    replenish_stages: tuple[RateStage, ...] = ()

    def __post_init__(self) -> None:
        if self.way not in WAYS:
            raise ValueError(f"no such way of use: {self.way}")
        for material, capacity in self.capacity_mm2_per_l.items():
            check_positive(f"capacity for {material}", capacity)


@dataclass(frozen=True, slots=True)
class UseEvent:
    """Film or paper went through the bath."""

    happened_at: datetime
    entered_at: datetime
    key: int
    area_mm2: Decimal
    material: str


@dataclass(frozen=True, slots=True)
class VolumeEvent:
    """Liquid came or went.

    Incoming liquid brings ``incoming_wear``, and the bath takes the mean by volume. Water that
    replaces evaporation, or liquid found to be there after all, brings None: the share used up
    stays as it was. What leaves takes its own share with it and changes nothing. Into a bath
    without recorded volume the higher of the two wears goes on, so that a use entered before
    its filling is not washed away.
    """

    happened_at: datetime
    entered_at: datetime
    key: int
    delta_ul: int
    incoming_wear: Decimal | None = ZERO


@dataclass(frozen=True, slots=True)
class ReplenishEvent:
    """Replenisher went in: it pays arrears and counts as turnover.

    It does not change the volume. The liquid itself, and the bleed before it, are VolumeEvents
    of the same moment, since they are movements of their own.
    """

    happened_at: datetime
    entered_at: datetime
    key: int
    added_ul: int


Event = UseEvent | VolumeEvent | ReplenishEvent


@dataclass(frozen=True, slots=True)
class BathState:
    """A bath at one moment: µL, share used, mm² owed, bath volumes added, mm² since mixing."""

    volume_ul: int = 0
    wear: Decimal = ZERO
    arrears_mm2: Decimal = ZERO
    turnover: Decimal = ZERO
    area_mm2: Decimal = ZERO


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why an area may not be booked on a bath: what it would come to, and the limit."""

    code: str
    value: Decimal
    limit: Decimal


def replay(events: Iterable[Event], *, figures: BathFigures, full_ul: int) -> BathState:
    """State of a bath after everything that happened to it, in order of event time.

    Order: happened_at, entered_at, uses before movements, key.
    Domain: full_ul > 0.  Raises: OutOfRange.
    """
    check_positive("full_ul", full_ul)
    state = BathState()
    for event in sorted(events, key=_order):
        state = _apply(state, event, figures, full_ul)
    return state


def after_load(
    state: BathState, *, area_mm2: Decimal, material: str, figures: BathFigures, full_ul: int
) -> BathState:
    """State once a planned load has passed.

    Units: mm², µL.  Raises: UnknownClass, OutOfRange.
    """
    check_positive("full_ul", full_ul)
    check_range("area_mm2", area_mm2, 0)
    if not _admits(figures, material):
        raise UnknownClass(material)
    return _used(state, area_mm2, material, figures, full_ul)


def refusals(
    state: BathState, *, area_mm2: Decimal, material: str, figures: BathFigures
) -> tuple[Refusal, ...]:
    """Everything that forbids booking ``area_mm2`` on this bath; empty when it may be booked.

    Codes: ``class``, ``volume`` (nothing in the bottle), ``spent``, ``arrears``, ``turnover``,
    ``area_limit``. What exactly reaches a limit is still allowed; a bath that has reached its
    turnover is spent, for a load adds none.
    Units: mm².  Raises: OutOfRange.
    """
    check_range("area_mm2", area_mm2, 0)
    if not _admits(figures, material):
        return (Refusal("class", ZERO, ZERO),)
    if figures.way == "to_draw":
        return ()
    if state.volume_ul <= 0:
        return (Refusal("volume", ZERO, ZERO),)
    if figures.way == "reused":
        wear = _used(state, area_mm2, material, figures, state.volume_ul).wear
        worn = (Refusal("spent", wear, SPENT),) if wear > SPENT else ()
        return worn + _over_area(state, area_mm2, figures)
    return _replenished_refusals(state, area_mm2, figures)


def remaining_mm2(state: BathState, material: str, figures: BathFigures) -> Decimal | None:
    """Area that may still pass; None where area does not limit the bath.

    Units: mm².  Raises: UnknownClass.
    """
    if not _admits(figures, material):
        raise UnknownClass(material)
    if figures.way == "to_draw":
        return None
    room = _rooms(state, material, figures)
    return max(ZERO, min(room)) if room else None


def rounded(state: BathState) -> BathState:
    """The state to twelve places, as it is stored."""
    return replace(
        state,
        wear=state.wear.quantize(PLACES),
        arrears_mm2=state.arrears_mm2.quantize(PLACES),
        turnover=state.turnover.quantize(PLACES),
        area_mm2=state.area_mm2.quantize(PLACES),
    )


def _order(event: Event) -> tuple[datetime, datetime, int, int]:
    rank = 0 if isinstance(event, UseEvent) else 1
    return event.happened_at, event.entered_at, rank, event.key


def _apply(state: BathState, event: Event, figures: BathFigures, full_ul: int) -> BathState:
    match event:
        case UseEvent():
            return _used(state, event.area_mm2, event.material, figures, full_ul)
        case VolumeEvent():
            return _poured(state, event)
        case ReplenishEvent():
            return _replenished(state, event.added_ul, figures, full_ul)


def _used(
    state: BathState, area_mm2: Decimal, material: str, figures: BathFigures, full_ul: int
) -> BathState:
    """A use on a bath without recorded volume counts against the full one: no fact is lost."""
    wear, arrears = state.wear, state.arrears_mm2
    if figures.way == "replenished":
        arrears += area_mm2
    elif figures.way == "reused":
        capacity = _capacity(figures, material)
        volume_ul = state.volume_ul if state.volume_ul > 0 else full_ul
        wear += area_mm2 * UL_PER_L / (capacity * volume_ul) if capacity else SPENT
    return BathState(state.volume_ul, wear, arrears, state.turnover, state.area_mm2 + area_mm2)


def _capacity(figures: BathFigures, material: str) -> Decimal | None:
    """Capacity for a fact: an unknown class takes the smallest, a bath without any is spent."""
    known = figures.capacity_mm2_per_l
    if material in known:
        return known[material]
    return min(known.values(), default=None)


def _poured(state: BathState, event: VolumeEvent) -> BathState:
    volume = max(0, state.volume_ul + event.delta_ul)
    if event.delta_ul <= 0 or event.incoming_wear is None:
        return replace(state, volume_ul=volume)
    if state.volume_ul <= 0:
        return replace(state, volume_ul=volume, wear=max(state.wear, event.incoming_wear))
    used = state.volume_ul * state.wear + event.delta_ul * event.incoming_wear
    return replace(state, volume_ul=volume, wear=used / volume)


def _replenished(state: BathState, added_ul: int, figures: BathFigures, full_ul: int) -> BathState:
    paid = _paid(state, added_ul, figures)
    return replace(
        state,
        arrears_mm2=max(ZERO, state.arrears_mm2 - paid),
        turnover=state.turnover + Decimal(added_ul) / full_ul,
    )


def _paid(state: BathState, added_ul: int, figures: BathFigures) -> Decimal:
    if figures.replenish_stages:
        paid_to = state.area_mm2 - state.arrears_mm2
        return paid_mm2(figures.replenish_stages, paid_to_mm2=paid_to, added_ul=added_ul)
    rate = figures.replenish_ul_per_au
    return AU_MM2 * added_ul / rate if rate else ZERO


def _admits(figures: BathFigures, material: str) -> bool:
    known = figures.capacity_mm2_per_l
    return material in known or (figures.way != "reused" and not known)


def _replenished_refusals(
    state: BathState, area_mm2: Decimal, figures: BathFigures
) -> tuple[Refusal, ...]:
    litres = Decimal(state.volume_ul) / UL_PER_L
    found = []
    limit = figures.arrears_limit_mm2_per_l
    owed = (state.arrears_mm2 + area_mm2) / litres
    if limit is not None and owed > limit:
        found.append(Refusal("arrears", owed, limit))
    if figures.turnover_limit is not None and state.turnover >= figures.turnover_limit:
        found.append(Refusal("turnover", state.turnover, figures.turnover_limit))
    return (*found, *_over_area(state, area_mm2, figures))


def _over_area(state: BathState, area_mm2: Decimal, figures: BathFigures) -> tuple[Refusal, ...]:
    limit = figures.area_limit_mm2_per_l
    area = (state.area_mm2 + area_mm2) * UL_PER_L / state.volume_ul
    return (Refusal("area_limit", area, limit),) if limit is not None and area > limit else ()


def _rooms(state: BathState, material: str, figures: BathFigures) -> list[Decimal]:
    litres = Decimal(state.volume_ul) / UL_PER_L
    room = []
    if figures.area_limit_mm2_per_l is not None:
        room.append(figures.area_limit_mm2_per_l * litres - state.area_mm2)
    if figures.way == "reused":
        capacity = figures.capacity_mm2_per_l[material]
        room.append((SPENT - state.wear) * capacity * litres)
        return room
    if figures.arrears_limit_mm2_per_l is not None:
        room.append(figures.arrears_limit_mm2_per_l * litres - state.arrears_mm2)
    if figures.turnover_limit is not None and state.turnover >= figures.turnover_limit:
        room.append(ZERO)
    return room
