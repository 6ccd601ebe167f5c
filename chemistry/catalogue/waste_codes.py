"""Codes of the European List of Waste, 09 01: what exists, and which entries carry an asterisk."""

from __future__ import annotations

import re
from collections.abc import Mapping

SHAPE = re.compile(r"\d\d \d\d \d\d\*?")


class WasteCodeFault(ValueError):
    """A code that does not exist, or with the wrong asterisk."""


def check_waste_code(code: str, known: Mapping[str, str]) -> str:
    """The entry's title.  Raises: WasteCodeFault, saying what is wrong with the code."""
    if not SHAPE.fullmatch(code):
        raise WasteCodeFault(f"{code!r} is not written as 09 01 01 with or without an asterisk")
    if code in known:
        return known[code]
    if code.endswith("*") and code[:-1] in known:
        raise WasteCodeFault(f"{code[:-1]} is not hazardous waste and has no asterisk")
    if f"{code}*" in known:
        raise WasteCodeFault(f"{code} is hazardous waste and is written {code}*")
    raise WasteCodeFault(f"{code} does not exist in the list")
