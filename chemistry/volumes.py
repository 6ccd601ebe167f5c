"""Volumes in words."""

from chemistry.units import ml_from_ul

NO_BREAK = "\u00a0"


def ml_text(ul: int) -> str:
    """Millilitres as people write them: ``1 200 mL``, ``62.5 mL``; exact to the microlitre."""
    text = f"{ml_from_ul(ul):,f}".replace(",", NO_BREAK)
    return (text.rstrip("0").rstrip(".") if "." in text else text) + " mL"
