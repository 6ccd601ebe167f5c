"""What the house can offer a member who says what they bring.

In code, from question to booking::

    ask = Ask(member=ada, film=film, index=400, format=four_by_five, sheets=6)
    plan = plan_for(ask, at=at)                      # the first vessel that can take it, or
    plan = plan_for(ask, at=at, vessel="J-1")        # this one; raises NothingFits
    starts = free_starts(plan, at=at)                # the next fortnight, in UTC
    visit = book_session(plan=plan, starts_at=starts[0], key=uuid4(), by=ada, at=at)

``plan.with_bottles({step_id: batch_id}, accepts_mixing=True)`` chooses bottles, and allows steps
whose bottle is still to be mixed. A page asks for the whole ``offer``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from darkroom.errors import DomainError
from darkroom.models import Equipment, EquipmentKind, HouseRules, VesselAgitation
from sessions import pieces
from sessions.asking import Ask
from sessions.errors import Unsuitable
from sessions.means import Developer, Means
from sessions.minutes import Developing
from sessions.models import Session
from sessions.planner import Part, make_plan
from sessions.planning.plan import Plan
from sessions.pouring import BathChoice, bath_choices
from sessions.standing_plan import timeline_of
from sessions.starts import FreeTime, Wanted


class NothingFits(DomainError):
    """No vessel, or not the one asked for, can take the sheets."""

    code = "nothing_fits"


@dataclass(frozen=True)
class Option:
    """A vessel that can take the sheets, with everything that would be booked."""

    ask: Ask
    vessel: Equipment
    agitation: VesselAgitation
    plan: Plan
    parts: Sequence[Part]
    starts: Sequence[datetime]
    baths: Sequence[BathChoice]
    missing: str = ""

    @property
    def key(self) -> str:
        return f"{self.vessel.code}:{self.agitation.agitation}"

    @property
    def developing(self) -> Developing:
        """The developer's minutes of the first line."""
        return self.parts[0].developing

    @property
    def sentence(self) -> str:
        """What a press of the button would book, but for the time."""
        plan = self.plan
        what = "; ".join(f"{_sheets(line.sheets)} of {line}" for line in self.ask.lines)
        loads = "one load" if plan.loads == 1 else f"{plan.loads} loads"
        volumes = sorted({part.loading.load_ml for part in self.parts})
        return f"{what}, in {self.vessel}: {loads} of {' and '.join(map(str, volumes))} mL."

    @property
    def over(self) -> str:
        return f"{self.vessel.code}, {self.agitation.get_agitation_display().lower()}"

    @property
    def split(self) -> str:
        """Sheets load by load; lines never share one."""
        return "; ".join(" + ".join(map(str, line.split)) for line in self.plan.lines)

    @property
    def failing(self) -> list[str]:
        """Why other bottles of the right kind do not serve."""
        return [sentence for choice in self.baths for sentence in choice.failing]

    @property
    def to_mix(self) -> list[BathChoice]:
        """Steps that no bottle on the shelf serves."""
        return [choice for choice in self.baths if choice.best is None]


@dataclass(frozen=True)
class Refused:
    """A vessel that cannot take the sheets, and why."""

    vessel: Equipment
    agitation: VesselAgitation | None
    code: str
    sentence: str


@dataclass(frozen=True)
class Offer:
    """Everything a page says in answer; ``blocker``: what is in the way whatever the vessel."""

    developers: Sequence[Developer]
    developer: Developer | None
    options: Sequence[Option] = ()
    refused: Sequence[Refused] = ()
    blocker: str = ""

    def option(self, key: str) -> Option | None:
        """The option of this key, or else the first."""
        first = self.options[0] if self.options else None
        return next((option for option in self.options if option.key == key), first)


def offer(ask: Ask, *, at: datetime, first: date | None = None) -> Offer:
    """Every vessel that can take the sheets, with its free starts from ``first`` on, soonest first;
    and of the others why not."""
    means = Means(ask, at=at)
    plans, refused = _plans(means)
    free = _free_time(means, first=first, at=at)
    options = [_option(means, plan, free) for plan in plans]
    return Offer(
        developers=means.developers,
        developer=next((d for d in means.developers if d.way == means.developer), None),
        options=sorted(options, key=_soonest),
        refused=refused,
        blocker=_blocker(ask),
    )


