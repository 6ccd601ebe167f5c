from __future__ import annotations

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from darkroom.models import Agitation, Equipment


class HeatConstant(models.Model):
    """How fast something takes on the temperature round it, as logged in this house.

    Of a vessel: its solution, agitated like this, in the room. Of a tempering bath, where the
    agitation stays empty: a bottle that stands in it.
    """

    equipment = models.ForeignKey(
        Equipment, on_delete=models.CASCADE, related_name="heat_constants"
    )
    agitation = models.CharField(max_length=12, choices=Agitation.choices, blank=True)
    volume_ml = models.PositiveIntegerField(help_text="Solution in it when it was logged.")
    tau_min = models.DecimalField(
        max_digits=6,
        decimal_places=2,
        validators=[MinValueValidator(Decimal("0.01"))],
        help_text="Minutes until 63 % of the difference is made up.",
    )
    vessel_j_per_c = models.DecimalField(
        max_digits=7,
        decimal_places=1,
        default=Decimal(0),
        help_text="What the vessel itself takes to get one degree warmer, in J; 0: left out.",
    )
    measured_on = models.DateField()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("-measured_on", "-pk")
        constraints = (
            models.CheckConstraint(
                condition=Q(volume_ml__gt=0, tau_min__gt=0, vessel_j_per_c__gte=0),
                name="heatconstant_sensible",
            ),
        )

    def __str__(self) -> str:
        return f"{self.equipment}: {self.tau_min} min at {self.volume_ml} mL"
