"""Quantities of the ledger as people read them; they are whole microlitres inside."""

from decimal import Decimal

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from chemistry.units import ml_from_ul
from darkroom.templatetags.look import MINUS, SPACE, number

register = template.Library()


def places(ml: Decimal) -> int:
    """Decimals that still mean something on the bench."""
    size = abs(ml)
    return 0 if size >= 100 else 1 if size >= 10 else 2 if size >= 1 else 3


def rounded_ml(ul: int) -> Decimal:
    ml = ml_from_ul(ul)
    return round(ml, places(ml)).normalize() + 0


@register.filter
def in_ml(ul: int) -> Decimal:
    """Millilitres as a number, exactly."""
    return ml_from_ul(ul)


@register.filter
def ml_value(ul: int) -> Decimal:
    """Millilitres as a number for a drawing, rounded as ``ml`` rounds."""
    return rounded_ml(ul)


@register.filter
def ml(ul: int | None) -> str:
    """``1 240 mL``, rounded to what a measuring cylinder tells."""
    return "–" if ul is None else f"{number(rounded_ml(ul))}{SPACE}mL"


@register.filter
def exact_ml(ul: int) -> SafeString:
    """Millilitres to the microlitre, so that a column adds up by eye."""
    whole, part = divmod(abs(ul), 1000)
    return format_html(
        '<span class="nowrap" title="{} µL">{}{}<span class="soft small">.{}</span></span>',
        number(ul),
        MINUS if ul < 0 else "",
        number(whole),
        f"{part:03d}",
    )
