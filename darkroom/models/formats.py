from __future__ import annotations

from django.db import models


class Material(models.TextChoices):
    """Classes of material that wear a bath differently."""

    FILM = "film", "Film"
    TABULAR = "tabular", "Tabular film"
    COLOUR = "colour", "Colour film"
    RC_PAPER = "rc_paper", "RC paper"
    FB_PAPER = "fb_paper", "FB paper"


class Format(models.Model):
    """A size of sheet, roll or paper, with the area that counts against a bath.

    ``area_mm2`` is exact. A 135-36 or a 120 roll counts as 80 in² (one unit), whatever its strip
    measures.
    """

    class Kind(models.TextChoices):
        SHEET = "sheet", "Sheet film"
        ROLL = "roll", "Roll film"
        PAPER = "paper", "Paper"

    name = models.CharField(max_length=20, unique=True)
    kind = models.CharField(max_length=8, choices=Kind.choices)
    area_mm2 = models.DecimalField(max_digits=12, decimal_places=4)
    source = models.CharField(max_length=200)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ("order", "name")
        constraints = (
            models.CheckConstraint(condition=models.Q(area_mm2__gt=0), name="format_area_positive"),
        )

    def __str__(self) -> str:
        return self.name

    def counted(self, number: int) -> str:
        """``6 sheets of 4×5``, ``1 roll of 120``."""
        noun = "roll" if self.kind == self.Kind.ROLL else "sheet"
        return f"{number} {noun}{'' if number == 1 else 's'} of {self}"
