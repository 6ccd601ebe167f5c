from __future__ import annotations

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from chemistry.models import Batch, Film, Process, ProcessStep, Use
from darkroom.models import Agitation, Equipment, Format
from sessions.models.sessions import Session


class RunQuerySet(models.QuerySet["Run"]):
    def standing(self) -> RunQuerySet:
        """Runs that count: those not voided."""
        return self.filter(voided_at__isnull=True)


class Run(models.Model):
    """One load that really went through its baths. Never edited: voided and entered again."""

    code = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    session = models.ForeignKey(
        Session, on_delete=models.PROTECT, null=True, blank=True, related_name="runs"
    )
    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="runs"
    )
    process = models.ForeignKey(Process, on_delete=models.PROTECT, related_name="+")
    vessel = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="runs")
    agitation = models.CharField(max_length=12, choices=Agitation.choices)
    film = models.ForeignKey(Film, on_delete=models.PROTECT, related_name="+")
    index = models.PositiveIntegerField()
    format = models.ForeignKey(Format, on_delete=models.PROTECT, related_name="+")
    sheets = models.PositiveSmallIntegerField()
    happened_at = models.DateTimeField()
    entered_at = models.DateTimeField()
    operation = models.UUIDField(db_index=True)
    note = models.CharField(max_length=500, blank=True)
    voided_at = models.DateTimeField(null=True, blank=True)
    voided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    void_reason = models.CharField(max_length=300, blank=True)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ("-happened_at", "-pk")
        constraints = (
            models.CheckConstraint(condition=Q(sheets__gte=1), name="run_sheets_positive"),
            models.CheckConstraint(
                condition=Q(happened_at__lte=F("entered_at")), name="run_not_in_the_future"
            ),
            models.CheckConstraint(
                condition=Q(voided_at__isnull=True, voided_by__isnull=True, void_reason="")
                | (Q(voided_at__isnull=False, voided_by__isnull=False) & ~Q(void_reason="")),
                name="run_voided_with_reason",
            ),
        )

    def __str__(self) -> str:
        return f"{self.format.counted(self.sheets)} {self.film}"


class RunBath(models.Model):
    """One bath of a run: which bottle, how much of it, how long, how warm, how much came back."""

    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="baths")
    step = models.ForeignKey(ProcessStep, on_delete=models.PROTECT, related_name="+")
    batch = models.ForeignKey(
        Batch, on_delete=models.PROTECT, null=True, blank=True, related_name="run_baths"
    )
    use = models.OneToOneField(
        Use, on_delete=models.PROTECT, null=True, blank=True, related_name="run_bath"
    )
    poured_ul = models.BigIntegerField()
    short_ul = models.BigIntegerField(default=0)
    minutes = models.DecimalField(max_digits=6, decimal_places=2)
    temp_c = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)

    class Meta:
        ordering = ("run", "step__order")
        constraints = (
            models.UniqueConstraint(fields=("run", "step"), name="runbath_once_a_step"),
            models.CheckConstraint(
                condition=Q(poured_ul__gt=0) & Q(short_ul__gte=0) & Q(minutes__gt=0),
                name="runbath_sensible",
            ),
        )

    def __str__(self) -> str:
        return f"{self.step}: {self.batch or 'water'}"
