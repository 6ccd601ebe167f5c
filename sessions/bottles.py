"""A bottle as every page shows it: what is in it, how it stands, what is promised of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db.models import Q, Sum
from django.urls import reverse

from chemistry import figures
from chemistry.conditions import Condition, Verdict, verdict
from chemistry.models import Batch, Figure, FigureName, Way
from chemistry.models.batches import BatchQuerySet, Storage
from chemistry.replenishing import suggestion
from chemistry.science.area import AU_MM2, area_units, remaining_sheets
from chemistry.science.errors import UnknownClass
from chemistry.science.wear import UL_PER_L, BathFigures, BathState, remaining_mm2
from chemistry.templatetags.amounts import rounded_ml
from chemistry.units import UL_PER_ML
from chemistry.wear_cache import cached_state
from darkroom.models import Format, HouseRules, Material, Member
from sessions.models import Allotment, SessionLine

MARKS = {
    Condition.NOT_YET: "not_yet_usable",
    Condition.EMPTY: "spent",
    Condition.DISCARDED: "spent",
}
WORST_FIRST = tuple(Condition)


@dataclass(frozen=True)
class Gauge:
    """What the wear rule shows, in units of 80 in²."""

    used_au: Decimal
    limit_au: Decimal
    promised_au: Decimal
    low_au: Decimal
    word: str


@dataclass(frozen=True)
class Bottle:
    """A batch with everything that is derived from it at one moment."""

    batch: Batch
    state: BathState
    figures: BathFigures
    verdict: Verdict
    low_share: Decimal
    promised_mm2: Decimal = Decimal(0)
    size: Format | None = None

    @property
    def url(self) -> str:
        return reverse("sessions:batch", args=[self.batch.code])

    @property
    def condition(self) -> Condition:
        return self.verdict.condition

    @property
    def rank(self) -> int:
        """The worst is the lowest."""
        return WORST_FIRST.index(self.condition)

    @property
    def mark(self) -> str:
        return MARKS.get(self.condition, self.condition.value)

    @property
    def volume_ul(self) -> int:
        return self.state.volume_ul

    @property
    def name(self) -> str:
        return self.batch.way.version.recipe.name

    @property
    def role(self) -> str:
        return self.batch.way.version.recipe.role

    @property
    def is_stock(self) -> bool:
        return self.batch.way.way == Way.TO_DRAW

    @property
    def owed_ul(self) -> int:
        """Replenisher that would settle what is owed, in whole millilitres; 0 if none may go in."""
        return suggestion(self.batch).added_ul

    def left_mm2(self, material: str) -> Decimal | None:
        """Area it still takes; None where area does not limit it, zero where it is not for that."""
        if self.is_stock:
            return self._left_of_stock_mm2()
        try:
            return remaining_mm2(self.state, material, self.figures)
        except UnknownClass:
            return Decimal(0)

    def sheets_left(self, size: Format, material: str = Material.FILM) -> int | None:
        left = self.left_mm2(material)
        return None if left is None else remaining_sheets(left, size.area_mm2)

    @property
    def left_says(self) -> str:
        """What it still takes, in sheets of the size that the reader cares about."""
        return "" if self.size is None else self.left_in(self.size)

    def left_in(self, size: Format, material: str = Material.FILM) -> str:
        """Nothing for a bottle that must not be used, whatever it would still take."""
        sheets = self.sheets_left(size, material)
        if sheets is None or not self.verdict.is_usable:
            return ""
        says = f"{size.counted(sheets)} left"
        # Rounded up: whoever plans on what is left must not plan on a promised sheet.
        promised = int(-(-self.promised_mm2 // size.area_mm2))
        return f"{says}, {promised} promised." if promised else f"{says}."

    @property
    def kind(self) -> str:
        """How it is drawn."""
        return "tank" if self.batch.storage == Storage.TANK else "bottle"

    @property
    def volume_ml(self) -> Decimal:
        return rounded_ml(self.volume_ul)

    @property
    def full_ml(self) -> Decimal:
        return rounded_ml(self.batch.full_ul)

    def gauge(self) -> Gauge | None:
        """The wear rule's figures; None where nothing is used up by area."""
        limit, used, word = self._limit_mm2(), self.state.wear, "used"
        if not limit:
            return None
        if self.batch.way.way == Way.REPLENISHED:
            used, word = self.state.arrears_mm2 / limit, "owed"
        limit_au = area_units(limit)
        return Gauge(
            used_au=used * limit_au,
            limit_au=limit_au,
            promised_au=area_units(self.promised_mm2),
            low_au=self.low_share * limit_au,
            word=word,
        )

    def figures_named(self, *names: FigureName) -> list[Figure]:
        found = (figures.figure(self.batch.way, name) for name in names)
        return [figure for figure in found if figure is not None]

    def _limit_mm2(self) -> Decimal | None:
        litres = Decimal(self.volume_ul or self.batch.full_ul) / UL_PER_L
        if self.batch.way.way == Way.REPLENISHED:
            limit = self.figures.arrears_limit_mm2_per_l
            return None if limit is None else limit * litres
        capacities = self.figures.capacity_mm2_per_l
        if self.is_stock or not capacities:
            return None
        return capacities.get(Material.FILM, min(capacities.values())) * litres

    def _left_of_stock_mm2(self) -> Decimal | None:
        per_au_ml = figures.value(self.batch.way, FigureName.MIN_STOCK)
        return AU_MM2 * self.volume_ul / (per_au_ml * UL_PER_ML) if per_au_ml else None


def visible_to(member: Member) -> BatchQuerySet:
    """Everybody's bottles and one's own; who may audit sees private ones too."""
    if member.may_audit:
        return Batch.objects.all()
    return Batch.objects.filter(Q(owner__isnull=True) | Q(owner=member))


def shown(
    batches: BatchQuerySet, *, at: datetime, rules: HouseRules, size: Format | None = None
) -> list[Bottle]:
    """These batches as bottles, with what open allotments have promised of them."""
    rows = list(batches.for_verdict().select_related("way__replenisher"))
    allotments = Allotment.objects.open().filter(batch__in=[batch.pk for batch in rows])
    promised = dict(
        allotments.order_by("batch").values_list("batch").annotate(area=Sum("area_mm2"))
    )
    return [
        Bottle(
            batch=batch,
            state=cached_state(batch),
            figures=figures.bath_figures(batch.way),
            verdict=verdict(batch, at=at, rules=rules),
            low_share=rules.low_share,
            promised_mm2=promised.get(batch.pk, Decimal(0)),
            size=size,
        )
        for batch in rows
    ]


def by_id(
    ids: Iterable[int], *, at: datetime, rules: HouseRules, size: Format | None = None
) -> dict[int, Bottle]:
    found = shown(Batch.objects.filter(pk__in=set(ids)), at=at, rules=rules, size=size)
    return {bottle.batch.pk: bottle for bottle in found}


def usual_format(member: Member) -> Format | None:
    """The size this member booked last, or else the house's first of sheet film."""
    last = SessionLine.objects.filter(session__member=member).order_by("-session__created_at")
    line = last.select_related("format").first()
    return Format.objects.filter(kind=Format.Kind.SHEET).first() if line is None else line.format
