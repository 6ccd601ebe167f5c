from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from darkroom.models.formats import Format
from darkroom.models.inductions import InductionTopic


class EquipmentKind(models.TextChoices):
    TANK = "tank", "Daylight tank"
    DRUM = "drum", "Drum"
    TRAY = "tray", "Tray"
    SINK = "sink", "Sink bay"
    BOOTH = "booth", "Loading booth"
    BATH = "bath", "Tempering bath"
    PEGS = "pegs", "Dryer peg row"


VESSEL_KINDS = frozenset({EquipmentKind.TANK, EquipmentKind.DRUM, EquipmentKind.TRAY})


class Agitation(models.TextChoices):
    INVERSION = "inversion", "Inversion"
    ROCKING = "rocking", "Rocking"
    ROTARY = "rotary", "Rotary"
    SHUFFLE = "shuffle", "Tray shuffling"


class EquipmentQuerySet(models.QuerySet["Equipment"]):
    def in_service(self) -> EquipmentQuerySet:
        return self.filter(is_in_service=True)

    def vessels(self) -> EquipmentQuerySet:
        return self.filter(kind__in=VESSEL_KINDS)


class Equipment(models.Model):
    """One place that one person can use. A bath with two places is two rows.

    The key is an int4: it stands in a GiST constraint, where a bigint would not use the index.
    """

    id = models.AutoField(primary_key=True)
    code = models.CharField(max_length=12, unique=True)
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=8, choices=EquipmentKind.choices)
    is_in_service = models.BooleanField(default=True)
    out_reason = models.CharField("why out of service", max_length=300, blank=True)
    out_since = models.DateTimeField("out of service since", null=True, blank=True)
    holds_temperature = models.BooleanField(
        default=False,
        help_text="Keeps colour temperature within tolerance by itself (heated, or in a bath).",
    )
    note = models.CharField(max_length=300, blank=True)
    topic = models.ForeignKey(
        InductionTopic,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="equipment",
        verbose_name="induction",
        help_text="What a member must have been shown before they book it.",
    )

    objects = EquipmentQuerySet.as_manager()

    class Meta:
        ordering = ("code",)
        verbose_name_plural = "equipment"
        constraints = (
            models.CheckConstraint(
                condition=Q(is_in_service=True, out_reason="", out_since=None)
                | Q(is_in_service=False, out_since__isnull=False) & ~Q(out_reason=""),
                name="equipment_out_says_why",
            ),
        )

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    @property
    def is_vessel(self) -> bool:
        return self.kind in VESSEL_KINDS


class VesselAgitation(models.Model):
    """A way to agitate a vessel, and the most solution it can hold that way."""

    equipment = models.ForeignKey(Equipment, on_delete=models.CASCADE, related_name="agitations")
    agitation = models.CharField(max_length=12, choices=Agitation.choices)
    max_ml = models.PositiveIntegerField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("equipment", "agitation"), name="vesselagitation_once"),
            models.CheckConstraint(condition=Q(max_ml__gt=0), name="vesselagitation_max_positive"),
        )

    def __str__(self) -> str:
        return f"{self.equipment_id}: {self.agitation} up to {self.max_ml} mL"


class VesselFit(models.Model):
    """How many sheets of a format a vessel takes, how many it should, and with how little."""

    equipment = models.ForeignKey(Equipment, on_delete=models.CASCADE, related_name="fits")
    format = models.ForeignKey(Format, on_delete=models.PROTECT, related_name="fits")
    positions = models.PositiveSmallIntegerField(help_text="The most sheets that go in.")
    advised = models.PositiveSmallIntegerField(help_text="How many develop evenly.")
    min_ml = models.PositiveIntegerField(help_text="The least solution for one load.")

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("equipment", "format"), name="vesselfit_once"),
            models.CheckConstraint(
                condition=Q(advised__gte=1) & Q(advised__lte=F("positions")),
                name="vesselfit_advised_within_positions",
            ),
            models.CheckConstraint(condition=Q(min_ml__gt=0), name="vesselfit_min_positive"),
        )

    def __str__(self) -> str:
        return f"{self.equipment_id}: {self.advised} × {self.format_id}"
