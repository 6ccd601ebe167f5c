from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from chemistry.models.conditions import USABLE, with_condition
from chemistry.models.recipes import WayOfUse
from chemistry.models.streams import Stream
from darkroom.models import HouseRules, Material


class Storage(models.TextChoices):
    FULL = "full", "Full stoppered bottle"
    PART = "part", "Part-full bottle"
    TANK = "tank", "Covered tank"


class BatchQuerySet(models.QuerySet["Batch"]):
    def open(self) -> BatchQuerySet:
        """Bottles that stand on the shelf."""
        return self.filter(discarded_at__isnull=True)

    def shared(self) -> BatchQuerySet:
        return self.filter(owner__isnull=True)

    def for_verdict(self) -> BatchQuerySet:
        """With everything that ``chemistry.conditions.verdict`` looks at."""
        return self.select_related("account", "owner", "way__version__recipe").prefetch_related(
            "way__figures", "stops"
        )

    def with_condition(self, *, at: datetime, rules: HouseRules) -> BatchQuerySet:
        """Annotated with ``condition``; the twin of ``chemistry.conditions.verdict``."""
        stops = BatchStop.objects.all()
        return with_condition(self, stops, at=at, low_share=rules.low_share)

    def usable(self, *, at: datetime, rules: HouseRules) -> BatchQuerySet:
        return self.with_condition(at=at, rules=rules).filter(Q(condition__in=USABLE))


class Batch(models.Model):
    """One vessel of liquid with a code on it.

    ``wear``, ``arrears_mm2``, ``turnover`` and ``used_mm2`` are the replay of its uses and volumes,
    cached under the lock of its account; the volume is that account's balance.
    """

    code = models.CharField(max_length=12, unique=True)
    way = models.ForeignKey(WayOfUse, on_delete=models.PROTECT, related_name="batches")
    stream = models.CharField(max_length=12, choices=Stream.choices)
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="bottles",
        help_text="Private to this member; empty: for everybody.",
    )
    full_ul = models.BigIntegerField(help_text="Volume at the mark.")
    storage = models.CharField(max_length=8, choices=Storage.choices, default=Storage.FULL)
    mixed_at = models.DateTimeField()
    mixed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    usable_from = models.DateTimeField()
    good_until = models.DateTimeField(null=True, blank=True)
    discarded_at = models.DateTimeField(null=True, blank=True)
    wear = models.DecimalField(max_digits=18, decimal_places=12, default=0)
    arrears_mm2 = models.DecimalField(max_digits=26, decimal_places=12, default=0)
    turnover = models.DecimalField(max_digits=18, decimal_places=12, default=0)
    used_mm2 = models.DecimalField(max_digits=26, decimal_places=12, default=0)

    objects = BatchQuerySet.as_manager()

    class Meta:
        ordering = ("code",)
        verbose_name_plural = "batches"
        constraints = (
            models.CheckConstraint(condition=Q(full_ul__gt=0), name="batch_full_positive"),
            models.CheckConstraint(
                condition=Q(wear__gte=0)
                & Q(arrears_mm2__gte=0)
                & Q(turnover__gte=0)
                & Q(used_mm2__gte=0),
                name="batch_cache_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(good_until__isnull=True) | Q(good_until__gte=F("mixed_at")),
                name="batch_good_after_mixing",
            ),
        )

    def __str__(self) -> str:
        return self.code


class BatchStop(models.Model):
    """Any member stops a bottle at once; only a steward releases it, with a reason."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="stops")
    seen = models.CharField(max_length=300)
    stopped_at = models.DateTimeField()
    stopped_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    release_reason = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ("-stopped_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("batch",),
                condition=Q(released_at__isnull=True),
                name="batchstop_one_open",
            ),
            models.CheckConstraint(condition=~Q(seen=""), name="batchstop_says_what_was_seen"),
            models.CheckConstraint(
                condition=Q(released_at__isnull=True, released_by__isnull=True, release_reason="")
                | (Q(released_at__isnull=False, released_by__isnull=False) & ~Q(release_reason="")),
                name="batchstop_released_with_reason",
            ),
        )

    def __str__(self) -> str:
        return f"{self.batch} stopped"


class Use(models.Model):
    """The entry that a batch took this much area of this material. Never changed, only voided."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="uses")
    material = models.CharField(max_length=12, choices=Material.choices)
    area_mm2 = models.DecimalField(max_digits=16, decimal_places=4)
    happened_at = models.DateTimeField()
    entered_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    operation = models.UUIDField(db_index=True)
    voids = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="voided_by"
    )

    class Meta:
        ordering = ("happened_at", "entered_at", "pk")
        constraints = (
            models.CheckConstraint(condition=Q(area_mm2__gt=0), name="use_area_positive"),
            models.CheckConstraint(
                condition=Q(happened_at__lte=F("entered_at")), name="use_not_in_the_future"
            ),
        )

    def __str__(self) -> str:
        return f"{self.batch}: {self.area_mm2} mm²"
