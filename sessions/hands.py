"""What waits for a steward's hands, the most urgent first; each line a sentence and a button."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import F, QuerySet
from django.urls import reverse

from chemistry.figures import missing_figures
from chemistry.models import Account, AccountKind, Condition, Stream, WayOfUse
from chemistry.views.drums import NEARLY_FULL_PCT
from chemistry.volumes import ml_text
from darkroom import checking
from darkroom.models import Gates, HouseRules
from sessions import admission, company
from sessions.alerts import OVERDUE_AFTER
from sessions.bottles import Bottle
from sessions.models import Allotment, Fault, Hold, Session
from sessions.planning.promises import Failure, failures
from sessions.supplies import load_supplies
from sessions.wording import failure_sentence

STOPPED = {
    Gates.ALL: " It keeps sessions from being booked.",
    Gates.COLOUR_AND_TONER: " It keeps colour and toner work from being booked.",
}


@dataclass(frozen=True)
class Hand:
    """``bottle`` draws itself beside the line, where the line is about one."""

    urgency: int
    says: str
    url: str
    button: str
    bottle: Bottle | None = None


def needed(found: Sequence[Bottle], *, at: datetime, rules: HouseRules) -> list[Hand]:
    """All lines, from a fixed number of queries. ``found``: every bottle on the shelf."""
    lines = [
        *_let_down(found, at, rules),
        *_out_of_service(at, rules),
        *_faults(rules),
        *_lacking(at, rules),
        *_alone(at, rules),
        *_checks(at, rules),
        *_to_be_mixed(at, rules),
        *_bottles(found),
        *_unplaced(),
        *_containers(),
        *_overdue(at, rules),
        *_figures(),
    ]
    return sorted(lines, key=lambda hand: hand.urgency)


def _let_down(found: Sequence[Bottle], at: datetime, rules: HouseRules) -> Iterator[Hand]:
    """Sessions whose bottle will not do, at their time and after everybody before them.

    Several that one bottle fails alike are one line.
    """
    promised = [bottle.batch for bottle in found if bottle.promised_mm2]
    failing = {
        key: (supply.batch.code, failure)
        for supply in load_supplies(promised)
        for key, failure in failures(supply.bottle, supply.promised).items()
    }
    ahead = Allotment.objects.filter(pk__in=failing, session__ends_at__gt=at)
    let_down: dict[tuple[str, str], list[Allotment]] = {}
    for row in _with_session(ahead):
        code, failure = failing[row.pk]
        let_down.setdefault((code, failure.code), []).append(row)
    for (code, _), rows in let_down.items():
        yield _let_down_by(code, failing[rows[0].pk][1], rows, rules)


def _let_down_by(code: str, failure: Failure, rows: Sequence[Allotment], rules: HouseRules) -> Hand:
    """``rows``: the allotments that fail alike, the first to come first."""
    why, first = failure_sentence(code, failure, is_own=True), rows[0].session
    count = len({row.session_id for row in rows})
    if count == 1:
        return Hand(
            10, f"{_when(first, rules)}: {why}", first.get_absolute_url(), "See the session"
        )
    says = f"{why[:-1]}, and {count} sessions count on it, the first {_when(first, rules)}."
    url = reverse("sessions:batch", args=[code])
    return Hand(10, says, f"{url}#promised", "See them")


def _lacking(at: datetime, rules: HouseRules) -> Iterator[Hand]:
    for visit, lack in admission.lacking(rules=rules, at=at):
        says = f"{_when(visit, rules)}: {lack.sentence}"
        url = reverse("sessions:induction-topic", args=[lack.topic.code])
        yield Hand(12, says, url, "See the induction")


def _alone(at: datetime, rules: HouseRules) -> Iterator[Hand]:
    for visit, gaps in company.left_alone(rules=rules, at=at):
        says = f"{_when(visit, rules)}: {company.alone_sentence(gaps, rules.tz)}"
        yield Hand(14, says, visit.get_absolute_url(), "See the session")


def _checks(at: datetime, rules: HouseRules) -> Iterator[Hand]:
    for state in checking.states(at=at):
        if not state.is_fine:
            then = STOPPED.get(Gates(state.check.gates), "")
            url = f"{reverse('sessions:checks')}#{state.check.code}"
            yield Hand(16 if then else 62, f"{state.says(rules.tz)}{then}", url, "Look at it")


def _out_of_service(at: datetime, rules: HouseRules) -> Iterator[Hand]:
    """Sessions that lost a piece to its being out of service then, each once."""
    lost = Hold.objects.filter(is_let_down=True, session__ended_at=None, session__ends_at__gt=at)
    rows = lost.filter(session__cancelled_at=None).select_related("session__member", "equipment")
    by_session: dict[Session, set[str]] = {}
    for hold in rows.order_by("session__starts_at", "session", "equipment__code"):
        assert hold.session is not None, "only a session is let down"
        by_session.setdefault(hold.session, set()).add(hold.equipment.code)
    for visit, codes in by_session.items():
        says = f"{_when(visit, rules)}: {' and '.join(sorted(codes))} out of service then: move it."
        yield Hand(10, says, visit.get_absolute_url(), "See the session")


def _faults(rules: HouseRules) -> Iterator[Hand]:
    """Nobody has seen to them yet; first those with which a piece had better not be used."""
    for fault in Fault.objects.open().select_related("equipment").order_by("reported_at", "pk"):
        day = fault.reported_at.astimezone(rules.tz)
        doubt = " It had better not be used." if fault.better_not_used else ""
        yield Hand(
            15 if fault.better_not_used else 58,
            f"{fault.equipment}, since {day:%-d %B}: {fault.seen.rstrip('.')}.{doubt}",
            reverse("sessions:fault-resolve", args=[fault.pk]),
            "See to it",
        )


def _to_be_mixed(at: datetime, rules: HouseRules) -> Iterator[Hand]:
    rows = _with_session(
        Allotment.objects.open().filter(batch__isnull=True, session__ends_at__gt=at)
    )
    wanted: dict[int, list[Allotment]] = {}
    for row in rows.select_related("way__version__recipe"):
        wanted.setdefault(row.way_id, []).append(row)
    for waiting in wanted.values():
        yield _mix_for(waiting, rules)


def _mix_for(rows: Sequence[Allotment], rules: HouseRules) -> Hand:
    """``rows``: the allotments that wait for one recipe, the first to come first."""
    row, recipe = rows[0], rows[0].way.version.recipe
    least = ml_text(max(sum(r.consumed_ul for r in rows), *(r.borrowed_ul for r in rows)))
    count = len({r.session_id for r in rows})
    who = _when(row.session, rules)
    who = who if count == 1 else f"{count} sessions, the first {who}"
    return Hand(
        20,
        f"{who}: {row.step.name.lower()} is still to be mixed, at least {least} of {recipe}.",
        reverse("chemistry:mix-recipe", args=[recipe.code]),
        "Mix it",
    )


def _with_session(rows: QuerySet[Allotment]) -> QuerySet[Allotment]:
    return rows.select_related("session__member", "step").order_by("session__starts_at", "pk")


def _bottles(found: Sequence[Bottle]) -> Iterator[Hand]:
    for bottle in sorted(found, key=lambda b: (b.rank, b.batch.code)):
        hand = _bottle(bottle)
        if hand is not None:
            yield hand


def _bottle(bottle: Bottle) -> Hand | None:
    code, name = bottle.batch.code, bottle.name
    pour = reverse("chemistry:batch-pour", args=[code])
    match bottle.condition:
        case Condition.STOPPED:
            release = reverse("chemistry:batch-release", args=[code])
            says = f"{code}, {name}: {bottle.verdict.sentence}"
            return Hand(30, says, release, "Decide", bottle)
        case Condition.SPENT | Condition.OUT_OF_DATE:
            says = f"{name} {code} is {bottle.condition.label.lower()}: pour out "
            return Hand(50, f"{says}{ml_text(bottle.volume_ul)}.", pour, "Pour out", bottle)
        case Condition.EMPTY:
            return Hand(60, f"{name} {code} is empty: take it off the shelf.", pour, "See", bottle)
    if not bottle.owed_ul or bottle.condition == Condition.FRESH:
        return None
    urgency = 40 if bottle.condition == Condition.OWED else 55
    says = f"Top up {code} by {ml_text(bottle.owed_ul)}."
    replenish = reverse("chemistry:batch-replenish", args=[code])
    return Hand(urgency, says, replenish, "Top up", bottle)


def _unplaced() -> Iterator[Hand]:
    heaps = Account.objects.filter(kind=AccountKind.UNPLACED, unit="ul", balance__gt=0)
    for heap in heaps.order_by("stream"):
        label = Stream(heap.stream).label.lower()
        yield Hand(
            45,
            f"{ml_text(heap.balance)} of used {label} stand beside the containers: place them.",
            reverse("chemistry:waste"),
            "Place",
        )


def _containers() -> Iterator[Hand]:
    accounts = Account.objects.filter(
        kind=AccountKind.CONTAINER, container__consignment__isnull=True
    ).select_related("container")
    for account in accounts.order_by(F("balance").desc(), "pk"):
        container = account.container
        if container is not None and 100 * account.balance >= NEARLY_FULL_PCT * container.limit_ul:
            filled = 100 * account.balance // container.capacity_ul
            yield Hand(
                48 if account.balance >= container.limit_ul else 65,
                f"Waste container {container.code} is at {filled} %: hand it over.",
                reverse("chemistry:container-hand-over", args=[container.code]),
                "Hand over",
            )


def _overdue(at: datetime, rules: HouseRules) -> Iterator[Hand]:
    late = Session.objects.live().filter(ended_at__isnull=True, ends_at__lte=at - OVERDUE_AFTER)
    for visit in late.select_related("member"):
        yield Hand(
            70,
            f"{_when(visit, rules)} was never recorded: record it, or cancel it.",
            visit.get_absolute_url(),
            "See the session",
        )


def _figures() -> Iterator[Hand]:
    ways = WayOfUse.objects.select_related("version__recipe").prefetch_related("figures")
    names: dict[tuple[str, str], list[str]] = {}
    for way in ways.order_by("version__recipe__name", "pk"):
        for name in missing_figures(way):
            recipe = way.version.recipe
            names.setdefault((recipe.code, recipe.name), []).append(name.label.lower())
    if len(names) > 1:
        says = f"{len(names)} recipes lack a figure of the house's own: enter it for those in use."
        yield Hand(90, says, reverse("chemistry:recipes"), "See which")
    for (code, title), missing in names.items() if len(names) == 1 else ():
        listed = ", ".join(dict.fromkeys(missing))
        yield Hand(
            90,
            f"{title}: enter the house's own figure for {listed}.",
            reverse("chemistry:recipe-figures", args=[code]),
            "Enter",
        )


def _when(visit: Session, rules: HouseRules) -> str:
    return f"{visit.starts_at.astimezone(rules.tz):%A %-d %B, %H:%M}, {visit.member}"
