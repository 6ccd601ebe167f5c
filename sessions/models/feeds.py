from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from darkroom.models import Equipment


class CalendarFeedQuerySet(models.QuerySet["CalendarFeed"]):
    def live(self) -> CalendarFeedQuerySet:
        """Feeds whose address still answers."""
        return self.filter(revoked_at__isnull=True)


class CalendarFeed(models.Model):
    """A secret address at which a calendar program reads sessions without signing in.

    It is its holder's, who alone makes and ends it. Only the hash of its token is stored.
    """

    class Kind(models.TextChoices):
        MEMBER = "member", "One's own sessions"
        EQUIPMENT = "equipment", "A piece of equipment"
        HOUSE = "house", "All sessions of the house"

    kind = models.CharField(max_length=12, choices=Kind.choices)
    member = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="calendar_feeds"
    )
    equipment = models.ForeignKey(
        Equipment, on_delete=models.CASCADE, null=True, blank=True, related_name="calendar_feeds"
    )
    token_hash = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = CalendarFeedQuerySet.as_manager()

    class Meta:
        ordering = ("-created_at", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(kind="equipment", equipment__isnull=False)
                | Q(kind__in=("member", "house"), equipment__isnull=True),
                name="calendarfeed_equipment_fits_kind",
            ),
            models.CheckConstraint(
                condition=Q(revoked_at__isnull=True) | Q(revoked_at__gte=F("created_at")),
                name="calendarfeed_revoked_after_made",
            ),
            models.UniqueConstraint(
                fields=("member", "kind", "equipment"),
                condition=Q(revoked_at__isnull=True),
                nulls_distinct=False,
                name="calendarfeed_one_live",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} ({self.created_at:%Y-%m-%d})"
