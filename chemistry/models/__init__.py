from chemistry.models.batches import Batch, BatchStop, Use
from chemistry.models.conditions import Condition
from chemistry.models.contents import Form, Hazard, Ingredient, Protection, Signal, Unit
from chemistry.models.ledger import Account, AccountKind, LedgerHead, Method, Movement, MovementKind
from chemistry.models.processes import (
    Film,
    Process,
    ProcessFigure,
    ProcessStep,
    TimePoint,
    TimeRow,
)
from chemistry.models.recipes import (
    Figure,
    FigureName,
    Reaction,
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
    "Form",
    "Hazard",
    "Ingredient",
    "LedgerHead",
    "Method",
    "Movement",
    "MovementKind",
    "Process",
    "ProcessFigure",
    "ProcessStep",
    "Protection",
    "Reaction",
    "Recipe",
    "RecipeVersion",
    "Role",
    "Signal",
    "Standing",
    "Stream",
    "TimePoint",
    "TimeRow",
    "Unit",
    "Use",
    "WasteContainer",
    "Way",
    "WayOfUse",
]
