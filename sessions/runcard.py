"""The run card: what to do with which bottle, load by load."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from chemistry.models import Batch, FigureName, ProcessStep, Way, WayOfUse
from chemistry.science.errors import OutOfRange
from chemistry.science.mixing import Dilution, mix
from chemistry.templatetags.amounts import rounded_ml
from chemistry.units import UL_PER_ML
from darkroom.models import HouseRules
from darkroom.templatetags.look import number
from sessions import bottles
from sessions.bottles import Bottle
from sessions.loads import Load, planned_loads
from sessions.models import Allotment, Run, Session, SessionLine
from sessions.planning.developing import DevelopingTime, ReuseRule, own_time, time_from_row
from sessions.timing import dilution_of, printed_row

DEVELOPER = "developer"
TOO_SHORT = (
    "Under five minutes after all factors: development may be uneven. Cool the developer or take "
    "a weaker one."
)


@dataclass(frozen=True)
class Factor:
    """One thing that made the minutes, with where it comes from."""

    says: str
    source: str = ""
    standing: str = ""


@dataclass(frozen=True)
class StepCard:
    """One bath, as ``parts/step.html`` shows it."""

    step: ProcessStep
    bath: str
    batch: Batch | None
    bottle: str
    bottle_url: str
    state: str
    minutes: Decimal | None
    temp_c: Decimal | None
    temp_within: Decimal | None
    volume_ml: Decimal
    agitation: str
    note: str
    caution: str
    is_dark: bool
    factors: tuple[Factor, ...]


@dataclass(frozen=True)
class LoadCard:
    """A load; ``run`` once it is recorded. ``changes``: the steps timed otherwise than before."""

    load: Load
    steps: tuple[StepCard, ...]
    run: Run | None
    changes: tuple[StepCard, ...]


@dataclass(frozen=True)
class Fetch:
    """What to take from the shelf for all loads to come."""

    bottle: Bottle | None
    step: ProcessStep
    way: WayOfUse
    needed_ul: int
    says: str


@dataclass(frozen=True)
class RunCard:
    visit: Session
    loads: tuple[LoadCard, ...]
    fetch: tuple[Fetch, ...]
    cautions: tuple[tuple[str, str], ...]

    @property
    def lacks_bottle(self) -> bool:
        return any(item.bottle is None for item in self.fetch)

    @property
    def is_let_down(self) -> bool:
        return any(item.bottle and not item.bottle.verdict.is_usable for item in self.fetch)

    @property
    def next_load(self) -> LoadCard | None:
        return next((card for card in self.loads if card.run is None), None)


def card(visit: Session, *, at: datetime, rules: HouseRules) -> RunCard:
    """The card as it stands: recorded loads are marked, those to come are timed for the bottles
    as they are now with everything promised before them in."""
    return _Builder(visit, at=at, rules=rules).card()


class _Builder:
    """What the card is made of, read once."""

    def __init__(self, visit: Session, *, at: datetime, rules: HouseRules) -> None:
        self.visit = visit
        self.allotments = _latest_by_step(visit)
        self.steps = list(visit.process.steps.all())
        self.bottles = bottles.by_id(
            (a.batch_id for a in self.allotments.values() if a.batch_id is not None),
            at=at,
            rules=rules,
        )
        self.before = _promised_before(visit, self.bottles)

    def card(self) -> RunCard:
        loads = planned_loads(self.visit)
        runs = match_runs(loads, list(self.visit.runs.all()))
        ahead_mm2 = Decimal(0)
        cards: list[LoadCard] = []
        for load in loads:
            run = runs.get(load.number)
            steps = tuple(self._step(step, load, ahead_mm2) for step in self.steps)
            cards.append(LoadCard(load, steps, run, _changes(cards, steps)))
            if run is None:
                ahead_mm2 += load.area_mm2
        return RunCard(self.visit, tuple(cards), tuple(self._fetch()), tuple(self._cautions()))

    def _step(self, step: ProcessStep, load: Load, ahead_mm2: Decimal) -> StepCard:
        allotment = self.allotments.get(step.pk)
        bottle = self._bottle(allotment)
        is_developer = step.role == DEVELOPER
        timed = self._developing(load.line, allotment, bottle, ahead_mm2) if is_developer else None
        minutes = timed.minutes if timed is not None else step.minutes
        drawn = "" if allotment is None else draw_sentence(allotment.way, load.load_ml)
        too_short = TOO_SHORT if timed is not None and timed.is_too_short else ""
        return StepCard(
            step=step,
            bath=step.name,
            batch=None if bottle is None else bottle.batch,
            bottle=bottle.batch.code
            if bottle
            else "a bottle still to be mixed"
            if allotment
            else "",
            bottle_url=bottle.url if bottle else "",
            state=bottle.mark if bottle else "",
            minutes=minutes,
            temp_c=load.line.temp_c if is_developer else step.temp_c,
            temp_within=step.tolerance_c,
            volume_ml=Decimal(load.load_ml),
            agitation=" ".join(filter(None, (drawn, step.agitation))),
            note=step.caution,
            caution=too_short,
            is_dark=step.is_dark,
            factors=self._factors(step, load.line, timed, bottle),
        )

    def _bottle(self, allotment: Allotment | None) -> Bottle | None:
        if allotment is None or allotment.batch_id is None:
            return None
        return self.bottles[allotment.batch_id]

    def _developing(
        self,
        line: SessionLine,
        allotment: Allotment | None,
        bottle: Bottle | None,
        ahead_mm2: Decimal,
    ) -> DevelopingTime | None:
        if line.time_row is None:
            return None if line.own_minutes is None else own_time(line.own_minutes, line.temp_c)
        rule = None if allotment is None else reuse_rule(allotment.way)
        reuse = 1.0
        if rule is not None and bottle is not None:
            promised = self.before.get(bottle.batch.pk, Decimal(0))
            reuse = rule.factor(
                area_before_mm2=bottle.batch.used_mm2 + promised + ahead_mm2,
                volume_ul=bottle.volume_ul or bottle.batch.full_ul,
            )
        try:
            return time_from_row(printed_row(line.time_row), line.temp_c, reuse=reuse)
        except OutOfRange:
            return None

    def _factors(
        self,
        step: ProcessStep,
        line: SessionLine,
        timed: DevelopingTime | None,
        bottle: Bottle | None,
    ) -> tuple[Factor, ...]:
        if step.role != DEVELOPER:
            says = f"{number(step.minutes)} min by the process"
            return (Factor(says, step.source, step.standing),)
        if timed is None:
            return (Factor("No printed time at this temperature: take your own, and note it."),)
        if line.time_row is None:
            return (Factor("Your own time, taken as it is.", "entered by the member", "own"),)
        return tuple(_developer_factors(line, timed, bottle))

    def _fetch(self) -> Iterable[Fetch]:
        for step in self.steps:
            allotment = self.allotments.get(step.pk)
            if allotment is not None and allotment.state == Allotment.State.OPEN:
                needed = max(allotment.borrowed_ul, allotment.consumed_ul)
                bottle = self._bottle(allotment)
                yield Fetch(bottle, step, allotment.way, needed, _fetch_words(allotment, bottle))

    def _cautions(self) -> Iterable[tuple[str, str]]:
        seen: dict[str, str] = {}
        for allotment in self.allotments.values():
            version = allotment.way.version
            if version.cautions:
                seen.setdefault(version.recipe.name, version.cautions)
        return seen.items()


def reuse_rule(way: WayOfUse) -> ReuseRule | None:
    """How a reused developer's time grows, where its recipe says so; else None."""
    found = {figure.name: figure.value for figure in way.figures.all() if figure.value}
    step, gain = found.get(FigureName.REUSE_STEP_AREA), found.get(FigureName.REUSE_STEP_PCT)
    if way.way != Way.REUSED or step is None or gain is None:
        return None
    return ReuseRule(step, gain)


