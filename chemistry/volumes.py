"""Volumes in words."""

from chemistry.units import ml_from_ul


def ml_text(ul: int) -> str:
    """Millilitres as people write them: ``1200 mL``, ``62.5 mL``; exact to the microlitre."""
    text = f"{ml_from_ul(ul):f}"
    return (text.rstrip("0").rstrip(".") if "." in text else text) + " mL"
