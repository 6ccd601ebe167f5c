from __future__ import annotations

from django.db import models
from django.db.models import Q

from darkroom.models.members import Member


class Gates(models.TextChoices):
    """What cannot be booked while a check is overdue or went wrong."""

    NONE = "none", "Nothing"
    COLOUR_AND_TONER = "colour_and_toner", "Colour and toner work"
    ALL = "all", "Every session"


class HouseCheck(models.Model):
    """Something of the house that somebody looks at every so many days."""

    code = models.SlugField(max_length=24, unique=True)
    name = models.CharField(max_length=80, help_text="As it should be: Extraction is running.")
    how = models.CharField(max_length=300, blank=True, help_text="What to look at, and how.")
    every_days = models.PositiveSmallIntegerField()
    gates = models.CharField(max_length=20, choices=Gates.choices, default=Gates.NONE)
    by_stewards = models.BooleanField(
        default=False, verbose_name="by stewards only", help_text="Else any member may look."
    )
    is_in_use = models.BooleanField(default=True)

    class Meta:
        ordering = ("every_days", "name", "pk")
        constraints = (
            models.CheckConstraint(condition=Q(every_days__gt=0), name="housecheck_every_positive"),
            models.CheckConstraint(
                condition=Q(gates__in=Gates.values), name="housecheck_gates_known"
            ),
        )

    def __str__(self) -> str:
        return self.name

    def may_be_marked_by(self, member: Member) -> bool:
        return member.may_write and (member.is_steward or not self.by_stewards)


class CheckMark(models.Model):
    """Somebody looked, and found it good or not. Never changed: the latest counts."""

    house_check = models.ForeignKey(HouseCheck, on_delete=models.PROTECT, related_name="marks")
    at = models.DateTimeField()
    by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    is_good = models.BooleanField()
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ("-at", "-pk")
        indexes = (models.Index(fields=("house_check", "-at"), name="checkmark_latest"),)
        constraints = (
            models.CheckConstraint(
                condition=Q(is_good=True) | ~Q(note=""), name="checkmark_bad_says_what"
            ),
        )

    def __str__(self) -> str:
        return f"{self.house_check}: {'good' if self.is_good else self.note}"
