from __future__ import annotations

from django.conf import settings
from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q

from chemistry.models.streams import Stream
from chemistry.science.mixtures import Chemical
from darkroom.models import Material


class Role(models.TextChoices):
    DEVELOPER = "developer", "Developer"
    STOP = "stop", "Stop bath"
    FIXER = "fixer", "Fixer"
    WASH_AID = "wash_aid", "Wash aid"
    REPLENISHER = "replenisher", "Replenisher"
    BLEACH = "bleach", "Bleach"
    FINAL_RINSE = "final_rinse", "Final rinse"
    REVERSAL = "reversal", "Reversal bath"
    PREBLEACH = "prebleach", "Pre-bleach"
    WATER = "water", "Water"


class Reaction(models.TextChoices):
    """A step that states one takes only solutions of the same; empty is not stated."""

    ACID = "acid", "Acid"
    NEUTRAL = "neutral", "Neutral"
    ALKALINE = "alkaline", "Alkaline"


class Way(models.TextChoices):
    TO_DRAW = "to_draw", "Stock, drawn one-shot"
    REUSED = "reused", "Reused"
    REPLENISHED = "replenished", "Replenished"


class Standing(models.TextChoices):
    READ = "read", "read in the source"
    RESTATED = "restated", "restated by a secondary page"
    COMPUTED = "computed", "computed"
    COMMON_PRACTICE = "common practice", "common practice"
    REMEMBERED = "remembered", "remembered"
    REMEMBERED_LOW = "remembered-low", "remembered, uncertain"
    HOUSE = "house's own", "the house's own"


class FigureName(models.TextChoices):
    CAPACITY = "capacity", "Capacity"  # AU/L, by material
    PER_PASS = "per_pass", "Most in one pass"  # AU/L  # noqa: S105
    MIN_STOCK = "min_stock", "Least stock"  # mL/AU
    REPLENISH = "replenish", "Replenishment"  # mL/AU
    ARREARS_LIMIT = "arrears_limit", "Most arrears"  # AU/L
    TURNOVER_LIMIT = "turnover_limit", "Most turnover"  # tank volumes
    AREA_LIMIT = "area_limit", "Most area"  # AU/L since mixing
    REUSE_STEP_AREA = "reuse_step_area", "Time step every"  # AU/L
    REUSE_STEP_PCT = "reuse_step_pct", "Time added a step"  # percent
    KEEPING_FULL = "keeping_full", "Keeps, full bottle"  # days
    KEEPING_PART = "keeping_part", "Keeps, part-full bottle"  # days
    KEEPING_TANK = "keeping_tank", "Keeps, covered tank"  # days
    USABLE_AFTER = "usable_after", "Usable after"  # h


class Recipe(models.Model):
    code = models.CharField(max_length=24, unique=True)
    name = models.CharField(max_length=80)
    role = models.CharField(max_length=12, choices=Role.choices)
    letter = models.CharField(max_length=2, help_text="Starts the code of its bottles, as D-7.")
    reaction = models.CharField(max_length=8, choices=Reaction.choices, blank=True)

    class Meta:
        ordering = ("role", "name")

    def __str__(self) -> str:
        return self.name

    def latest(self) -> RecipeVersion:
        return self.versions.latest("number")


class RecipeVersion(models.Model):
    """A recipe as it stood when written. A change is a new version; batches keep theirs."""

    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="versions")
    number = models.PositiveSmallIntegerField()
    contents = models.TextField(help_text="What it is made of, and from what.")
    cautions = models.TextField(blank=True)
    stream = models.CharField(max_length=12, choices=Stream.choices)
    classes = ArrayField(
        models.CharField(max_length=20, choices=[(one.value, one.value) for one in Chemical]),
        default=list,
        blank=True,
        help_text="What it counts as in the rules of what must not meet.",
    )
    created_at = models.DateTimeField(auto_now_add=True)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ("recipe", "-number")
        constraints = (
            models.UniqueConstraint(fields=("recipe", "number"), name="recipeversion_number_once"),
        )

    def __str__(self) -> str:
        return f"{self.recipe}, version {self.number}"


class WayOfUse(models.Model):
    """How a version may be used, with the dilutions that go with it.

    ``mix_n`` is the n of 1+n from concentrate when a bottle is mixed (null: from powder or ready
    made). ``draw_n`` is the n of 1+n from the bottle when a load draws from it (stock only).
    """

    version = models.ForeignKey(RecipeVersion, on_delete=models.PROTECT, related_name="ways")
    way = models.CharField(max_length=12, choices=Way.choices)
    mix_n = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    draw_n = models.DecimalField(max_digits=6, decimal_places=2, null=True, blank=True)
    replenisher = models.ForeignKey(
        Recipe,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="replenishes",
        help_text="What a replenished bath is topped up with; empty: the same solution.",
    )

    class Meta:
        verbose_name_plural = "ways of use"
        constraints = (
            models.UniqueConstraint(fields=("version", "way"), name="wayofuse_once"),
            models.CheckConstraint(
                condition=Q(way="to_draw", draw_n__isnull=False)
                | (~Q(way="to_draw") & Q(draw_n__isnull=True)),
                name="wayofuse_only_stock_is_drawn",
            ),
            models.CheckConstraint(
                condition=(Q(mix_n__isnull=True) | Q(mix_n__gte=0))
                & (Q(draw_n__isnull=True) | Q(draw_n__gte=0)),
                name="wayofuse_dilution_not_negative",
            ),
        )

    def __str__(self) -> str:
        return f"{self.version}: {self.get_way_display()}"


class Figure(models.Model):
    """One figure of the trade: value, unit, where it comes from and how sure that is."""

    way = models.ForeignKey(WayOfUse, on_delete=models.PROTECT, related_name="figures")
    name = models.CharField(max_length=20, choices=FigureName.choices)
    material = models.CharField(
        max_length=12, choices=Material.choices, blank=True, help_text="Empty: for every material."
    )
    value = models.DecimalField(max_digits=12, decimal_places=4, null=True, blank=True)
    unit = models.CharField(max_length=24)
    source = models.CharField(max_length=300)
    standing = models.CharField(max_length=20, choices=Standing.choices)
    conditions = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("way", "name", "material"), name="figure_once"),
            models.CheckConstraint(
                condition=Q(value__isnull=True) | Q(value__gte=0), name="figure_not_negative"
            ),
            models.CheckConstraint(condition=~Q(source=""), name="figure_names_its_source"),
            # What is remembered uncertainly is no default: the house enters its own instead.
            models.CheckConstraint(
                condition=~Q(standing="remembered-low") | Q(value__isnull=True),
                name="figure_uncertain_has_no_value",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_name_display()} {self.value} {self.unit}"
