"""Formulae: scaling to another volume, and one form of a chemical for another."""

from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal

from chemistry.science.errors import check_positive, check_range

FORMS: Mapping[str, tuple[str, Decimal]] = {
    "sodium thiosulfate, crystalline": ("thiosulfate", Decimal("248.18")),
    "sodium thiosulfate, anhydrous": ("thiosulfate", Decimal("158.11")),
    "borax, decahydrate": ("tetraborate", Decimal("381.37")),
    "borax, pentahydrate": ("tetraborate", Decimal("291.29")),
    "sodium carbonate, anhydrous": ("carbonate", Decimal("105.99")),
    "sodium carbonate, monohydrate": ("carbonate", Decimal("124.00")),
    "sodium carbonate, decahydrate": ("carbonate", Decimal("286.14")),
    "potassium carbonate, anhydrous": ("carbonate", Decimal("138.21")),
    "sodium sulfite, anhydrous": ("sulfite", Decimal("126.04")),
    "sodium sulfite, crystalline": ("sulfite", Decimal("252.15")),
    "sodium hydroxide": ("hydroxide", Decimal("39.997")),
    "potassium hydroxide": ("hydroxide", Decimal("56.106")),
    "sodium sulfate, anhydrous": ("sulfate", Decimal("142.04")),
    "sodium sulfate, decahydrate": ("sulfate", Decimal("322.19")),
}
"""What it supplies, and g/mol of that. Source: standard atomic weights (IUPAC)."""


class NoSubstitute(ValueError):
    """One of these chemicals does not stand in for the other."""


def to_step(value: Decimal, step: Decimal) -> Decimal:
    """Nearest multiple of ``step``, a half going up.

    Domain: step above zero.  Raises: OutOfRange.
    """
    check_positive("step", step)
    return (value / step).quantize(Decimal(1), rounding=ROUND_HALF_UP) * step


def scaled(
    amounts: Mapping[str, Decimal], *, from_ml: Decimal, to_ml: Decimal, step: Decimal
) -> dict[str, Decimal]:
    """Every amount of a formula for another volume, rounded half up to ``step``.

    Units: mL; the amounts keep theirs.  Domain: volumes above zero.  Raises: OutOfRange.
    """
    check_positive("from_ml", from_ml)
    check_positive("to_ml", to_ml)
    for name, amount in amounts.items():
        check_range(name, amount, 0)
    return {name: to_step(amount * to_ml / from_ml, step) for name, amount in amounts.items()}


def measuring_step(amount: Decimal) -> Decimal:
    """What a balance or a graduate is read to: 0.01 below 10, else 0.1.

    From 1 upwards the rounding then stays within half a percent.
    Units: g or mL, those of the amount.  Domain: amount >= 0.  Raises: OutOfRange.
    """
    check_range("amount", amount, 0)
    return Decimal("0.01") if amount < 10 else Decimal("0.1")


def measured(amount: Decimal, *, from_ml: Decimal, to_ml: Decimal) -> Decimal:
    """One amount of a formula for another volume, half up to what can be measured out.

    Units: mL; the amount keeps its own.  Domain: volumes above zero.  Raises: OutOfRange.
    """
    check_positive("from_ml", from_ml)
    check_positive("to_ml", to_ml)
    check_range("amount", amount, 0)
    exact = amount * to_ml / from_ml
    return to_step(exact, measuring_step(exact))


def swap_factor(*, specified: str, on_hand: str) -> Decimal:
    """Grams on hand per gram specified, for the same substance supplied.

    Raises: NoSubstitute for chemicals that are unknown here or supply different things.
    Source: ratio of the molar masses.
    """
    if specified not in FORMS or on_hand not in FORMS:
        raise NoSubstitute(f"{on_hand} for {specified}: not in the table")
    supplies, molar = FORMS[specified]
    other, other_molar = FORMS[on_hand]
    if supplies != other:
        raise NoSubstitute(f"{on_hand} supplies {other}, the formula wants {supplies}")
    return other_molar / molar
