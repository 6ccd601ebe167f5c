from darkroom.models.checks import CheckMark, Gates, HouseCheck
from darkroom.models.equipment import (
    Agitation,
    Equipment,
    EquipmentKind,
    VesselAgitation,
    VesselFit,
)
from darkroom.models.formats import Format, Material
from darkroom.models.hours import ClosedDate, OpeningHours, Weekday
from darkroom.models.house import HouseRules
from darkroom.models.inductions import Doing, Induction, InductionTopic
from darkroom.models.members import AccessLink, Member, Role
from darkroom.models.receipts import Receipt

__all__ = [
    "AccessLink",
    "Agitation",
    "CheckMark",
    "ClosedDate",
    "Doing",
    "Equipment",
    "EquipmentKind",
    "Format",
    "Gates",
    "HouseCheck",
    "HouseRules",
    "Induction",
    "InductionTopic",
    "Material",
    "Member",
    "OpeningHours",
    "Receipt",
    "Role",
    "VesselAgitation",
    "VesselFit",
    "Weekday",
]
