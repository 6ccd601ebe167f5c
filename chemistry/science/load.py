"""How much solution one load needs, and how many sheets a vessel can therefore take."""

from decimal import ROUND_CEILING, Decimal

from chemistry.science.area import AU_MM2, remaining_sheets
from chemistry.science.errors import check_positive, check_range

UL = Decimal("0.001")
ML_PER_L = 1000


class DoesNotFit(ValueError):
    """The load needs more solution than the vessel holds; says what area would fit."""

    def __init__(self, needed_ml: Decimal, max_ml: Decimal, largest_area_mm2: Decimal) -> None:
        super().__init__(needed_ml, max_ml, largest_area_mm2)
        self.needed_ml = needed_ml
        self.max_ml = max_ml
        self.largest_area_mm2 = largest_area_mm2

    def __str__(self) -> str:
        return f"{self.needed_ml} mL needed, {self.max_ml} mL is the most"


def load_volume_ml(
    *,
    vessel_min_ml: Decimal,
    vessel_max_ml: Decimal,
    stock_ml_per_au: Decimal | None,
    dilution_parts: Decimal | None,
    area_mm2: Decimal,
    per_pass_mm2_per_l: Decimal | None,
) -> Decimal:
    """Working solution for one load, rounded up to whole µL so that every floor is kept.

    The largest of three floors: the vessel's minimum; the stock that the area needs, diluted
    1+n; the area over the most that a litre takes in one pass.
    Units: mL, mL of stock per AU, the n of 1+n, mm².
    Domain: 0 <= vessel_min_ml <= vessel_max_ml, area_mm2 >= 0.
    Raises: DoesNotFit, OutOfRange.
    """
    check_positive("vessel_max_ml", vessel_max_ml)
    check_range("vessel_min_ml", vessel_min_ml, 0, vessel_max_ml)
    check_range("area_mm2", area_mm2, 0)
    per_mm2 = _ml_per_mm2(stock_ml_per_au, dilution_parts, per_pass_mm2_per_l)
    needed = max(vessel_min_ml, area_mm2 * per_mm2)
    if needed > vessel_max_ml:
        raise DoesNotFit(needed, vessel_max_ml, vessel_max_ml / per_mm2)
    return needed.quantize(UL, rounding=ROUND_CEILING)


def sheets_per_load(
    *,
    positions: int,
    sheet_mm2: Decimal,
    vessel_max_ml: Decimal,
    stock_ml_per_au: Decimal | None,
    dilution_parts: Decimal | None,
    per_pass_mm2_per_l: Decimal | None,
) -> int:
    """Most sheets, up to the positions advised, whose solution the vessel still holds.

    Zero when not even one fits.  Units: as ``load_volume_ml``.  Raises: OutOfRange.
    """
    check_range("positions", positions, 0)
    check_positive("sheet_mm2", sheet_mm2)
    check_positive("vessel_max_ml", vessel_max_ml)
    per_mm2 = _ml_per_mm2(stock_ml_per_au, dilution_parts, per_pass_mm2_per_l)
    if per_mm2 == 0:
        return positions
    fits = remaining_sheets(vessel_max_ml / per_mm2, sheet_mm2)
    return min(positions, fits)


def _ml_per_mm2(
    stock_ml_per_au: Decimal | None,
    dilution_parts: Decimal | None,
    per_pass_mm2_per_l: Decimal | None,
) -> Decimal:
    """Solution per area that the stricter of the two chemical floors asks for."""
    floors = [Decimal(0)]
    if stock_ml_per_au is not None:
        parts = dilution_parts or Decimal(0)
        check_range("stock_ml_per_au", stock_ml_per_au, 0)
        check_range("dilution_parts", parts, 0)
        floors.append(stock_ml_per_au * (1 + parts) / AU_MM2)
    if per_pass_mm2_per_l is not None:
        check_positive("per_pass_mm2_per_l", per_pass_mm2_per_l)
        floors.append(ML_PER_L / per_pass_mm2_per_l)
    return max(floors)
