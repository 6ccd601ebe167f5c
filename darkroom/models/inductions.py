from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from darkroom.models.members import Member


class Doing(models.TextChoices):
    """What otherwise only stewards do, and a topic of its own can open to a member."""

    MIX = "mix", "Mix"
    TOP_UP = "top_up", "Top up"
    POUR_OUT = "pour_out", "Pour out"


FIXED_TOPICS = {
    Doing.MIX: ("may-mix", "May mix", "Mixing: what goes in first, gloves and goggles, the label."),
    Doing.TOP_UP: ("may-top-up", "May top up", "Topping up: what leaves first, and how much."),
    Doing.POUR_OUT: (
        "may-pour-out",
        "May pour out",
        "Pouring out: which container takes what, and what never goes down the sink.",
    ),
}


class InductionTopicQuerySet(models.QuerySet["InductionTopic"]):
    def with_fixed(self) -> InductionTopicQuerySet:
        """All topics; those that every house has are made when they are first asked for."""
        have = set(InductionTopic.objects.exclude(allows=None).values_list("allows", flat=True))
        InductionTopic.objects.bulk_create(
            [
                InductionTopic(code=code, name=name, about=about, allows=doing)
                for doing, (code, name, about) in FIXED_TOPICS.items()
                if doing not in have
            ],
            ignore_conflicts=True,
        )
        return self.all()


class InductionTopic(models.Model):
    """What somebody is shown once before they use it alone.

    ``allows`` is set for the three topics that let a member do what otherwise a steward does.
    """

    code = models.SlugField(max_length=24, unique=True)
    name = models.CharField(max_length=80)
    about = models.CharField(max_length=400, help_text="What is shown, and what it is good for.")
    valid_days = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Good for so many days; empty: for good."
    )
    givers = models.ManyToManyField(
        settings.AUTH_USER_MODEL,
        blank=True,
        related_name="gives",
        help_text="Who gives it; nobody named: any steward.",
    )
    allows = models.CharField(
        max_length=12, choices=Doing.choices, null=True, blank=True, unique=True, editable=False
    )

    objects = InductionTopicQuerySet.as_manager()

    class Meta:
        ordering = ("name", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(valid_days__isnull=True) | Q(valid_days__gt=0),
                name="inductiontopic_validity_positive",
            ),
        )

    def __str__(self) -> str:
        return self.name

    def expires_at(self, given_at: datetime) -> datetime | None:
        return None if self.valid_days is None else given_at + timedelta(days=self.valid_days)

    def named_givers(self) -> list[Member]:
        """Those named who can still give it; nobody: any steward does."""
        return [one for one in self.givers.all() if one.is_active and one.may_write]

    def is_given_by(self, member: Member) -> bool:
        """Whoever gives an induction needs none. An administrator stands in for all."""
        if not (member.is_active and member.may_write):
            return False
        named: Sequence[Member] = self.named_givers()
        return member.is_administrator or (member in named if named else member.is_steward)


class InductionQuerySet(models.QuerySet["Induction"]):
    def current(self) -> InductionQuerySet:
        """Neither withdrawn nor renewed since; it may have expired."""
        return self.filter(withdrawn_at__isnull=True, renewed_at__isnull=True)

    def standing(self, *, at: datetime) -> InductionQuerySet:
        return self.current().filter(Q(expires_at__isnull=True) | Q(expires_at__gt=at))

    def expiring(self, *, at: datetime, within: timedelta) -> InductionQuerySet:
        return self.standing(at=at).filter(expires_at__lte=at + within)


class Induction(models.Model):
    """Somebody was shown a topic. A renewal is a new row, and the one before says since when."""

    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="inductions")
    topic = models.ForeignKey(InductionTopic, on_delete=models.PROTECT, related_name="inductions")
    given_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    given_at = models.DateTimeField()
    entered_at = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    renewed_at = models.DateTimeField(null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(
        Member, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    reason = models.CharField(max_length=300, blank=True, help_text="Why it was withdrawn.")

    objects = InductionQuerySet.as_manager()

    class Meta:
        ordering = ("-given_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("member", "topic"),
                condition=Q(withdrawn_at__isnull=True, renewed_at__isnull=True),
                name="induction_one_current",
            ),
            models.CheckConstraint(
                condition=Q(expires_at__isnull=True) | Q(expires_at__gt=F("given_at")),
                name="induction_expires_after_giving",
            ),
            models.CheckConstraint(
                condition=Q(given_at__lte=F("entered_at")), name="induction_not_in_the_future"
            ),
            models.CheckConstraint(
                condition=(
                    Q(withdrawn_at__isnull=True, withdrawn_by__isnull=True, reason="")
                    | (Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False) & ~Q(reason=""))
                ),
                name="induction_withdrawn_with_reason",
            ),
        )

    def __str__(self) -> str:
        return f"{self.member}: {self.topic}"

    def is_current(self) -> bool:
        return self.withdrawn_at is None and self.renewed_at is None

    def is_standing(self, *, at: datetime) -> bool:
        return self.is_current() and (self.expires_at is None or self.expires_at > at)
