"""What state a bottle is in, as the database derives it. ``chemistry.conditions`` says the same."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, TypeAlias

from django.db import models
from django.db.models import Case, Exists, ExpressionWrapper, F, OuterRef, Q, Subquery, Value, When

from chemistry.models.recipes import Figure, FigureName, Way
from chemistry.science.area import AU_MM2
from chemistry.science.wear import UL_PER_L

if TYPE_CHECKING:
    from chemistry.models.batches import BatchQuerySet, BatchStop


class Condition(models.TextChoices):
    """Worst first: a bottle is in the first of these that holds."""

    DISCARDED = "discarded", "Discarded"
    STOPPED = "stopped", "Stopped"
    EMPTY = "empty", "Empty"
    SPENT = "spent", "Spent"
    OUT_OF_DATE = "out_of_date", "Out of date"
    OWED = "owed", "Owed"
    NOT_YET = "not_yet", "Not yet usable"
    LOW = "low", "Low"
    FRESH = "fresh", "Fresh"


USABLE = frozenset({Condition.LOW, Condition.FRESH})
Number: TypeAlias = "ExpressionWrapper[models.expressions.Combinable]"
_REUSED = Q(way__way=Way.REUSED)
_REPLENISHED = Q(way__way=Way.REPLENISHED)
_TO_DRAW = Q(way__way=Way.TO_DRAW)


def with_condition(
    batches: BatchQuerySet, stops: models.QuerySet[BatchStop], *, at: datetime, low_share: Decimal
) -> BatchQuerySet:
    """Annotate ``condition``. Figures are per litre, so both sides are taken times a litre."""
    measured = batches.alias(
        arrears_scaled=_number(F("arrears_mm2") * UL_PER_L),
        arrears_most=_most(FigureName.ARREARS_LIMIT),
        used_scaled=_number(F("used_mm2") * UL_PER_L),
        used_most=_most(FigureName.AREA_LIMIT),
        turnover_most=_figure(FigureName.TURNOVER_LIMIT),
    )
    is_stopped = Exists(stops.filter(batch=OuterRef("pk"), released_at__isnull=True))
    tests = {
        Condition.DISCARDED: Q(discarded_at__isnull=False),
        Condition.STOPPED: Q(is_stopped),
        Condition.EMPTY: Q(account__balance__lte=0),
        Condition.SPENT: _worn(Decimal(1)),
        Condition.OUT_OF_DATE: Q(good_until__lte=at),
        Condition.OWED: _REPLENISHED & Q(arrears_scaled__gt=F("arrears_most")),
        Condition.NOT_YET: Q(usable_from__gt=at),
        Condition.LOW: _worn(low_share) | _owing(low_share) | _running_out(low_share),
    }
    whens = [When(test, then=Value(name.value)) for name, test in tests.items()]
    return measured.annotate(
        condition=Case(
            *whens, default=Value(Condition.FRESH.value), output_field=models.CharField()
        )
    )


def _worn(share: Decimal) -> Q:
    return (
        (_REUSED & Q(wear__gte=share))
        | (_REPLENISHED & Q(turnover__gte=_number(F("turnover_most") * Value(share))))
        | (~_TO_DRAW & Q(used_scaled__gte=_number(F("used_most") * Value(share))))
    )


def _owing(share: Decimal) -> Q:
    """Nothing owed is never much owed, whatever the limit."""
    much = Q(arrears_mm2__gt=0, arrears_scaled__gte=_number(F("arrears_most") * Value(share)))
    return _REPLENISHED & much


def _running_out(share: Decimal) -> Q:
    return _TO_DRAW & Q(account__balance__lte=_number(F("full_ul") * Value(1 - share)))


def _figure(name: FigureName) -> Subquery:
    rows = Figure.objects.filter(way=OuterRef("way"), name=name, material="", value__isnull=False)
    return Subquery(rows.values("value")[:1])


def _most(name: FigureName) -> Number:
    """A limit in units per litre, as mm² times a litre, for what the bottle holds now."""
    return _number(_figure(name) * Value(AU_MM2) * F("account__balance"))


def _number(expression: models.expressions.Combinable) -> Number:
    return ExpressionWrapper(
        expression, output_field=models.DecimalField(max_digits=60, decimal_places=20)
    )
