"""The ledger: every quantity that anyone moves goes from one account to another.

The database itself keeps the law (see the guard migration): rows are only ever added, each is
chained to the one before, and balances follow from them.
"""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from chemistry.models.batches import Batch
from chemistry.models.streams import Stream
from chemistry.models.waste import WasteContainer


class AccountKind(models.TextChoices):
    SUPPLY = "supply", "Supply"
    BATCH = "batch", "Batch"
    CONTAINER = "container", "Waste container"
    UNPLACED = "unplaced", "Poured, not yet in a container"
    SEWER = "sewer", "Sewer"
    CARRIER = "carrier", "Carrier"
    RECOVERY = "recovery", "Recovery"
    LOSS = "loss", "Loss"
    UNEXPLAINED = "unexplained", "Unexplained"


class Method(models.TextChoices):
    MEASURED = "measured", "Measured"
    ESTIMATED = "estimated", "Estimated"
    CALCULATED = "calculated", "Calculated"


class MovementKind(models.TextChoices):
    MIX = "mix", "Mixed"
    DRAW = "draw", "Drawn one-shot"
    CARRY = "carry", "Carried over"
    SPILL = "spill", "Not returned"
    REPLENISH = "replenish", "Replenished"
    BLEED = "bleed", "Bled"
    POUR = "pour", "Poured out"
    HANDOVER = "handover", "Handed over"
    CORRECT = "correct", "Corrected"
    SHORTFALL = "shortfall", "Shortfall"


class Account(models.Model):
    """One place a quantity can be. ``unit`` is ``ul``, ``mg`` or ``pc``; the balance is its sum."""

    id = models.AutoField(primary_key=True)
    kind = models.CharField(max_length=12, choices=AccountKind.choices)
    unit = models.CharField(max_length=2, default="ul")
    stream = models.CharField(max_length=12, choices=Stream.choices, blank=True)
    batch = models.OneToOneField(
        Batch, on_delete=models.PROTECT, null=True, blank=True, related_name="account"
    )
    container = models.OneToOneField(
        WasteContainer, on_delete=models.PROTECT, null=True, blank=True, related_name="account"
    )
    capacity = models.BigIntegerField(null=True, blank=True)
    balance = models.BigIntegerField(default=0)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.CheckConstraint(
                condition=~Q(kind__in=("batch", "container"))
                | (Q(balance__gte=0) & (Q(capacity__isnull=True) | Q(balance__lte=F("capacity")))),
                name="account_vessel_holds_what_it_can",
            ),
            models.CheckConstraint(
                condition=(Q(kind="batch") & Q(batch__isnull=False) & Q(container__isnull=True))
                | (Q(kind="container") & Q(container__isnull=False) & Q(batch__isnull=True))
                | (
                    ~Q(kind__in=("batch", "container"))
                    & Q(batch__isnull=True)
                    & Q(container__isnull=True)
                ),
                name="account_subject_fits_kind",
            ),
            models.UniqueConstraint(
                fields=("kind", "unit", "stream"),
                condition=~Q(kind__in=("batch", "container")),
                name="account_boundary_once",
            ),
            models.CheckConstraint(
                condition=Q(unit__in=("ul", "mg", "pc")), name="account_unit_known"
            ),
        )

    def __str__(self) -> str:
        return str(self.batch or self.container or self.get_kind_display())


class Movement(models.Model):
    """One entry of the ledger.

    ``seq``, ``entered_at``, ``prev_hash`` and ``hash`` are what the database makes them.
    """

    seq = models.BigAutoField(primary_key=True)
    operation = models.UUIDField(db_index=True)
    happened_at = models.DateTimeField(db_index=True)
    # The default is never used: it makes the insert hand back what the trigger wrote instead.
    entered_at = models.DateTimeField(db_default=Now())
    source = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="outgoing")
    target = models.ForeignKey(Account, on_delete=models.PROTECT, related_name="incoming")
    quantity = models.BigIntegerField()
    method = models.CharField(max_length=10, choices=Method.choices)
    kind = models.CharField(max_length=12, choices=MovementKind.choices)
    reason = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    reverses = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )
    prev_hash = models.CharField(max_length=64, unique=True, db_default="")
    hash = models.CharField(max_length=64, db_default="")

    class Meta:
        ordering = ("seq",)
        constraints = (
            models.CheckConstraint(condition=Q(quantity__gt=0), name="movement_quantity_positive"),
            models.CheckConstraint(
                condition=~Q(source=F("target")), name="movement_goes_somewhere"
            ),
            models.CheckConstraint(
                condition=Q(happened_at__lte=F("entered_at")), name="movement_not_in_the_future"
            ),
        )

    def __str__(self) -> str:
        return f"{self.seq}: {self.quantity} from {self.source_id} to {self.target_id}"


class LedgerHead(models.Model):
    """The last entry's number, hash and time; its one row serialises all writing."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    seq = models.BigIntegerField(default=0)
    hash = models.CharField(max_length=64)
    entered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = (models.CheckConstraint(condition=Q(id=1), name="ledgerhead_one_row"),)

    def __str__(self) -> str:
        return f"{self.seq} {self.hash[:12]}"
