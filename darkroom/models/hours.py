"""When the house is open: by weekday, save on dates when it is not."""

from __future__ import annotations

from datetime import time

from django.db import models
from django.db.models import F, Q


class Weekday(models.IntegerChoices):
    """As ``date.weekday()`` counts."""

    MONDAY = 0, "Monday"
    TUESDAY = 1, "Tuesday"
    WEDNESDAY = 2, "Wednesday"
    THURSDAY = 3, "Thursday"
    FRIDAY = 4, "Friday"
    SATURDAY = 5, "Saturday"
    SUNDAY = 6, "Sunday"


class OpeningHours(models.Model):
    """The hours of a weekday; one without a row is closed."""

    weekday = models.PositiveSmallIntegerField(choices=Weekday.choices)
    opens_at = models.TimeField(default=time(9))
    closes_at = models.TimeField(default=time(22))

    class Meta:
        ordering = ("weekday",)
        verbose_name_plural = "opening hours"
        constraints = (
            models.UniqueConstraint(fields=("weekday",), name="openinghours_once_a_weekday"),
            models.CheckConstraint(
                condition=Q(weekday__in=Weekday.values), name="openinghours_weekday_known"
            ),
            models.CheckConstraint(
                condition=Q(opens_at__lt=F("closes_at")), name="openinghours_opens_before_closing"
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_weekday_display()} {self.opens_at:%H:%M}–{self.closes_at:%H:%M}"


class ClosedDate(models.Model):
    """A day on which nobody comes, whatever the weekday."""

    date = models.DateField()
    reason = models.CharField(max_length=120, help_text="As members read it: Stocktaking.")

    class Meta:
        ordering = ("date",)
        constraints = (
            models.UniqueConstraint(fields=("date",), name="closeddate_once"),
            models.CheckConstraint(condition=~Q(reason=""), name="closeddate_says_why"),
        )

    def __str__(self) -> str:
        return f"{self.date:%-d %B %Y}: {self.reason}"
