"""A day's strip: what is kept for whom."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime

from darkroom.drawing import Lane, Phase
from darkroom.models import Equipment, HouseRules, Member
from sessions.hours import closed_sentence, house_hours, openings
from sessions.models import Hold
from sessions.models.sessions import Phase as HeldFor
from sessions.planning.localtime import from_epoch

DRAWN_AS = {HeldFor.CLEAN: "wash", HeldFor.OUT: "closed"}


@dataclass(frozen=True)
class Day:
    lanes: list[Lane]
    opens_at: datetime
    closes_at: datetime


def why_closed(day: date) -> str:
    """What to say of a day that has no strip."""
    return closed_sentence(house_hours(day, 1), day)


def today(reader: Member, *, at: datetime, rules: HouseRules) -> Day | None:
    """The lanes of everything that is kept today; None on a day without opening hours."""
    return day_of(reader, at.astimezone(rules.tz).date(), rules=rules)


def day_of(
    reader: Member, day: date, *, rules: HouseRules, piece: Equipment | None = None
) -> Day | None:
    """The lanes of everything that is kept on a day, or the one lane of this piece."""
    open_s = openings(rules, day, 1)
    if not open_s:
        return None
    opens_at, closes_at = (from_epoch(moment).astimezone(rules.tz) for moment in open_s[0])
    held: dict[Equipment, list[Phase]] = defaultdict(list)
    holds = Hold.objects.live().overlapping(opens_at, closes_at)
    if piece is not None:
        held[piece] = []
        holds = holds.filter(equipment=piece)
    for hold in holds.select_related("equipment", "session__member").order_by(
        "equipment__code", "period"
    ):
        held[hold.equipment].append(_phase(hold, reader, rules))
    lanes = [Lane(str(equipment), tuple(phases)) for equipment, phases in held.items()]
    return Day(lanes, opens_at, closes_at)


def _phase(hold: Hold, reader: Member, rules: HouseRules) -> Phase:
    """Others' sessions are shown without a name, save to those who may see them."""
    starts_at, ends_at = (
        end.astimezone(rules.tz) for end in (hold.period.lower, hold.period.upper)
    )
    visit = hold.session
    if visit is None:
        return Phase(kind=DRAWN_AS[HeldFor.OUT], starts_at=starts_at, ends_at=ends_at)
    is_mine = visit.member_id == reader.pk
    is_open = is_mine or reader.may_audit
    return Phase(
        kind=DRAWN_AS.get(HeldFor(hold.phase), hold.phase),
        starts_at=starts_at,
        ends_at=ends_at,
        says="" if is_mine else visit.member.name if is_open else "",
        url=visit.get_absolute_url() if is_open else "",
        is_mine=is_mine,
    )
