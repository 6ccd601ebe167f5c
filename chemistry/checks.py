"""What every operation on the solutions asks first: who, when, how much, in which words."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from chemistry.science.wear import UL_PER_L
from chemistry.volumes import ml_text
from darkroom.errors import DomainError, NotAllowed
from darkroom.inducted import may
from darkroom.models import Doing, Member
from darkroom.models.inductions import FIXED_TOPICS
from darkroom.words import WordsWanted, checked_words

__all__ = [
    "InTheFuture",
    "NotAVolume",
    "WordsWanted",
    "check_happened",
    "check_volume",
    "checked_words",
    "moment",
    "require_may",
    "require_steward",
    "require_writer",
]

MOST_UL = 10_000 * UL_PER_L
"""Ten cubic metres; more is a slip of the finger in any house of bottles."""


class InTheFuture(DomainError):
    """Nothing has happened that is still to come."""

    code = "in_the_future"


class NotAVolume(DomainError):
    """The amount is nothing, negative or absurd."""

    code = "not_a_volume"


def require_steward(by: Member) -> None:
    if not by.is_steward:
        raise NotAllowed("Only a steward can do this.")


def require_may(
    by: Member, doing: Doing, *, at: datetime, owners: Iterable[int | None] = ()
) -> None:
    """Stewards may; so does whoever was shown it, with what is everybody's or their own."""
    if not may(by, doing, at=at):
        name = FIXED_TOPICS[doing][1]
        raise NotAllowed(f"Only a steward, or a member with the induction “{name}”, can do this.")
    if not by.is_steward and not {None, by.pk}.issuperset(owners):
        raise NotAllowed("That bottle is another member's own; a steward can do this.")


def require_writer(by: Member) -> None:
    if not by.may_write:
        raise NotAllowed("An auditor reads everything and changes nothing.")


def check_happened(happened_at: datetime, *, at: datetime) -> None:
    if happened_at > at:
        raise InTheFuture("This lies in the future; write when it happened.", field="happened_at")


def check_volume(volume_ul: int, *, field: str) -> None:
    if volume_ul <= 0:
        raise NotAVolume("This must be more than 0 mL.", field=field)
    if volume_ul > MOST_UL:
        raise NotAVolume(f"At most {ml_text(MOST_UL)} can be entered at once.", field=field)


def moment(happened_at: datetime, *, at: datetime) -> datetime | None:
    """For telling two copies of a form apart: nothing where it only says *now*."""
    return None if happened_at == at else happened_at
