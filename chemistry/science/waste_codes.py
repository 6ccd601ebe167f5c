"""Codes of the European List of Waste, 09 01: wastes from the photographic industry.

Source: Commission Decision 2000/532/EC as amended (2001/118, 2001/119, 2001/573, 2014/955/EU),
read in SEPA-derived open data (ewc-coding.csv) and in the German waste profile 0901.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

SHAPE = re.compile(r"(\d\d) ?(\d\d) ?(\d\d) ?(\*?)", re.ASCII)
CHAPTER = "09 01"


class WasteCodeFault(ValueError):
    """Not a code of 09 01; says what is wrong with it."""


class NotACode(WasteCodeFault):
    """Not written as six digits with or without an asterisk."""


class NoSuchCode(WasteCodeFault):
    """The list has no such entry."""


class WrongAsterisk(WasteCodeFault):
    """The asterisk marks hazardous waste; it is missing, or stands where it must not."""


@dataclass(frozen=True, slots=True)
class WasteCode:
    """An entry of the list. Hazardous waste is written with an asterisk."""

    digits: str
    title: str
    is_hazardous: bool

    def __str__(self) -> str:
        return f"{self.digits}*" if self.is_hazardous else self.digits


def _entry(last: str, title: str, *, hazardous: bool) -> WasteCode:
    return WasteCode(f"{CHAPTER} {last}", title, hazardous)


ENTRIES = (
    _entry("01", "water-based developer and activator solutions", hazardous=True),
    _entry("02", "water-based offset-plate developer solutions", hazardous=True),
    _entry("03", "solvent-based developer solutions", hazardous=True),
    _entry("04", "fixer solutions", hazardous=True),
    _entry("05", "bleach solutions and bleach-fixer solutions", hazardous=True),
    _entry(
        "06",
        "silver-containing wastes from on-site treatment of photographic wastes",
        hazardous=True,
    ),
    _entry("07", "film and paper containing silver or silver compounds", hazardous=False),
    _entry("08", "film and paper free of silver and silver compounds", hazardous=False),
    # The list goes from 08 to 10.
    _entry("10", "single-use cameras without batteries", hazardous=False),
    _entry(
        "11",
        "single-use cameras with batteries of 16 06 01, 16 06 02 or 16 06 03",
        hazardous=True,
    ),
    _entry("12", "single-use cameras with other batteries", hazardous=False),
    _entry(
        "13",
        "aqueous liquid waste from on-site reclamation of silver, other than 09 01 06",
        hazardous=True,
    ),
    _entry("99", "wastes not otherwise specified", hazardous=False),
)
CODES: Mapping[str, WasteCode] = {entry.digits: entry for entry in ENTRIES}


def parse_code(text: str) -> WasteCode:
    """The entry that ``text`` names, with its asterisk as the list has it.

    The spaces may be left out.
    Raises: NotACode, NoSuchCode, WrongAsterisk.

    Example:
    >>> str(parse_code("090104*"))
    '09 01 04*'
    """
    found = SHAPE.fullmatch(text.strip())
    if found is None:
        raise NotACode(f"{text!r} is not written like 09 01 04*: six digits, perhaps an asterisk")
    digits = " ".join(found.group(1, 2, 3))
    entry = CODES.get(digits)
    if entry is None:
        raise NoSuchCode(f"{digits} does not exist in the list of {CHAPTER}")
    if entry.is_hazardous and not found[4]:
        raise WrongAsterisk(f"{digits} is hazardous waste and is written {entry}")
    if found[4] and not entry.is_hazardous:
        raise WrongAsterisk(f"{digits} is not hazardous waste and has no asterisk")
    return entry
