"""What a house that has just been opened needs before anybody can book."""

from __future__ import annotations

from collections.abc import Iterator

from django.urls import reverse

from chemistry.models import Batch, WasteContainer
from darkroom.models import Equipment, HouseRules, Member
from sessions.hands import Hand

FIRST = 0


def first_steps(reader: Member, *, rules: HouseRules) -> Iterator[Hand]:
    """For those who may do it, in order, until the first bottle stands on the shelf."""
    if Batch.objects.exists():
        return
    if reader.is_administrator:
        yield from _of_the_administrator(rules)
    if not WasteContainer.objects.exists():
        says = "No waste container is open: open one for each kind of waste."
        yield Hand(FIRST, says, reverse("chemistry:container-open"), "Open one")
    yield Hand(
        FIRST, "No bottle is on the shelf: mix the first ones.", reverse("chemistry:mix"), "Mix"
    )


def _of_the_administrator(rules: HouseRules) -> Iterator[Hand]:
    if rules.name == HouseRules._meta.get_field("name").default:
        says = "The house has no name yet: say what it is called and when it is open."
        yield Hand(FIRST, says, reverse("darkroom:rules"), "House rules")
    if not Equipment.objects.exists():
        says = "No equipment is entered: vessels, sinks, loading booths, rows of pegs."
        yield Hand(FIRST, says, reverse("admin:darkroom_equipment_add"), "Enter the first")
    if Member.objects.count() == 1:
        says = "You are alone in the house: let the others in."
        yield Hand(FIRST, says, reverse("darkroom:people"), "Let them in")
