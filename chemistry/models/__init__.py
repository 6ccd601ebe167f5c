from chemistry.models.batches import Batch, BatchStop, Use
from chemistry.models.conditions import Condition
from chemistry.models.ledger import Account, AccountKind, LedgerHead, Method, Movement, MovementKind
from chemistry.models.processes import Film, Process, ProcessStep, TimePoint, TimeRow
from chemistry.models.recipes import (
    Figure,
    FigureName,
    Recipe,
    RecipeVersion,
    Role,
    Standing,
    Way,
    WayOfUse,
)
from chemistry.models.waste import Consignment, Stream, WasteContainer

__all__ = [
    "Account",
    "AccountKind",
    "Batch",
    "BatchStop",
    "Condition",
    "Consignment",
    "Figure",
    "FigureName",
    "Film",
    "LedgerHead",
    "Method",
    "Movement",
    "MovementKind",
    "Process",
    "ProcessStep",
    "Recipe",
    "RecipeVersion",
    "Role",
    "Standing",
    "Stream",
    "TimePoint",
    "TimeRow",
    "Use",
    "WasteContainer",
    "Way",
    "WayOfUse",
]