def draw_sentence(way: WayOfUse, load_ml: int) -> str:
    """How a load's worth is made from stock; nothing for a bath used as it is."""
    if way.draw_n is None or not way.draw_n:
        return ""
    stock_ul, water_ul = mix(load_ml * UL_PER_ML, Dilution(way.draw_n))
    return f"Mix {_ml(stock_ul)} of stock with {_ml(water_ul)} of water; used once."


def match_runs(loads: Sequence[Load], runs: Iterable[Run]) -> dict[int, Run]:
    """Which recorded run stands for which planned load: the first of its kind still without one,
    or failing that the first without one at all."""
    found: dict[int, Run] = {}
    standing = (run for run in runs if run.voided_at is None)
    for run in sorted(standing, key=lambda run: (run.happened_at, run.pk)):
        open_loads = [load for load in loads if load.number not in found]
        same = (load for load in open_loads if _is_kind(run, load.line))
        load = next(same, open_loads[0] if open_loads else None)
        if load is not None:
            found[load.number] = run
    return found


def _is_kind(run: Run, line: SessionLine) -> bool:
    return (run.film_id, run.index, run.format_id) == (line.film_id, line.index, line.format_id)


def _latest_by_step(visit: Session) -> Mapping[int, Allotment]:
    """The allotment that counts for each step; after cancelling, those that did."""
    found: dict[int, Allotment] = {}
    for allotment in sorted(visit.allotments.all(), key=lambda a: (a.state == "open", a.pk)):
        found[allotment.step_id] = allotment
    return found


