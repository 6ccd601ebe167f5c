"""Giving an induction, giving it again, and taking it back."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from darkroom.errors import DomainError, NotAllowed, translate_integrity
from darkroom.models import Induction, InductionTopic, Member
from darkroom.operations import claim_receipt, operation
from darkroom.words import checked_words

MOST_WORDS = 300


class CannotBeInducted(DomainError):
    """They give it themselves, do nothing in the house, or have left it."""

    code = "cannot_be_inducted"


class WrongDay(DomainError):
    """It cannot have been given then."""

    code = "wrong_day"


class AlreadyGiven(DomainError):
    """Somebody else gave it at the same moment."""

    code = "already_given"
    status = 409


class NotCurrent(DomainError):
    """It was withdrawn or renewed meanwhile."""

    code = "not_current"
    status = 409


@operation
def give_induction(
    *,
    topic: InductionTopic,
    member: Member,
    given_at: datetime,
    key: UUID,
    by: Member,
    at: datetime,
) -> Induction:
    """The member has been shown the topic; what they had of it before is renewed by this.

    Raises: NotAllowed, CannotBeInducted, WrongDay, AlreadyGiven, AlreadySent.
    """
    given = None if given_at == at else given_at
    figures = {"topic": topic.pk, "member": member.pk, "given_at": given}
    receipt = claim_receipt(by, key, "give_induction", figures)
    if receipt.result:
        return Induction.objects.get(pk=receipt.result)
    if not topic.is_given_by(by):
        raise NotAllowed(f"“{topic}” is given by others in this house.")
    _check_member(topic, Member.objects.get(pk=member.pk), by)
    expires_at = _check_day(topic, given_at, at)
    before = _current(topic, member)
    if before is not None:
        _check_order(before, given_at)
        before.renewed_at = at
        before.save(update_fields=["renewed_at"])
    induction = Induction(
        topic=topic,
        member=member,
        given_by=by,
        given_at=given_at,
        entered_at=at,
        expires_at=expires_at,
    )
    given_twice = AlreadyGiven("Somebody has just given them this; look again.")
    with translate_integrity({"induction_one_current": given_twice}):
        induction.save(force_insert=True)
    receipt.settle(induction.pk)
    return induction


@operation
def withdraw_induction(
    *, induction: Induction, reason: str, key: UUID, by: Member, at: datetime
) -> Induction:
    """The member has it no longer; to be given it again they are shown it again.

    Raises: NotAllowed, WordsWanted, NotCurrent, AlreadySent.
    """
    figures = {"induction": induction.pk, "reason": reason}
    receipt = claim_receipt(by, key, "withdraw_induction", figures)
    if receipt.result:
        return Induction.objects.get(pk=receipt.result)
    if not (by.is_steward or induction.topic.is_given_by(by)):
        raise NotAllowed("Only a steward, or who gives an induction, can withdraw it.")
    words = checked_words(
        reason, most=MOST_WORDS, field="reason", missing="Write why; the member will read it."
    )
    found = Induction.objects.select_for_update(no_key=True).get(pk=induction.pk)
    if not found.is_current():
        raise NotCurrent("It was withdrawn or renewed meanwhile. Look again before you decide.")
    found.withdrawn_at, found.withdrawn_by, found.reason = at, by, words
    found.save(update_fields=["withdrawn_at", "withdrawn_by", "reason"])
    receipt.settle(found.pk)
    return found


def _check_member(topic: InductionTopic, member: Member, by: Member) -> None:
    if not member.is_active:
        raise CannotBeInducted(f"{member} is no longer in the house.", field="member")
    if not member.may_write:
        raise CannotBeInducted(f"{member} is an auditor and uses nothing here.", field="member")
    if topic.is_given_by(member):
        who = "You give" if member == by else f"{member} gives"
        raise CannotBeInducted(
            f"{who} this induction: whoever gives it needs none.", field="member"
        )


def _check_day(topic: InductionTopic, given_at: datetime, at: datetime) -> datetime | None:
    if given_at > at:
        raise WrongDay("That lies in the future; enter it when it was given.", field="given_on")
    expires_at = topic.expires_at(given_at)
    if expires_at is not None and expires_at <= at:
        raise WrongDay(
            f"Good for {topic.valid_days} days, that one has expired already. Show it again.",
            field="given_on",
        )
    return expires_at


def _check_order(before: Induction, given_at: datetime) -> None:
    if given_at < before.given_at:
        raise WrongDay("They were given it again after that day already.", field="given_on")


def _current(topic: InductionTopic, member: Member) -> Induction | None:
    rows = Induction.objects.current().filter(topic=topic, member=member)
    return rows.select_for_update(no_key=True).first()
