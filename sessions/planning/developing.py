"""The minutes of a developer, with every factor that made them."""

from dataclasses import dataclass
from decimal import Decimal

from chemistry.science.area import AU_MM2
from chemistry.science.kinetics import TimeFactors, is_too_short, reuse_factor
from chemistry.science.rows import PrintedRow, nearest_printed, row_time_min

HUNDREDTH = Decimal("0.01")
UL_PER_L = 1_000_000


@dataclass(frozen=True, slots=True)
class ReuseRule:
    """So many percent more for every so many units that a litre has developed.

    Units: AU per litre, percent.
    """

    step_au_per_l: Decimal
    gain_pct: Decimal

    def factor(self, *, area_before_mm2: Decimal, volume_ul: int) -> float:
        """Factor for a bath that has developed this area.

        Domain: volume above zero, area not negative.  Raises: OutOfRange.
        """
        return reuse_factor(
            area_before_mm2_per_l=area_before_mm2 * UL_PER_L / volume_ul,
            step_mm2_per_l=self.step_au_per_l * AU_MM2,
            gain_per_step=self.gain_pct / 100,
            way="reused",
        )


@dataclass(frozen=True, slots=True)
class DevelopingTime:
    """A printed time, or the member's own, and what became of it.  Units: min, °C."""

    base_min: Decimal
    base_c: Decimal
    temperature: float
    reuse: float

    @property
    def minutes(self) -> Decimal:
        """After all factors, to the hundredth; rounded only here."""
        factors = TimeFactors(reuse=self.reuse, temperature=self.temperature)
        return Decimal(factors.apply(float(self.base_min))).quantize(HUNDREDTH)

    @property
    def is_too_short(self) -> bool:
        return is_too_short(float(self.minutes))


def time_from_row(row: PrintedRow, temp_c: Decimal, *, reuse: float) -> DevelopingTime:
    """The nearest printed time carried to this temperature, then lengthened for reuse.

    Domain: inside the row's printed temperatures.  Raises: OutOfRange.
    """
    printed_c, printed_min = nearest_printed(row, float(temp_c))
    there_min = row_time_min(row, float(temp_c))
    return DevelopingTime(
        base_min=Decimal(f"{printed_min:g}"),
        base_c=Decimal(f"{printed_c:g}"),
        temperature=there_min / printed_min,
        reuse=reuse,
    )


def own_time(minutes: Decimal, temp_c: Decimal) -> DevelopingTime:
    """The member's own time as it is: whatever it allows for is in it already."""
    return DevelopingTime(base_min=minutes, base_c=temp_c, temperature=1.0, reuse=1.0)
