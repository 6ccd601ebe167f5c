from __future__ import annotations

from django.db import models

from chemistry.science.waste_codes import WasteCode, parse_code


class Stream(models.TextChoices):
    """Waste of one kind. Codes: European List of Waste, Decision 2000/532/EC, chapter 09 01."""

    DEVELOPER = "developer", "Developer"
    STOP = "stop", "Stop bath"
    FIXER = "fixer", "Fixer"
    WASH_AID = "wash_aid", "Wash aid and rinses"

    @property
    def waste_code(self) -> str:
        """The code proposed for this stream; the house's carrier has the last word."""
        entry = PROPOSED_CODES.get(self)
        return "to be assessed" if entry is None else str(entry)


# Read: Decision 2000/532/EC, 09 01 (waste profile 0901). Stop bath and wash aid have no entry of
# their own and are assessed by the house with its carrier.
PROPOSED_CODES: dict[Stream, WasteCode] = {
    Stream.DEVELOPER: parse_code("09 01 01*"),
    Stream.FIXER: parse_code("09 01 04*"),
}
