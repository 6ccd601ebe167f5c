from darkroom.models.equipment import (
    Agitation,
    Equipment,
    EquipmentKind,
    VesselAgitation,
    VesselFit,
)
from darkroom.models.formats import Format, Material
from darkroom.models.house import HouseRules
from darkroom.models.members import AccessLink, Member, Role
from darkroom.models.receipts import Receipt

__all__ = [
    "AccessLink",
    "Agitation",
    "Equipment",
    "EquipmentKind",
    "Format",
    "HouseRules",
    "Material",
    "Member",
    "Receipt",
    "Role",
    "VesselAgitation",
    "VesselFit",
]
