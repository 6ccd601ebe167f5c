from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from darkroom.models import Equipment


class FaultQuerySet(models.QuerySet["Fault"]):
    def open(self) -> FaultQuerySet:
        return self.filter(resolved_at__isnull=True)


class Fault(models.Model):
    """What somebody saw of a piece of equipment, until a steward says what became of it."""

    equipment = models.ForeignKey(Equipment, on_delete=models.PROTECT, related_name="faults")
    seen = models.CharField(max_length=300)
    better_not_used = models.BooleanField(default=False)
    reported_at = models.DateTimeField()
    reported_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    resolved_at = models.DateTimeField(null=True, blank=True)
    resolved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    resolution = models.CharField(max_length=300, blank=True)

    objects = FaultQuerySet.as_manager()

    class Meta:
        ordering = ("-reported_at", "-pk")
        constraints = (
            models.CheckConstraint(condition=~Q(seen=""), name="fault_says_what_was_seen"),
            models.CheckConstraint(
                condition=Q(resolved_at=None, resolved_by=None, resolution="")
                | Q(resolved_at__isnull=False, resolved_by__isnull=False) & ~Q(resolution=""),
                name="fault_resolved_with_reason",
            ),
        )

    def __str__(self) -> str:
        return f"{self.equipment_id}: {self.seen}"
