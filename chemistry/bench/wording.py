"""Quantities as the bench writes them."""

from __future__ import annotations

from decimal import Decimal

from chemistry.bench.answers import Result
from chemistry.science.area import area_units
from chemistry.science.formula import to_step
from chemistry.templatetags.amounts import places
from chemistry.units import ml_from_ul
from darkroom.templatetags.look import SPACE, clock, number

FINEST_UL = 10
"""A line of the finest syringe."""


def exact_ml(ul: int) -> str:
    """To the microlitre, without trailing zeros: amounts that were rounded to a step before."""
    return f"{number(ml_from_ul(ul))}{SPACE}mL"


def ml_result(ul: int, label: str) -> Result:
    return Result(number(ml_from_ul(ul)), "mL", label)


def measurable_step_ul(ul: int) -> int:
    """What this amount can be measured to on the bench: 1 mL from 100 mL on, down to 0.01 mL."""
    return max(FINEST_UL, int(10 ** (3 - places(ml_from_ul(ul)))))


def measurable_ul(ul: int) -> int:
    return int(to_step(Decimal(ul), Decimal(measurable_step_ul(ul))))


def degrees_says(temp_c: Decimal | float, digits: int = 1) -> str:
    return f"{number(temp_c, digits)}{SPACE}°C"


def degrees_result(temp_c: Decimal | float, label: str, digits: int = 1) -> Result:
    return Result(number(temp_c, digits), "°C", label)


def minutes_says(minutes: Decimal | float) -> str:
    return f"{clock(minutes)}{SPACE}min"


def minutes_result(minutes: Decimal | float, label: str) -> Result:
    return Result(clock(minutes), "min", label)


def units(area_mm2: Decimal) -> str:
    """Units of 80 in², to a hundredth."""
    return number(to_step(area_units(area_mm2), Decimal("0.01")))


def units_says(area_mm2: Decimal) -> str:
    return f"{units(area_mm2)}{SPACE}AU"


def units_result(area_mm2: Decimal, label: str) -> Result:
    return Result(units(area_mm2), "AU", label)


def plain(value: Decimal | float, unit: str = "", digits: int | None = None) -> str:
    """A figure as it was entered, or rounded to ``digits``."""
    return f"{number(value, digits)}{SPACE}{unit}" if unit else number(value, digits)
