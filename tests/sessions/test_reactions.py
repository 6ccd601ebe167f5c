"""An alkaline fixer is a fixer, but not one that follows an acid stop."""

import pytest
from django.test import Client
from django.urls import reverse

from chemistry.models import ProcessStep, Reaction, Recipe, Role
from darkroom.models import Member
from sessions.means import Means
from sessions.models import RunBath
from tests.factories.chemistry import mixed_batch, reused_way
from tests.factories.darkroom import NOW
from tests.factories.sessions import bench
from tests.sessions.bench import Bench
from tests.sessions.test_record_page import field, prefilled, url

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_now")]

BOTH = [(step, recipe) for step in ("", *Reaction.values) for recipe in ("", *Reaction.values)]


@pytest.mark.parametrize(("step", "recipe"), BOTH)
def test_a_step_takes_what_reacts_as_it_says(step: str, recipe: str) -> None:
    bath = ProcessStep(role=Role.FIXER, reaction=step)

    takes = bath.takes(Recipe(role=Role.FIXER, reaction=recipe))
    assert takes == (not step or not recipe or step == recipe)
    assert not bath.takes(Recipe(role=Role.STOP, reaction=recipe))


def test_planning_leaves_the_alkaline_fixer_alone(ada: Member) -> None:
    house = bench(with_bottles=False)
    mixed_batch(house.developer), mixed_batch(house.stop)
    alkaline = reused_way(au_per_l=20)
    mixed_batch(alkaline)
    fixer = house.step(Role.FIXER)

    def chosen() -> int:
        return Means(house.ask(ada), at=NOW).way_for(Role.FIXER).pk

    before = chosen()
    Recipe.objects.filter(pk=alkaline.version.recipe_id).update(reaction=Reaction.ALKALINE)
    ProcessStep.objects.filter(pk=fixer.pk).update(reaction=Reaction.ACID)

    assert (before, chosen()) == (alkaline.pk, house.fixer.pk)


def test_a_bottle_that_reacts_otherwise_is_asked_about_and_then_recorded(
    wet: Bench, ada: Member, ada_client: Client
) -> None:
    visit = wet.booked(ada)
    Recipe.objects.filter(versions__ways=wet.fixer.way).update(reaction=Reaction.ALKALINE)
    ProcessStep.objects.filter(pk=wet.steps[2].pk).update(reaction=Reaction.ACID)
    sent = prefilled(ada_client, url(visit)) | {field(wet, "code", 2): wet.fixer.code}

    asked = ada_client.post(url(visit), sent)
    done = ada_client.post(url(visit), sent | {"is_really_so": "on"})

    said = " ".join(asked.context["form"].errors["is_really_so"])
    assert asked.status_code == 422
    assert f"{wet.fixer.code} is alkaline" in said
    assert done["Location"] == reverse("sessions:visit", args=[visit.code])
    assert RunBath.objects.filter(batch=wet.fixer).exists()
