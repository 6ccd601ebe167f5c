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
from functools import partial
from typing import Any

from darkroom.errors import DomainError
from darkroom.inducted import Inducted
from darkroom.models import Equipment, EquipmentKind, HouseRules
from sessions import admission, company, pieces
from sessions.admission import Blocker
from sessions.asking import Ask, Priority
from sessions.choosing import Choosing, Manner, Refused, marked
from sessions.errors import Unsuitable
from sessions.means import Developer, Means
from sessions.models import Session
from sessions.option import Option
from sessions.planning.plan import Plan
from sessions.pouring import bath_choices
from sessions.standing_plan import timeline_of
from sessions.starts import FreeTime, Wanted


class NothingFits(DomainError):
    """No vessel, or not the one asked for, can take the sheets."""

    code = "nothing_fits"


MOST_PAIRS = 4
"""Pairs shown in full. Standing: the house's own; more would bury the vessels themselves."""


@dataclass(frozen=True)
class Offer:
    """Everything a page says in answer; ``blocker``: what is in the way whatever the vessel."""

    developers: Sequence[Developer]
    developer: Developer | None
    options: Sequence[Option] = ()
    refused: Sequence[Refused] = ()
    other_pairs: Sequence[Manner] = ()
    warming: str = ""
    blocker: Blocker | None = None

    def option(self, key: str) -> Option | None:
        """The option of this key, or else the first."""
        first = self.options[0] if self.options else None
        return next((option for option in self.options if option.key == key), first)


def offer(ask: Ask, *, at: datetime, first: date | None = None, wanted: str = "") -> Offer:
    """Every way to run the sheets, with its free starts from ``first`` on; and of the vessels that
    cannot take them why not.

    Of the pairs only the best few, and ``wanted`` by its key, are worked out to the end.
    """
    means = Means(ask, at=at)
    try:
        choosing = Choosing(means)
    except Unsuitable as reason:
        return _nowhere(means, reason)
    alone, refused = choosing.alone()
    singles = [*alone, *choosing.crowded(alone)]
    manners = marked([*singles, *choosing.in_pairs()])
    shown, others = _shown(manners, len(singles), ask.priority, wanted)
    free = _free_time(means, first=first, at=at)
    options = [_option(choosing, manner, free) for manner in shown]
    return Offer(
        developers=means.developers,
        developer=_chosen_developer(means),
        options=sorted(options, key=partial(order_of, priority=ask.priority)),
        refused=refused,
        other_pairs=others,
        warming=choosing.planner.warm_up.says,
        blocker=_blocker(means),
    )


def plan_for(
    ask: Ask, *, at: datetime, vessel: str | None = None, agitation: str | None = None
) -> Plan:
    """The plan for this vessel and way to agitate it, or for the first that can take the sheets.

    Raises: NothingFits.
    """
    means = Means(ask, at=at)
    blocker = _blocker(means)
    if blocker is not None:
        raise NothingFits(blocker.sentence, field="film")
    try:
        choosing = Choosing(means)
    except Unsuitable as reason:
        raise NothingFits(reason.sentence, field="option", reasons=[reason.sentence]) from reason
    manners, refused = choosing.alone(vessel, agitation)
    if not manners:
        why = refused[0].sentence if len(refused) == 1 else "No vessel can take this."
        raise NothingFits(why, field="option", reasons=[r.sentence for r in refused])
    return choosing.planner.plan(manners[0].parts)


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
    found = {piece.pk: piece for piece in Equipment.objects.all()}
    inducted = Inducted(visit.member, zone=rules.tz, at=at)
    wanted = pieces.candidates(line.needs, found.values())
    open_to = admission.admitted(visit.process, wanted, found, inducted)
    ids = {pk for _, pks in open_to.wanted for pk in pks}
    first = at.astimezone(rules.tz).date()
    free = FreeTime(ids, first=first, rules=rules, at=at, ignoring=visit.pk)
    return open_to.starts(free.starts(line, open_to.wanted), line.attended_s)


