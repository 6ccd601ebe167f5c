"""One bottle as it is drawn beside a form: its waterline, its state, the sentence about it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from chemistry.conditions import verdict
from chemistry.models import Batch, Condition
from chemistry.models.batches import Storage
from chemistry.templatetags.amounts import rounded_ml
from darkroom.models import HouseRules

MARKS = {
    Condition.NOT_YET: "not_yet_usable",
    Condition.EMPTY: "",
    Condition.DISCARDED: "",
}


@dataclass(frozen=True)
class Drawing:
    volume_ml: Decimal
    full_ml: Decimal
    kind: str
    state: str
    says: str


def drawing(batch: Batch, *, at: datetime, rules: HouseRules) -> Drawing:
    """``state`` is a mark of the house's drawings, or nothing where the sentence says it all."""
    found = verdict(batch, at=at, rules=rules)
    return Drawing(
        volume_ml=rounded_ml(batch.account.balance),
        full_ml=rounded_ml(batch.full_ul),
        kind="tank" if batch.storage == Storage.TANK else "bottle",
        state=MARKS.get(found.condition, found.condition.value),
        says=found.sentence,
    )
