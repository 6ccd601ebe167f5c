from __future__ import annotations

from django.db import models
from django.db.models import Q

from chemistry.models.recipes import Reaction, Recipe, Role, Standing
from darkroom.models import Agitation, InductionTopic, Material


class Process(models.Model):
    code = models.CharField(max_length=16, unique=True)
    name = models.CharField(max_length=80)
    needs_held_temperature = models.BooleanField(
        default=False, help_text="Only in vessels that keep their temperature by themselves."
    )
    is_bookable = models.BooleanField(
        default=True, help_text="Whether this house keeps the baths for it."
    )
    topic = models.ForeignKey(
        InductionTopic,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="processes",
        verbose_name="induction",
        help_text="What a member must have been shown before they book it.",
    )
    source = models.CharField(max_length=300)
    standing = models.CharField(max_length=20, choices=Standing.choices)

    class Meta:
        ordering = ("name",)
        verbose_name_plural = "processes"

    def __str__(self) -> str:
        return self.name

    @property
    def is_colour_or_toner(self) -> bool:
        """Whether the house's rules for colour and toner work hold for it."""
        return self.needs_held_temperature


class ProcessStep(models.Model):
    """One bath of a process. A developer's minutes come from its time row, so they may be empty."""

    process = models.ForeignKey(Process, on_delete=models.CASCADE, related_name="steps")
    order = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=40)
    role = models.CharField(max_length=12, choices=Role.choices)
    reaction = models.CharField(max_length=8, choices=Reaction.choices, blank=True)
    minutes = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    temp_c = models.DecimalField(max_digits=4, decimal_places=1, null=True, blank=True)
    tolerance_c = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)
    agitation = models.CharField(max_length=160, blank=True)
    caution = models.CharField(max_length=200, blank=True)
    is_dark = models.BooleanField(default=False)
    source = models.CharField(max_length=300)
    standing = models.CharField(max_length=20, choices=Standing.choices)

    class Meta:
        ordering = ("process", "order")
        constraints = (
            models.UniqueConstraint(fields=("process", "order"), name="processstep_order_once"),
            models.CheckConstraint(
                condition=Q(minutes__isnull=True) | Q(minutes__gt=0),
                name="processstep_minutes_positive",
            ),
            models.CheckConstraint(
                condition=Q(minutes__isnull=False) | Q(role="developer"),
                name="processstep_only_developers_are_timed_by_row",
            ),
        )

    def __str__(self) -> str:
        return f"{self.order} {self.name}"

    def takes(self, recipe: Recipe) -> bool:
        """Whether a solution of this recipe belongs in this bath."""
        if self.reaction and recipe.reaction and self.reaction != recipe.reaction:
            return False
        return recipe.role == self.role


class ProcessFigure(models.Model):
    """One published figure about a bath of a process that the house keeps no bottles for."""

    process = models.ForeignKey(Process, on_delete=models.CASCADE, related_name="figures")
    order = models.PositiveSmallIntegerField()
    bath = models.CharField(max_length=40)
    name = models.CharField(max_length=80)
    value = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    unit = models.CharField(max_length=24)
    source = models.CharField(max_length=300)
    standing = models.CharField(max_length=20, choices=Standing.choices)
    conditions = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ("process", "order")
        constraints = (
            models.UniqueConstraint(fields=("process", "order"), name="processfigure_order_once"),
            models.CheckConstraint(condition=~Q(source=""), name="processfigure_names_its_source"),
            models.CheckConstraint(
                condition=~Q(standing="remembered-low") | Q(value__isnull=True),
                name="processfigure_uncertain_has_no_value",
            ),
        )

    def __str__(self) -> str:
        return f"{self.bath}: {self.name} {self.value} {self.unit}"


class Film(models.Model):
    name = models.CharField(max_length=60, unique=True)
    material = models.CharField(max_length=12, choices=Material.choices)
    speed = models.PositiveIntegerField(help_text="The speed on the box.")
    process = models.ForeignKey(Process, on_delete=models.PROTECT, related_name="films")

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class TimeRow(models.Model):
    """Printed times of a film in a developer at one dilution, index and kind of agitation."""

    film = models.ForeignKey(Film, on_delete=models.PROTECT, related_name="time_rows")
    developer = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="time_rows")
    dilution_n = models.DecimalField(
        max_digits=6, decimal_places=2, help_text="The n of 1+n; 0 is undiluted stock."
    )
    index = models.PositiveIntegerField(help_text="Exposure index.")
    agitation = models.CharField(max_length=12, choices=Agitation.choices)
    source = models.CharField(max_length=300)
    standing = models.CharField(max_length=20, choices=Standing.choices)

    class Meta:
        ordering = ("film", "developer", "index")
        constraints = (
            models.UniqueConstraint(
                fields=("film", "developer", "dilution_n", "index", "agitation", "source"),
                name="timerow_once",
            ),
            models.CheckConstraint(
                condition=Q(index__gt=0) & Q(dilution_n__gte=0), name="timerow_sensible"
            ),
        )

    def __str__(self) -> str:
        return f"{self.film} at {self.index} in {self.developer} 1+{self.dilution_n.normalize():f}"


class TimePoint(models.Model):
    row = models.ForeignKey(TimeRow, on_delete=models.CASCADE, related_name="points")
    temp_c = models.DecimalField(max_digits=5, decimal_places=2)
    minutes = models.DecimalField(max_digits=5, decimal_places=2)

    class Meta:
        ordering = ("row", "temp_c")
        constraints = (
            models.UniqueConstraint(fields=("row", "temp_c"), name="timepoint_once"),
            models.CheckConstraint(condition=Q(minutes__gt=0), name="timepoint_minutes_positive"),
        )

    def __str__(self) -> str:
        return f"{self.minutes} min at {self.temp_c} °C"
