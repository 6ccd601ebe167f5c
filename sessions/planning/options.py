"""Which vessels can take some sheets, in how many loads and with how much solution."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from chemistry.science.area import AU_MM2
from chemistry.science.load import load_volume_ml, sheets_per_load

MOST_LOADS = 24
"""In one session. Standing: the house's own; nobody stands at a sink for longer."""


@dataclass(frozen=True, slots=True)
class Fit:
    """What a vessel takes of one format: positions, sheets that develop evenly, least solution."""

    positions: int
    advised: int
    min_ml: int


@dataclass(frozen=True, slots=True)
class Vessel:
    """A vessel agitated in one way; ``fit`` is None where it does not take the format."""

    max_ml: int
    fit: Fit | None
    holds_temperature: bool = False
    is_in_service: bool = True


@dataclass(frozen=True, slots=True)
class BathRule:
    """What a bath asks of a load: stock an area unit with its 1+n, and the most in one pass."""

    name: str
    stock_ml_per_au: Decimal | None = None
    dilution_n: Decimal | None = None
    per_pass_mm2_per_l: Decimal | None = None

    def floor_ml_per_au(self) -> Decimal:
        """Solution that an area unit asks of this bath; zero where it asks for nothing."""
        stock = (self.stock_ml_per_au or Decimal(0)) * (1 + (self.dilution_n or Decimal(0)))
        per_pass = 1000 * AU_MM2 / self.per_pass_mm2_per_l if self.per_pass_mm2_per_l else 0
        return max(stock, Decimal(per_pass))


@dataclass(frozen=True, slots=True)
class Loading:
    """How the sheets go in: loads, most sheets in one, solution in the vessel."""

    loads: int
    sheets_per_load: int
    load_ml: int


@dataclass(frozen=True, slots=True)
class Counts:
    """What an option costs; of each the less the better.

    ``used_ul`` is gone for good, ``load_ml`` is out for the largest load, ``drift_c`` is how far
    the developer strays at worst (infinite where nobody knows), ``crowded`` are sheets in a load
    beyond those advised.
    """

    used_ul: int
    load_ml: int
    attended_s: int
    drift_c: float
    crowded: int = 0
    vessels: int = 1

    @property
    def axes(self) -> tuple[float, ...]:
        return (
            self.used_ul,
            self.load_ml,
            self.attended_s,
            self.drift_c,
            self.crowded,
            self.vessels,
        )


def beats(one: Counts, other: Counts) -> bool:
    """No worse on any count and better on one."""
    pairs = list(zip(one.axes, other.axes, strict=True))
    return all(a <= b for a, b in pairs) and any(a < b for a, b in pairs)


def unbeaten(counts: Sequence[Counts]) -> list[bool]:
    """Of each whether nothing among them beats it on all counts.

    Whatever beats another one comes before it in the order of the axes, and what beats it is
    beaten by nothing itself or by something that beats both; so one pass against the unbeaten does.
    """
    marks, front = [False] * len(counts), list[Counts]()
    for n in sorted(range(len(counts)), key=lambda n: counts[n].axes):
        marks[n] = not any(beats(best, counts[n]) for best in front)
        if marks[n] and (not front or front[-1] != counts[n]):
            front.append(counts[n])
    return marks


class CannotTake(ValueError):
    """The vessel cannot take the sheets.

    Codes: ``out_of_service``, ``format``, ``temperature``, ``volume`` (one sheet asks for more
    than the vessel holds; ``bath`` says which), ``loads``.
    """

    def __init__(
        self, code: str, *, value: Decimal | int = 0, limit: int = 0, bath: str = ""
    ) -> None:
        super().__init__(code, value, limit, bath)
        self.code = code
        self.value = value
        self.limit = limit
        self.bath = bath


def loading(
    vessel: Vessel,
    *,
    sheets: int,
    sheet_mm2: Decimal,
    baths: Sequence[BathRule],
    needs_held_temperature: bool = False,
    is_crowded: bool = False,
) -> Loading:
    """The fewest loads of at most the advised sheets, filled evenly, and their solution.

    ``is_crowded``: every position is used, the crowded ones too.

    Every bath of the process goes through the same vessel, so the strictest decides.
    Units: mm², mL, rounded up to whole mL.  Domain: sheets >= 1.  Raises: CannotTake.
    """
    fit = _fit(vessel, needs_held_temperature)
    places = fit.positions if is_crowded else fit.advised
    most = min((_most_sheets(vessel, places, sheet_mm2, b) for b in baths), default=places)
    if not most:
        raise _too_little_room(vessel, sheet_mm2, baths)
    loads = -(-sheets // most)
    if loads > MOST_LOADS:
        raise CannotTake("loads", value=loads, limit=MOST_LOADS)
    per_load = -(-sheets // loads)
    volumes = (_volume_ml(vessel, fit, per_load * sheet_mm2, bath) for bath in baths)
    return Loading(loads, per_load, max(volumes, default=fit.min_ml))


def _fit(vessel: Vessel, needs_held_temperature: bool) -> Fit:
    if not vessel.is_in_service:
        raise CannotTake("out_of_service")
    if vessel.fit is None:
        raise CannotTake("format")
    if needs_held_temperature and not vessel.holds_temperature:
        raise CannotTake("temperature")
    if vessel.fit.min_ml > vessel.max_ml:
        raise CannotTake("volume", value=vessel.fit.min_ml, limit=vessel.max_ml)
    return vessel.fit


def _most_sheets(vessel: Vessel, places: int, sheet_mm2: Decimal, bath: BathRule) -> int:
    return sheets_per_load(
        positions=places,
        sheet_mm2=sheet_mm2,
        vessel_max_ml=Decimal(vessel.max_ml),
        stock_ml_per_au=bath.stock_ml_per_au,
        dilution_parts=bath.dilution_n,
        per_pass_mm2_per_l=bath.per_pass_mm2_per_l,
    )


def _too_little_room(vessel: Vessel, sheet_mm2: Decimal, baths: Sequence[BathRule]) -> CannotTake:
    strictest = max(baths, key=BathRule.floor_ml_per_au)
    needed = strictest.floor_ml_per_au() * sheet_mm2 / AU_MM2
    return CannotTake("volume", value=needed, limit=vessel.max_ml, bath=strictest.name)


def _volume_ml(vessel: Vessel, fit: Fit, area_mm2: Decimal, bath: BathRule) -> int:
    volume = load_volume_ml(
        vessel_min_ml=Decimal(fit.min_ml),
        vessel_max_ml=Decimal(vessel.max_ml),
        stock_ml_per_au=bath.stock_ml_per_au,
        dilution_parts=bath.dilution_n,
        area_mm2=area_mm2,
        per_pass_mm2_per_l=bath.per_pass_mm2_per_l,
    )
    return int(volume.to_integral_value(rounding=ROUND_CEILING))