def order_of(option: Option, *, priority: str) -> tuple[Any, ...]:
    """By what the member cares about most; a pair takes a second person, crowding a risk."""
    counts = option.manner.counts
    soonest = (not option.starts, option.starts[0].timestamp() if option.starts else 0)
    wanted: dict[str, tuple[Any, ...]] = {
        Priority.SOLUTION: (counts.used_ul, counts.load_ml),
        Priority.TIME: (counts.attended_s,),
        Priority.STEADY: (counts.drift_c,),
    }
    first = wanted.get(priority, (option.is_pair,))
    return (option.manner.is_crowded, *first, *soonest, counts.attended_s, option.key)


def _shown(
    manners: Sequence[Manner], singles: int, priority: str, wanted: str
) -> tuple[list[Manner], list[Manner]]:
    """Every vessel by itself, and of the pairs the best few that nothing beats, and the one
    wanted; and the other pairs."""
    pairs = sorted(manners[singles:], key=partial(_rank, priority=priority))
    best = [pair for pair in pairs if pair.is_unbeaten][:MOST_PAIRS]
    keys = {pair.key for pair in best} | {wanted}
    kept = [pair for pair in pairs if pair.key in keys]
    return [*manners[:singles], *kept], [pair for pair in pairs if pair.key not in keys]


def _rank(manner: Manner, *, priority: str) -> tuple[Any, ...]:
    counts = manner.counts
    used = (counts.used_ul, counts.load_ml)
    if priority == Priority.SOLUTION:
        return (*used, counts.attended_s, counts.drift_c, manner.key)
    if priority == Priority.STEADY:
        return (counts.drift_c, counts.attended_s, *used, manner.key)
    return (counts.attended_s, *used, counts.drift_c, manner.key)


def _nowhere(means: Means, reason: Unsuitable) -> Offer:
    """What is in the way whatever the vessel, said of each."""
    vessels = [piece for piece in means.equipment if piece.is_vessel]
    return Offer(
        developers=means.developers,
        developer=_chosen_developer(means),
        refused=[Refused(vessel, None, reason.code, reason.sentence) for vessel in vessels],
        blocker=_blocker(means),
    )


def _chosen_developer(means: Means) -> Developer | None:
    return next((d for d in means.developers if d.way == means.developer), None)


def _blocker(means: Means) -> Blocker | None:
    process = means.ask.process
    return admission.blocker(process, means.inducted, rules=means.rules, at=means.at)


def _free_time(means: Means, *, first: date | None, at: datetime) -> FreeTime:
    ids = [piece.pk for piece in means.equipment if piece.is_in_service]
    first = first or at.astimezone(means.rules.tz).date()
    return FreeTime(ids, first=first, rules=means.rules, at=at)


def _option(choosing: Choosing, manner: Manner, free: FreeTime) -> Option:
    means, plan = choosing.means, choosing.planner.plan(manner.parts)
    every = pieces.candidates(plan.timeline.needs, means.equipment)
    open_to = admission.admitted(means.ask.process, every, means.pieces, means.inducted)
    found = free.starts(plan.timeline, open_to.wanted)
    starts = open_to.starts(found, plan.timeline.attended_s)
    nominal = starts[0] if starts else means.at
    return Option(
        ask=means.ask,
        manner=manner,
        plan=plan,
        starts=starts,
        baths=bath_choices(means, plan, nominal),
        missing=_missing(every),
        lack=open_to.lack if len(starts) < len(found) or not found else None,
        needs_company=company.is_asked(means.ask.process, means.rules),
    )


def _missing(wanted: Wanted) -> str:
    """What the house has none of in service, so that no start can ever be free."""
    return next((EquipmentKind(pieces.KINDS[n.kind]).label for n, ids in wanted if not ids), "")
