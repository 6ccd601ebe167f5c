"""What a recipe is made of by weight, and what is to be minded with it."""

from __future__ import annotations

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from chemistry.models.recipes import RecipeVersion, Standing


class Unit(models.TextChoices):
    GRAM = "g", "g"
    ML = "mL", "mL"
    PARTS = "parts", "parts"


class Ingredient(models.Model):
    """One line of a formula, in the order of dissolving: so much for a litre.

    A formula may consist of several solutions; ``part`` names the one that the line belongs to.
    Of a concentrate it is a litre of concentrate. Parts by volume are proportions of the whole.
    """

    version = models.ForeignKey(RecipeVersion, on_delete=models.PROTECT, related_name="ingredients")
    part = models.CharField(max_length=24, blank=True)
    order = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=80)
    amount = models.DecimalField(max_digits=10, decimal_places=4, null=True, blank=True)
    unit = models.CharField(max_length=5, choices=Unit.choices)
    temp_c = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    cas = models.CharField("CAS number", max_length=12, blank=True)
    source = models.CharField(max_length=300)
    standing = models.CharField(max_length=20, choices=Standing.choices)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("version", "order")
        constraints = (
            models.UniqueConstraint(fields=("version", "order"), name="ingredient_place_once"),
            models.UniqueConstraint(fields=("version", "part", "name"), name="ingredient_once"),
            models.CheckConstraint(
                condition=Q(amount__isnull=True) | Q(amount__gt=0), name="ingredient_positive"
            ),
            models.CheckConstraint(condition=~Q(source=""), name="ingredient_names_its_source"),
            models.CheckConstraint(
                condition=~Q(standing="remembered-low") | Q(amount__isnull=True),
                name="ingredient_uncertain_has_no_amount",
            ),
        )

    def __str__(self) -> str:
        return f"{self.name} {self.amount} {self.unit}"


class Form(models.TextChoices):
    POWDER = "powder", "Weighing the powders"
    CONCENTRATE = "concentrate", "The concentrate"
    STOCK = "stock", "The stock solution"
    WORKING = "working", "The working solution"


class Signal(models.TextChoices):
    DANGER = "danger", "Danger"
    WARNING = "warning", "Warning"
    NONE = "none", "No signal word"
    UNKNOWN = "unknown", "Not known here"


class Protection(models.TextChoices):
    GOGGLES = "goggles", "splash goggles"
    GLOVES = "gloves", "nitrile or neoprene gloves"
    APRON = "apron", "apron"
    MASK = "mask", "dust mask P2 (N95) or extraction"
    AIR = "air", "fresh air"


class Hazard(models.Model):
    """What is to be minded with a recipe in one form. The product's own data sheet decides.

    Unlike a default, a warning is given also where it is only remembered: it errs on the safe side.
    """

    version = models.ForeignKey(RecipeVersion, on_delete=models.PROTECT, related_name="hazards")
    form = models.CharField(max_length=12, choices=Form.choices)
    signal = models.CharField(max_length=8, choices=Signal.choices)
    statements = ArrayField(models.CharField(max_length=8), default=list, blank=True)
    protection = ArrayField(models.CharField(max_length=8, choices=Protection.choices))
    source = models.CharField(max_length=300)
    standing = models.CharField(max_length=20, choices=Standing.choices)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ("version", "form")
        constraints = (
            models.UniqueConstraint(fields=("version", "form"), name="hazard_once_a_form"),
            models.CheckConstraint(condition=~Q(source=""), name="hazard_names_its_source"),
            models.CheckConstraint(
                condition=Q(protection__len__gt=0), name="hazard_names_protection"
            ),
        )

    def __str__(self) -> str:
        return f"{self.version}, {self.get_form_display()}: {self.get_signal_display()}"
