"""Every change of unit in the house; nothing else converts.

Factors that are definitions are exact: 1 in = 25.4 mm, 1 lb = 453.59237 g,
1 US gal = 231 in³, 1 fl oz = 1/128 US gal (NIST SP 811, appendix B).
"""

from decimal import ROUND_HALF_UP, Decimal

UL_PER_ML = 1000
CM_PER_IN = Decimal("2.54")
MM2_PER_FT2 = Decimal("92903.04")
ML_PER_US_GAL = Decimal("3785.411784")
ML_PER_US_FL_OZ = Decimal("29.5735295625")
ML_PER_US_PINT = Decimal("473.176473")
ML_PER_US_QUART = Decimal("946.352946")
ML_PER_IMPERIAL_FL_OZ = Decimal("28.4130625")
G_PER_LB = Decimal("453.59237")
G_PER_OZ = Decimal("28.349523125")
G_PER_GRAIN = Decimal("0.06479891")
G_PER_TROY_OZ = Decimal("31.1034768")


def whole_half_up(value: Decimal) -> int:
    """The whole number nearest to ``value``, a half going away from zero.

    Raises: ValueError for a value that is not finite.
    """
    if not value.is_finite():
        raise ValueError(f"not a finite number: {value}")
    return int(value.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def ul_from_ml(ml: Decimal | int) -> int:
    """Whole microlitres, rounded half up.

    Units: mL in, µL out.  Raises: ValueError for a value that is not finite.
    """
    return whole_half_up(Decimal(ml) * UL_PER_ML)


def ml_from_ul(ul: int) -> Decimal:
    """Millilitres, exactly."""
    return Decimal(ul).scaleb(-3)


def ml_from_us_fl_oz(fl_oz: Decimal | int) -> Decimal:
    """Millilitres in US fluid ounces, exactly."""
    return fl_oz * ML_PER_US_FL_OZ


def us_fl_oz_from_ml(ml: Decimal | int) -> Decimal:
    """US fluid ounces in millilitres."""
    return ml / ML_PER_US_FL_OZ


def ml_from_imperial_fl_oz(fl_oz: Decimal | int) -> Decimal:
    """Millilitres in imperial fluid ounces, exactly."""
    return fl_oz * ML_PER_IMPERIAL_FL_OZ


def ml_from_us_gal(gal: Decimal | int) -> Decimal:
    """Millilitres in US gallons, exactly."""
    return gal * ML_PER_US_GAL


def us_gal_from_ml(ml: Decimal | int) -> Decimal:
    """US gallons in millilitres."""
    return ml / ML_PER_US_GAL


def ml_from_us_quart(quart: Decimal | int) -> Decimal:
    """Millilitres in US quarts, exactly."""
    return quart * ML_PER_US_QUART


def ml_from_us_pint(pint: Decimal | int) -> Decimal:
    """Millilitres in US pints, exactly; a pint is an eighth of a gallon, not a quarter."""
    return pint * ML_PER_US_PINT


def c_from_f(fahrenheit: Decimal | int) -> Decimal:
    """Temperature in °C."""
    return (Decimal(fahrenheit) - 32) * 5 / 9


def f_from_c(celsius: Decimal | int) -> Decimal:
    """Temperature in °F."""
    return Decimal(celsius) * 9 / 5 + 32


def c_difference_from_f(fahrenheit: Decimal | int) -> Decimal:
    """A *difference* of temperature in °C; tolerances convert so, without the 32."""
    return Decimal(fahrenheit) * 5 / 9


def cm_from_in(inches: Decimal | int) -> Decimal:
    """Centimetres in inches, exactly."""
    return inches * CM_PER_IN


def in_from_cm(cm: Decimal | int) -> Decimal:
    """Inches in centimetres."""
    return cm / CM_PER_IN


def mm2_from_ft2(square_feet: Decimal | int) -> Decimal:
    """Square millimetres in square feet, exactly."""
    return square_feet * MM2_PER_FT2


def g_from_lb(pounds: Decimal | int) -> Decimal:
    """Grams in avoirdupois pounds, exactly."""
    return pounds * G_PER_LB


def lb_from_g(grams: Decimal | int) -> Decimal:
    """Avoirdupois pounds in grams."""
    return grams / G_PER_LB


def g_from_oz(ounces: Decimal | int) -> Decimal:
    """Grams in avoirdupois ounces, exactly."""
    return ounces * G_PER_OZ


def g_from_grains(grains: Decimal | int) -> Decimal:
    """Grams in grains, exactly."""
    return grains * G_PER_GRAIN


def g_from_troy_oz(troy_oz: Decimal | int) -> Decimal:
    """Grams in troy ounces, exactly."""
    return troy_oz * G_PER_TROY_OZ