def _promised_before(visit: Session, found: Mapping[int, Bottle]) -> dict[int, Decimal]:
    """What others were promised earlier and have not recorded; it is developed before this."""
    earlier = Allotment.objects.open().filter(
        batch__in=found, session__starts_at__lt=visit.starts_at
    )
    promised: dict[int, Decimal] = {}
    for batch_id, area_mm2 in earlier.exclude(session=visit).values_list("batch", "area_mm2"):
        if batch_id is not None:
            promised[batch_id] = promised.get(batch_id, Decimal(0)) + area_mm2
    return promised


def _changes(earlier: list[LoadCard], steps: tuple[StepCard, ...]) -> tuple[StepCard, ...]:
    if not earlier:
        return ()
    pairs = zip(earlier[-1].steps, steps, strict=True)
    return tuple(
        now for before, now in pairs if (before.minutes, before.temp_c) != (now.minutes, now.temp_c)
    )


def _developer_factors(
    line: SessionLine, timed: DevelopingTime, bottle: Bottle | None
) -> Iterable[Factor]:
    row = line.time_row
    assert row is not None
    yield Factor(
        f"{number(timed.base_min)} min at {number(timed.base_c)} °C: {row.film} at {row.index} in "
        f"{row.developer} {dilution_of(row)}",
        row.source,
        row.standing,
    )
    if timed.temperature != 1:
        yield Factor(
            f"× {timed.temperature:.3f} for {number(line.temp_c)} °C",
            "exponential fit to the printed times of this row",
            "computed",
        )
    if timed.reuse != 1 and bottle is not None:
        figures = bottle.figures_named(FigureName.REUSE_STEP_AREA, FigureName.REUSE_STEP_PCT)
        yield Factor(
            f"× {timed.reuse:.2f} for the film it has developed before",
            "; ".join(dict.fromkeys(figure.source for figure in figures)),
            "; ".join(dict.fromkeys(figure.standing for figure in figures)),
        )


def _fetch_words(allotment: Allotment, bottle: Bottle | None) -> str:
    code = bottle.batch.code if bottle is not None else "a bottle that a steward still has to mix"
    if allotment.way.way == Way.TO_DRAW:
        return f"{code}: draw {_ml(allotment.consumed_ul)} of stock in all."
    return f"{code}: {_ml(allotment.borrowed_ul)}, to be returned."


def _ml(ul: int) -> str:
    return f"{number(rounded_ml(ul))} mL"
