"""Whether the house lets a member do what a plan asks: what they were shown, what was looked at.

The same sentences stand on the page for planning and in the refusal of the operation.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef, Prefetch, Q, QuerySet
from django.urls import reverse

from chemistry.models import Process
from darkroom import checking
from darkroom.errors import DomainError
from darkroom.inducted import FOREVER, Inducted, Lack
from darkroom.models import Equipment, HouseRules, Induction, InductionTopic, Member
from sessions.models import Hold, Session
from sessions.planning.timeline import Need

Wanted = Sequence[tuple[Need, list[int]]]


NO_BATHS = (
    "This house keeps no baths for {process}, so it cannot be booked here. "
    "You can still see which vessels would hold its temperature."
)


class NotInducted(DomainError):
    """The member was not shown what they would use, or it expires before the session ends."""

    code = "not_inducted"

    def __init__(self, lack: Lack, *, field: str) -> None:
        # What merely expires too early would do for an earlier start.
        super().__init__(lack.sentence, field="start" if lack.code == "expires" else field)
        self.facts = {"why": lack.code, "topic": lack.topic.code}


class ChecksWanting(DomainError):
    """Nobody has looked at something of the house, or it is not as it should be."""

    code = "checks_wanting"


@dataclass(frozen=True)
class Blocker:
    """What is in the way of booking whatever the vessel, and where something is done about it."""

    title: str
    sentence: str
    url: str = ""
    button: str = ""


def blocker(
    process: Process, inducted: Inducted, *, rules: HouseRules, at: datetime
) -> Blocker | None:
    """The first thing that keeps the member from booking this process at all."""
    if not process.is_bookable:
        return Blocker("Not here", NO_BATHS.format(process=process))
    lack = lack_for_process(inducted, process, until=at)
    if lack is not None:
        topic = reverse("sessions:induction-topic", args=[lack.topic.code])
        return Blocker("You have not been shown this yet", lack.sentence, topic, "The induction")
    said = checks_sentence(process, rules=rules, at=at)
    if said:
        return Blocker("Not before somebody has looked", said, reverse("sessions:checks"), "Checks")
    return None


@dataclass(frozen=True)
class Admitted:
    """What of a plan is open to a member. ``lack``: why something of it is not, or not for long."""

    wanted: list[tuple[Need, list[int]]]
    ends_by: datetime
    lack: Lack | None

    def starts(self, found: Sequence[datetime], attended_s: int) -> list[datetime]:
        """Of these the ones from which the session ends in time."""
        lasts = timedelta(seconds=attended_s)
        return [start for start in found if self.ends_by - start >= lasts]


def admitted(
    process: Process, wanted: Wanted, pieces: Mapping[int, Equipment], inducted: Inducted
) -> Admitted:
    kept, lack = narrowed(wanted, pieces, inducted, until=inducted.at)
    ends_by = lasts_until(process, kept, pieces, inducted)
    if lack is None and ends_by < FOREVER:
        after = ends_by + timedelta(microseconds=1)
        lack = lack_for_process(inducted, process, until=after)
        lack = lack or narrowed(kept, pieces, inducted, until=after)[1]
    return Admitted(kept, ends_by, lack)


def lack_for_process(inducted: Inducted, process: Process, *, until: datetime) -> Lack | None:
    return inducted.lack(str(process), process.topic_id, until=until)


def lack_for_piece(inducted: Inducted, piece: Equipment, *, until: datetime) -> Lack | None:
    return inducted.lack(str(piece), piece.topic_id, until=until)


def narrowed(
    wanted: Wanted, pieces: Mapping[int, Equipment], inducted: Inducted, *, until: datetime
) -> tuple[list[tuple[Need, list[int]]], Lack | None]:
    """Each need with the pieces that the member may use; and why one of them has none left."""
    kept, lack = [], None
    for need, ids in wanted:
        able = [pk for pk in ids if inducted.covers(pieces[pk].topic_id, until=until)]
        if ids and not able and lack is None:
            lack = lack_for_piece(inducted, pieces[ids[0]], until=until)
        kept.append((need, able))
    return kept, lack


def lasts_until(
    process: Process, wanted: Wanted, pieces: Mapping[int, Equipment], inducted: Inducted
) -> datetime:
    """By when a session must have ended: after that something it needs may no longer be used."""
    ends = [inducted.lasts_until(process.topic_id)]
    for _, ids in wanted:
        found = [inducted.lasts_until(pieces[pk].topic_id) for pk in ids]
        ends.append(max((at for at in found if at is not None), default=FOREVER))
    return min((at for at in ends if at is not None), default=FOREVER)


def check_inducted(
    process: Process, wanted: Wanted, inducted: Inducted, *, until: datetime
) -> list[tuple[Need, list[int]]]:
    """The needs with the pieces that the member may use until then.  Raises: NotInducted."""
    lack = lack_for_process(inducted, process, until=until)
    if lack is not None:
        raise NotInducted(lack, field="film")
    pieces = Equipment.objects.in_bulk({pk for _, ids in wanted for pk in ids})
    kept, lack = narrowed(wanted, pieces, inducted, until=until)
    if lack is not None:
        raise NotInducted(lack, field="option")
    return kept


def checks_sentence(process: Process, *, rules: HouseRules, at: datetime) -> str:
    """What has to be looked at before anything of this process is booked; empty: nothing."""
    found = checking.in_the_way(
        checking.states(at=at), is_colour_or_toner=process.is_colour_or_toner
    )
    said = [f"{state.says(rules.tz)} {checking.who_looks(state.check)}" for state in found]
    return " ".join(said)


def check_house(process: Process, *, rules: HouseRules, at: datetime) -> None:
    """Raises: ChecksWanting."""
    said = checks_sentence(process, rules=rules, at=at)
    if said:
        raise ChecksWanting(f"Nothing of {process} can be booked now. {said}")


def lacking(*, rules: HouseRules, at: datetime) -> list[tuple[Session, Lack]]:
    """Sessions to come whose member may no longer use or run something of them by their end."""
    holds = Hold.objects.live().filter(equipment__topic__isnull=False).select_related("equipment")
    ahead = Session.objects.live().filter(ended_at__isnull=True, ends_at__gt=at)
    visits = list(
        ahead.filter(_lacks_for("process__topic") | Exists(_holds_lacking()))
        .select_related("member", "process")
        .prefetch_related(Prefetch("holds", holds, to_attr="asking"))
        .order_by("starts_at", "pk")
    )
    people = Inducted.of_many({visit.member for visit in visits}, zone=rules.tz, at=at)
    found = [(visit, _first_lack(visit, people[visit.member_id])) for visit in visits]
    # Whoever gives an induction has none in the database, and needs none.
    return [(visit, lack) for visit, lack in found if lack is not None]


def lack_of(visit: Session, *, rules: HouseRules, at: datetime) -> Lack | None:
    """What the member of this session will lack when it ends."""
    holds = visit.holds.live().filter(equipment__topic__isnull=False)
    visit.asking = list(holds.select_related("equipment"))  # type: ignore[attr-defined]
    return _first_lack(visit, Inducted(visit.member, zone=rules.tz, at=at))


def _first_lack(visit: Session, inducted: Inducted) -> Lack | None:
    asking: list[Hold] = visit.asking  # type: ignore[attr-defined]  # prefetched above
    lacks = [lack_for_process(inducted, visit.process, until=visit.ends_at)]
    lacks += [lack_for_piece(inducted, h.equipment, until=visit.ends_at) for h in asking]
    return next((lack for lack in lacks if lack is not None), None)


def _lacks_for(topic: str, session: str = "") -> Q:
    """There is a topic, and no induction that lasts until the session ends."""
    lasting = Q(expires_at__isnull=True) | Q(expires_at__gte=OuterRef(f"{session}ends_at"))
    shown = Induction.objects.current().filter(
        lasting, member=OuterRef(f"{session}member"), topic=OuterRef(topic)
    )
    return Q(**{f"{topic}__isnull": False}) & ~Q(Exists(shown))


def _holds_lacking() -> QuerySet[Hold]:
    return Hold.objects.live().filter(
        _lacks_for("equipment__topic", "session__"), session=OuterRef("pk")
    )


def needing(topic: InductionTopic, member: Member, *, at: datetime) -> QuerySet[Session]:
    """This member's sessions to come that count on the topic."""
    ahead = Session.objects.live().filter(member=member, ended_at=None, ends_at__gt=at)
    asking = Hold.objects.live().filter(session=OuterRef("pk"), equipment__topic=topic)
    counting = ahead.filter(Q(process__topic=topic) | Q(Exists(asking)))
    return counting.select_related("vessel", "process").order_by("starts_at", "pk")
