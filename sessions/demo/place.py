"""The invented house itself: its rules and its equipment."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time

from darkroom.models import (
    Agitation,
    Equipment,
    EquipmentKind,
    Format,
    HouseRules,
    OpeningHours,
    VesselAgitation,
    VesselFit,
)

NAME = "Saltmarsh Lane Darkroom"
ZONE = "Europe/Lisbon"


@dataclass(frozen=True)
class Vessel:
    """A vessel: most mL by agitation; by format the positions, advised sheets and least mL."""

    code: str
    name: str
    kind: EquipmentKind
    most_ml: dict[Agitation, int]
    fits: dict[str, tuple[int, int, int]]
    holds_temperature: bool = False
    note: str = ""


VESSELS = (
    Vessel(
        "TANK-1",
        "Small daylight tank",
        EquipmentKind.TANK,
        {Agitation.INVERSION: 490},
        {"4×5": (4, 4, 475)},
        note="Four sheets on edge. Fill it to the ring.",
    ),
    Vessel(
        "TANK-2",
        "Small daylight tank",
        EquipmentKind.TANK,
        {Agitation.INVERSION: 490},
        {"4×5": (4, 4, 475)},
        note="As TANK-1; its cap is stiff.",
    ),
    Vessel(
        "TANK-3",
        "Tall roll tank",
        EquipmentKind.TANK,
        {Agitation.INVERSION: 650},
        {"135-36": (2, 2, 600), "120": (1, 1, 600)},
    ),
    Vessel(
        "DRUM-1",
        "Shallow rocked drum",
        EquipmentKind.DRUM,
        {Agitation.ROCKING: 250},
        {"4×5": (4, 4, 200), "5×7": (2, 2, 200), "8×10": (1, 1, 200)},
        note="Rocked by hand or on the rocker. One 8×10 at a time.",
    ),
    Vessel(
        "DRUM-2",
        "Shallow rocked drum",
        EquipmentKind.DRUM,
        {Agitation.ROCKING: 250},
        {"4×5": (4, 4, 200), "5×7": (2, 2, 200), "8×10": (1, 1, 200)},
    ),
    Vessel(
        "REEL-1",
        "Rotary drum with a reel of six",
        EquipmentKind.DRUM,
        {Agitation.ROTARY: 480},
        {"4×5": (6, 4, 300)},
        holds_temperature=True,
        note="Six positions; four develop evenly. Stands in the tempering bath.",
    ),
    Vessel(
        "REEL-2",
        "Rotary drum for rolls",
        EquipmentKind.DRUM,
        {Agitation.ROTARY: 480},
        {"135-36": (2, 2, 240), "120": (2, 2, 270)},
    ),
    Vessel(
        "TRAY-1",
        "Trays 5×7",
        EquipmentKind.TRAY,
        {Agitation.SHUFFLE: 800},
        {"4×5": (6, 4, 300), "5×7": (4, 3, 300)},
        note="In the dark throughout. 300 mL is half an inch deep.",
    ),
    Vessel(
        "TRAY-2",
        "Trays 8×10",
        EquipmentKind.TRAY,
        {Agitation.SHUFFLE: 2000},
        {"5×7": (6, 4, 1000), "8×10": (4, 2, 1000)},
        note="In the dark throughout. 1 L is half an inch deep.",
    ),
    Vessel(
        "HEAT-1",
        "Colour drum with heated jacket",
        EquipmentKind.DRUM,
        {Agitation.ROTARY: 500},
        {"4×5": (4, 4, 270), "120": (1, 1, 270), "135-36": (1, 1, 270)},
        holds_temperature=True,
        note="The jacket takes 25 minutes to 38 °C.",
    ),
)

OTHERS = (
    ("SINK-1", "Sink bay by the window", EquipmentKind.SINK),
    ("SINK-2", "Middle sink bay", EquipmentKind.SINK),
    ("SINK-3", "Sink bay by the door", EquipmentKind.SINK),
    ("BOOTH-1", "Loading booth", EquipmentKind.BOOTH),
    ("BOOTH-2", "Loading cupboard", EquipmentKind.BOOTH),
    ("BATH-1", "Tempering bath", EquipmentKind.BATH),
    ("PEGS-1", "Peg row over the heater", EquipmentKind.PEGS),
    ("PEGS-2", "Peg row at the back", EquipmentKind.PEGS),
    ("PEGS-3", "Drying cupboard", EquipmentKind.PEGS),
)


def open_house() -> HouseRules:
    """The house's rules; from the first moment it is marked as a demo, never taken for a house."""
    rules = HouseRules.current()
    rules.name, rules.zone, rules.is_demo = NAME, ZONE, True
    rules.no_colour_alone = True
    rules.save()
    OpeningHours.objects.update(opens_at=time(9), closes_at=time(22))
    return rules


def furnish() -> None:
    formats = {row.name: row for row in Format.objects.all()}
    for code, name, kind in OTHERS:
        Equipment.objects.create(code=code, name=name, kind=kind)
    for vessel in VESSELS:
        _place(vessel, formats)


def _place(vessel: Vessel, formats: dict[str, Format]) -> None:
    row = Equipment.objects.create(
        code=vessel.code,
        name=vessel.name,
        kind=vessel.kind,
        holds_temperature=vessel.holds_temperature,
        note=vessel.note,
    )
    VesselAgitation.objects.bulk_create(
        VesselAgitation(equipment=row, agitation=agitation, max_ml=most_ml)
        for agitation, most_ml in vessel.most_ml.items()
    )
    VesselFit.objects.bulk_create(
        VesselFit(
            equipment=row,
            format=formats[name],
            positions=positions,
            advised=advised,
            min_ml=min_ml,
        )
        for name, (positions, advised, min_ml) in vessel.fits.items()
    )
