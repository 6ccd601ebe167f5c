from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.contrib.postgres.fields import DateTimeRangeField
from django.db import models
from django.db.models import Q

from darkroom.models import Equipment


class MaintenanceQuerySet(models.QuerySet["Maintenance"]):
    def standing(self, *, at: datetime) -> MaintenanceQuerySet:
        """Going on or still to come."""
        return self.filter(ended_at__isnull=True, period__endswith__gt=at)


class Maintenance(models.Model):
    """A piece of equipment out of service from one moment to another; its hold keeps it so."""

    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="maintenances")
    period = DateTimeRangeField()
    reason = models.CharField(max_length=300)
    planned_at = models.DateTimeField()
    planned_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    ended_at = models.DateTimeField(
        null=True, blank=True, help_text="Ended early; empty where it ran its time."
    )
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = MaintenanceQuerySet.as_manager()

    class Meta:
        ordering = ("period", "pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(period__isempty=False)
                & Q(period__startswith__isnull=False)
                & Q(period__endswith__isnull=False)
                & Q(period__lower_inc=True)
                & Q(period__upper_inc=False),
                name="maintenance_period_is_a_span",
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="maintenance_says_why"),
            models.CheckConstraint(
                condition=Q(ended_at=None, ended_by=None)
                | Q(ended_at__isnull=False, ended_by__isnull=False),
                name="maintenance_ended_by_somebody",
            ),
        )

    def __str__(self) -> str:
        return f"{self.equipment_id}: {self.reason}"
