"""What state a bottle is in at a moment, in a word and a sentence.

Derived, never stored: the clock alone changes it. ``Batch.objects.with_condition`` says the same
in SQL.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_FLOOR, Decimal

from chemistry.figures import bath_figures
from chemistry.models import Batch, Condition, Way
from chemistry.models.conditions import USABLE
from chemistry.science.wear import SPENT, UL_PER_L, ZERO, BathFigures, BathState
from chemistry.volumes import ml_text
from chemistry.wear_cache import cached_state
from darkroom.models import HouseRules

__all__ = ["Condition", "Verdict", "verdict"]


@dataclass(frozen=True, slots=True)
class Verdict:
    condition: Condition
    sentence: str

    @property
    def is_usable(self) -> bool:
        return self.condition in USABLE


@dataclass(frozen=True, slots=True)
class Case:
    """A bottle, what its recipe says, and the moment asked about."""

    batch: Batch
    state: BathState
    figures: BathFigures
    at: datetime
    rules: HouseRules

    def day(self, moment: datetime) -> str:
        local = moment.astimezone(self.rules.tz)
        return f"{local.day} {local:%B %Y}"


def verdict(batch: Batch, *, at: datetime, rules: HouseRules) -> Verdict:
    """The worst state that holds. For lists, fetch with ``Batch.objects.for_verdict()``."""
    case = Case(batch, cached_state(batch), bath_figures(batch.way), at, rules)
    for condition, finds in TESTS.items():
        sentence = finds(case)
        if sentence is not None:
            return Verdict(condition, sentence)
    return Verdict(Condition.FRESH, _fresh(case))


def _discarded(case: Case) -> str | None:
    gone = case.batch.discarded_at
    return None if gone is None else f"Discarded on {case.day(gone)}."


def _stopped(case: Case) -> str | None:
    for stop in case.batch.stops.all():
        if stop.released_at is None:
            return f"Stopped on {case.day(stop.stopped_at)}: {_sentence(stop.seen)}"
    return None


def _empty(case: Case) -> str | None:
    return "Nothing is left in it." if case.state.volume_ul <= 0 else None


def _spent(case: Case) -> str | None:
    return _worn(case, SPENT)


def _out_of_date(case: Case) -> str | None:
    until = case.batch.good_until
    return f"Out of date since {case.day(until)}." if until and until <= case.at else None


def _owed(case: Case) -> str | None:
    most = _most(case, case.figures.arrears_limit_mm2_per_l)
    owes = case.state.arrears_mm2 * UL_PER_L
    if not _replenished(case) or most is None or owes <= most:
        return None
    return "Owes more replenisher than it may: top it up before the next load."


def _not_yet(case: Case) -> str | None:
    start = case.batch.usable_from
    if start <= case.at:
        return None
    return f"Usable from {case.day(start)}, {start.astimezone(case.rules.tz):%H:%M}."


def _low(case: Case) -> str | None:
    share = case.rules.low_share
    return _worn(case, share) or _owing(case, share) or _running_out(case, share)


def _fresh(case: Case) -> str:
    until = case.batch.good_until
    return "Ready to use." if until is None else f"Ready to use, good until {case.day(until)}."


TESTS: dict[Condition, Callable[[Case], str | None]] = {
    Condition.DISCARDED: _discarded,
    Condition.STOPPED: _stopped,
    Condition.EMPTY: _empty,
    Condition.SPENT: _spent,
    Condition.OUT_OF_DATE: _out_of_date,
    Condition.OWED: _owed,
    Condition.NOT_YET: _not_yet,
    Condition.LOW: _low,
}


def _worn(case: Case, share: Decimal) -> str | None:
    """Whether this share is reached of anything that a bath is discarded for."""
    state, figures = case.state, case.figures
    if figures.way == Way.REUSED and state.wear >= share:
        return f"{_pct(state.wear)} % of its capacity is used."
    limit = figures.turnover_limit
    if _replenished(case) and limit is not None and state.turnover >= share * limit:
        return f"{state.turnover:.2f} of {limit.normalize():f} bath volumes of replenisher are in."
    most = _most(case, figures.area_limit_mm2_per_l)
    if figures.way == Way.TO_DRAW or most is None or state.area_mm2 * UL_PER_L < share * most:
        return None
    passed = state.area_mm2 * UL_PER_L / most if most else SPENT
    return f"{_pct(passed)} % of the area it may ever take has passed."


def _owing(case: Case, share: Decimal) -> str | None:
    most = _most(case, case.figures.arrears_limit_mm2_per_l)
    owes = case.state.arrears_mm2 * UL_PER_L
    if not _replenished(case) or most is None or owes <= ZERO or owes < share * most:
        return None
    return f"Owes {_pct(owes / most)} % of what it may owe: top it up soon."


def _running_out(case: Case, share: Decimal) -> str | None:
    volume_ul = case.state.volume_ul
    if case.figures.way != Way.TO_DRAW or volume_ul > (1 - share) * case.batch.full_ul:
        return None
    return f"{ml_text(volume_ul)} of stock is left."


def _sentence(words: str) -> str:
    """As it was written, with a full stop where there is none."""
    return words if words.endswith((".", "!", "?")) else f"{words}."


def _replenished(case: Case) -> bool:
    return case.figures.way == Way.REPLENISHED


def _most(case: Case, limit_mm2_per_l: Decimal | None) -> Decimal | None:
    """The limit for what the bottle holds now, times a litre."""
    return None if limit_mm2_per_l is None else limit_mm2_per_l * case.state.volume_ul


def _pct(share: Decimal) -> int:
    """Never rounded up to a limit that is not reached."""
    return int((share * 100).to_integral_value(rounding=ROUND_FLOOR))
