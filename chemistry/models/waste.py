from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from chemistry.models.streams import Stream

__all__ = ["Consignment", "Stream", "WasteContainer"]


class Consignment(models.Model):
    """A hand-over of one or more containers to a licensed carrier."""

    carrier = models.CharField(max_length=120)
    document = models.CharField(
        max_length=60, help_text="Number of the official document that went with it."
    )
    handed_over_at = models.DateTimeField()
    entered_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    operation = models.UUIDField()

    class Meta:
        ordering = ("-handed_over_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=~Q(carrier="") & ~Q(document=""), name="consignment_names_its_papers"
            ),
            models.CheckConstraint(
                condition=Q(handed_over_at__lte=models.F("entered_at")),
                name="consignment_not_in_the_future",
            ),
        )

    def __str__(self) -> str:
        return f"{self.document} ({self.carrier})"


class WasteContainer(models.Model):
    """A drum or can for one stream. Its contents are the balance of its account."""

    code = models.CharField(max_length=12, unique=True)
    stream = models.CharField(max_length=12, choices=Stream.choices)
    capacity_ul = models.BigIntegerField()
    fill_limit_pct = models.PositiveSmallIntegerField()
    opened_at = models.DateTimeField()
    consignment = models.ForeignKey(
        Consignment, on_delete=models.PROTECT, null=True, blank=True, related_name="containers"
    )

    class Meta:
        ordering = ("code",)
        constraints = (
            models.CheckConstraint(
                condition=Q(capacity_ul__gt=0), name="wastecontainer_capacity_positive"
            ),
            models.CheckConstraint(
                condition=Q(fill_limit_pct__gte=1) & Q(fill_limit_pct__lte=100),
                name="wastecontainer_fill_limit_sensible",
            ),
        )

    def __str__(self) -> str:
        return self.code

    @property
    def limit_ul(self) -> int:
        """Where filling stops by the house's rule; the brim is ``capacity_ul``."""
        return self.capacity_ul * self.fill_limit_pct // 100
