"""Looking at the house, and what follows from nobody having looked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import OuterRef, Subquery

from darkroom.errors import DomainError, NotAllowed
from darkroom.inducted import a_steward, stewards
from darkroom.models import CheckMark, Gates, HouseCheck, Member
from darkroom.operations import claim_receipt, operation
from darkroom.words import checked_words

MOST_WORDS = 300


class NotInUse(DomainError):
    """The house no longer looks at this."""

    code = "not_in_use"
    status = 409


@dataclass(frozen=True)
class CheckState:
    """A check with its latest mark, as of a moment."""

    check: HouseCheck
    last: CheckMark | None
    at: datetime

    @property
    def due_at(self) -> datetime | None:
        """When it has to be looked at again; None: nobody ever has."""
        return None if self.last is None else self.last.at + timedelta(days=self.check.every_days)

    @property
    def is_bad(self) -> bool:
        return self.last is not None and not self.last.is_good

    @property
    def is_overdue(self) -> bool:
        return self.due_at is None or self.due_at <= self.at

    @property
    def is_fine(self) -> bool:
        return not (self.is_bad or self.is_overdue)

    def gates_work(self, *, is_colour_or_toner: bool) -> bool:
        """Whether it stands in the way of booking such a session."""
        gates = {Gates.ALL, Gates.COLOUR_AND_TONER} if is_colour_or_toner else {Gates.ALL}
        return self.check.gates in gates and not self.is_fine

    def says(self, zone: ZoneInfo) -> str:
        """How it stands, in one sentence."""
        if self.last is None:
            return f"{self.check}: nobody has looked yet."
        day = f"{self.last.at.astimezone(zone):%-d %B %Y}"
        if self.is_bad:
            return f"{self.check}: not so on {day}, “{self.last.note.rstrip('.')}”."
        if self.is_overdue:
            return f"{self.check}: looked at last on {day}, and wanted every {self.every}."
        return f"{self.check}: so on {day}."

    @property
    def every(self) -> str:
        days = self.check.every_days
        return {1: "day", 7: "week"}.get(days, f"{days} days")


def states(*, at: datetime) -> list[CheckState]:
    """Every check in use with its latest mark; two queries for any number."""
    marks = CheckMark.objects.filter(house_check=OuterRef("pk"), at__lte=at)
    checks = list(
        HouseCheck.objects.filter(is_in_use=True).annotate(
            last_mark=Subquery(marks.order_by("-at", "-pk").values("pk")[:1])
        )
    )
    ids = [check.last_mark for check in checks if check.last_mark is not None]
    latest = {mark.pk: mark for mark in CheckMark.objects.filter(pk__in=ids).select_related("by")}
    return [CheckState(check, latest.get(check.last_mark), at) for check in checks]


def in_the_way(found: Iterable[CheckState], *, is_colour_or_toner: bool) -> list[CheckState]:
    return [s for s in found if s.gates_work(is_colour_or_toner=is_colour_or_toner)]


def who_looks(check: HouseCheck) -> str:
    """Who can set it right, as a sentence."""
    if check.by_stewards:
        return f"That is for {a_steward(stewards())}."
    return "Any member who is in the house may look, and mark it on the page of checks."


@operation
def mark_check(
    *, check: HouseCheck, is_good: bool, note: str = "", key: UUID, by: Member, at: datetime
) -> CheckMark:
    """Somebody looked. What is not as it should be is said in words.

    Raises: NotAllowed, NotInUse, WordsWanted, AlreadySent.
    """
    figures = {"check": check.pk, "is_good": is_good, "note": note}
    receipt = claim_receipt(by, key, "mark_check", figures)
    if receipt.result:
        return CheckMark.objects.get(pk=receipt.result)
    check = HouseCheck.objects.get(pk=check.pk)
    if not check.may_be_marked_by(by):
        raise NotAllowed("A steward looks at this one.")
    if not check.is_in_use:
        raise NotInUse(f"The house no longer looks at this: {check}.")
    if note.strip() or not is_good:
        note = checked_words(note, most=MOST_WORDS, field="note", missing="Say what is wrong.")
    mark = CheckMark.objects.create(
        house_check=check, at=at, by=by, is_good=is_good, note=note.strip()
    )
    receipt.settle(mark.pk)
    return mark
