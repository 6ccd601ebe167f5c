from __future__ import annotations

import zoneinfo
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models, transaction

from darkroom.models.hours import OpeningHours, Weekday


def validate_zone(name: str) -> None:
    if name not in zoneinfo.available_timezones():
        raise ValidationError("No such time zone. Write it like Europe/Lisbon.")


class HouseRules(models.Model):
    """The one row of what this house decided for itself."""

    name = models.CharField(max_length=80, default="Our darkroom")
    zone = models.CharField(max_length=40, default="UTC", validators=[validate_zone])
    booking_days_ahead = models.PositiveSmallIntegerField(
        default=28, help_text="How many days ahead a session can be booked."
    )
    loading_min = models.PositiveSmallIntegerField(
        default=10, help_text="Minutes in the dark to load one vessel; the house's own figure."
    )
    cleaning_min = models.PositiveSmallIntegerField(
        default=10, help_text="Minutes to rinse and clear away after the last load."
    )
    drying_min = models.PositiveSmallIntegerField(
        default=60, help_text="Minutes that film hangs on a peg row."
    )
    room_c = models.DecimalField(max_digits=4, decimal_places=1, default=Decimal("20.0"))
    low_share = models.DecimalField(
        max_digits=3,
        decimal_places=2,
        default=Decimal("0.80"),
        validators=[MinValueValidator(Decimal("0.1")), MaxValueValidator(Decimal("1"))],
        help_text="From this share of its capacity a bath is called low.",
    )
    expiry_warning_days = models.PositiveSmallIntegerField(default=7)
    carry_out_ml_per_au = models.DecimalField(
        max_digits=5,
        decimal_places=1,
        default=Decimal("20.0"),
        help_text="What 80 in² of film and its vessel take along to the next bath. "
        "About 20 mL: Silvergrain Labs, Replenishing system (read).",
    )
    fill_limit_pct = models.PositiveSmallIntegerField(
        default=90,
        validators=[MinValueValidator(50), MaxValueValidator(100)],
        help_text="How full a waste container may be, in percent of its capacity.",
    )
    no_colour_alone = models.BooleanField(
        default=False,
        help_text="Colour and toner work only while somebody else is in the house: booked for "
        "the same time, or named as company.",
    )
    is_demo = models.BooleanField(default=False, editable=False)

    class Meta:
        verbose_name_plural = "house rules"
        constraints = (
            models.CheckConstraint(condition=models.Q(id=1), name="houserules_one_row"),
            models.CheckConstraint(
                condition=models.Q(carry_out_ml_per_au__gte=0),
                name="houserules_carry_out_not_negative",
            ),
        )

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        """A house that comes into being is open every day; it decides for itself from then on."""
        if not self._state.adding:
            super().save(*args, **kwargs)
            return
        with transaction.atomic():
            super().save(*args, **kwargs)
            OpeningHours.objects.bulk_create(
                [OpeningHours(weekday=weekday) for weekday in Weekday], ignore_conflicts=True
            )

    @classmethod
    def current(cls) -> HouseRules:
        """The house's rules, made with their defaults when first asked for."""
        return cls.objects.get_or_create(pk=1)[0]

    @property
    def tz(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.zone)
