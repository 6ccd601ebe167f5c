"""Whether a bottle can keep everything it has been promised to, in order of time.

Borrowed solution is out of the bottle for the whole period; what is consumed of it, or drawn to be
used once, does not come back. Area counts at the end: a promise holds if wear, arrears, turnover
and area stay within their limits once it has passed. A promise whose time is over and that nobody
recorded still counts.
"""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from chemistry.science.errors import UnknownClass
from chemistry.science.wear import BathFigures, BathState, after_load, refusals

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Bottle:
    """A batch as it stands now. ``owner`` is whose it is, None: everybody's."""

    state: BathState
    figures: BathFigures
    full_ul: int
    usable_from: datetime
    good_until: datetime | None = None
    is_stopped: bool = False
    is_discarded: bool = False
    owner: int | None = None


@dataclass(frozen=True, slots=True)
class Promise:
    """What a session takes from the bottle. Units: mm² in all, µL at once, µL for good."""

    key: int
    session: int | None
    member: int
    starts_at: datetime
    ends_at: datetime
    material: str
    area_mm2: Decimal
    borrowed_ul: int = 0
    consumed_ul: int = 0

    @property
    def out_ul(self) -> int:
        """What is not in the bottle during the period; what is consumed may be part of a loan."""
        return max(self.borrowed_ul, self.consumed_ul)


@dataclass(frozen=True, slots=True)
class Failure:
    """A promise the bottle cannot keep: why, what it would come to, and the limit.

    Codes: ``discarded``, ``stopped``, ``private``, ``not_yet``, ``out_of_date``, ``volume`` and
    those of the wear of a bath (``class``, ``spent``, ``arrears``, ``turnover``, ``area_limit``).
    """

    key: int
    code: str
    value: Decimal = ZERO
    limit: Decimal = ZERO


def failures(bottle: Bottle, promises: Iterable[Promise]) -> dict[int, Failure]:
    """The promises that will not be kept, by key, each with the first reason found.

    Raises: OutOfRange for a bottle without a full volume or a negative area.
    """
    ordered = sorted(promises, key=lambda p: (p.starts_at, p.key))
    state, found = bottle.state, {}
    for promise in ordered:
        failure = (
            _by_state(bottle, promise)
            or _by_volume(bottle, promise, ordered)
            or _by_wear(bottle, state, promise)
        )
        if failure:
            found[promise.key] = failure
        state = _kept(bottle, state, promise)
    return found


def newly_failing(bottle: Bottle, promises: Sequence[Promise], new: Promise) -> tuple[Failure, ...]:
    """What the new promise would break: itself, or one that would have been kept without it."""
    before = failures(bottle, promises)
    after = failures(bottle, [*promises, new])
    broken = [failure for key, failure in after.items() if key not in before]
    return tuple(sorted(broken, key=lambda failure: failure.key != new.key))


def after_all(bottle: Bottle, promises: Iterable[Promise]) -> BathState:
    """The bottle once every promise has been taken from it."""
    state = bottle.state
    for promise in sorted(promises, key=lambda p: (p.starts_at, p.key)):
        state = _kept(bottle, state, promise)
    return state


def _by_state(bottle: Bottle, promise: Promise) -> Failure | None:
    if bottle.is_discarded:
        return Failure(promise.key, "discarded")
    if bottle.is_stopped:
        return Failure(promise.key, "stopped")
    if bottle.owner is not None and bottle.owner != promise.member:
        return Failure(promise.key, "private")
    if promise.starts_at < bottle.usable_from:
        return Failure(promise.key, "not_yet")
    if bottle.good_until is not None and promise.ends_at > bottle.good_until:
        return Failure(promise.key, "out_of_date")
    return None


def _by_volume(bottle: Bottle, promise: Promise, ordered: Sequence[Promise]) -> Failure | None:
    """At the start of a promise: what earlier ones took for good, and what is still out then.

    Of two that start together the one with the smaller key is served first.
    """
    there = bottle.state.volume_ul
    for other in ordered[: ordered.index(promise)]:
        is_out = other.ends_at > promise.starts_at
        there -= other.out_ul if is_out else other.consumed_ul
    if promise.out_ul <= there:
        return None
    return Failure(promise.key, "volume", Decimal(max(0, there)), Decimal(promise.out_ul))


def _by_wear(bottle: Bottle, state: BathState, promise: Promise) -> Failure | None:
    found = refusals(
        state, area_mm2=promise.area_mm2, material=promise.material, figures=bottle.figures
    )
    return Failure(promise.key, found[0].code, found[0].value, found[0].limit) if found else None


def _kept(bottle: Bottle, state: BathState, promise: Promise) -> BathState:
    """A class that the bath does not admit leaves no wear in the forecast; it is refused anyway."""
    with suppress(UnknownClass):
        state = after_load(
            state,
            area_mm2=promise.area_mm2,
            material=promise.material,
            figures=bottle.figures,
            full_ul=bottle.full_ul,
        )
    return replace(state, volume_ul=max(0, state.volume_ul - promise.consumed_ul))