def plan_for(
    ask: Ask, *, at: datetime, vessel: str | None = None, agitation: str | None = None
) -> Plan:
    """The plan for this vessel and way to agitate it, or for the first that can take the sheets.

    Raises: NothingFits.
    """
    means = Means(ask, at=at)
    plans, refused = _plans(means, vessel, agitation)
    if _blocker(ask):
        raise NothingFits(_blocker(ask), field="film")
    if not plans:
        why = refused[0].sentence if len(refused) == 1 else "No vessel can take this."
        raise NothingFits(why, field="option", reasons=[r.sentence for r in refused])
    return plans[0][2]


def free_starts(plan: Plan, *, at: datetime, first: date | None = None) -> list[datetime]:
    """When the plan can start in the fortnight from ``first`` on, in UTC and in order."""
    rules = HouseRules.current()
    wanted = pieces.candidates(plan.timeline.needs, Equipment.objects.all())
    ids = {pk for _, pks in wanted for pk in pks}
    first = first or at.astimezone(rules.tz).date()
    return FreeTime(ids, first=first, rules=rules, at=at).starts(plan.timeline, wanted)


def starts_of(visit: Session, *, at: datetime) -> list[datetime]:
    """When a session that stands could start instead, its own holds left out of account."""
    rules, line = HouseRules.current(), timeline_of(visit)
    wanted = pieces.candidates(line.needs, Equipment.objects.all())
    ids = {pk for _, pks in wanted for pk in pks}
    first = at.astimezone(rules.tz).date()
    free = FreeTime(ids, first=first, rules=rules, at=at, ignoring=visit.pk)
    return free.starts(line, wanted)


Planned = tuple[Equipment, VesselAgitation, Plan, Sequence[Part]]


def _plans(
    means: Means, vessel: str | None = None, agitation: str | None = None
) -> tuple[list[Planned], list[Refused]]:
    plans: list[Planned] = []
    refused: list[Refused] = []
    wanted = agitation or means.ask.agitation
    for piece in means.equipment:
        if not piece.is_vessel or vessel not in {None, piece.code}:
            continue
        ways = [way for way in piece.agitations.all() if wanted in {"", way.agitation}]
        if not ways:
            refused.append(Refused(piece, None, "agitation", "It is not agitated that way."))
        for way in ways:
            try:
                plans.append((piece, way, *make_plan(means, piece, way)))
            except Unsuitable as reason:
                refused.append(Refused(piece, way, reason.code, reason.sentence))
    return plans, refused


def _blocker(ask: Ask) -> str:
    if ask.process.is_bookable:
        return ""
    return (
        f"This house keeps no baths for {ask.process}, so it cannot be booked here. "
        "You can still see which vessels would hold its temperature."
    )


def _free_time(means: Means, *, first: date | None, at: datetime) -> FreeTime:
    ids = [piece.pk for piece in means.equipment if piece.is_in_service]
    first = first or at.astimezone(means.rules.tz).date()
    return FreeTime(ids, first=first, rules=means.rules, at=at)


def _option(means: Means, planned: Planned, free: FreeTime) -> Option:
    vessel, agitation, plan, parts = planned
    wanted = pieces.candidates(plan.timeline.needs, means.equipment)
    starts = free.starts(plan.timeline, wanted)
    nominal = starts[0] if starts else means.at
    return Option(
        ask=means.ask,
        vessel=vessel,
        agitation=agitation,
        plan=plan,
        parts=parts,
        starts=starts,
        baths=bath_choices(means, plan, nominal),
        missing=_missing(wanted),
    )


def _missing(wanted: Wanted) -> str:
    """What the house has none of in service, so that no start can ever be free."""
    return next((EquipmentKind(pieces.KINDS[n.kind]).label for n, ids in wanted if not ids), "")


def _sheets(count: int) -> str:
    return "1 sheet" if count == 1 else f"{count} sheets"


def _soonest(option: Option) -> tuple[bool, float, int, str]:
    first = option.starts[0].timestamp() if option.starts else 0
    return not option.starts, first, option.plan.timeline.attended_s, option.key
