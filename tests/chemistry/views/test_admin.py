from __future__ import annotations

import pytest
from django.apps import apps
from django.contrib import admin
from django.test import Client
from django.urls import reverse

from tests.factories.chemistry import ProcessFactory, mixed_batch
from tests.factories.inductions import TopicFactory

MODELS = sorted(model._meta.model_name for model in apps.get_app_config("chemistry").get_models())


@pytest.mark.parametrize("name", MODELS)
def test_admin_shows_everything_and_adds_nothing(adm_client: Client, name: str) -> None:
    mixed_batch()

    assert adm_client.get(reverse(f"admin:chemistry_{name}_changelist")).status_code == 200
    assert adm_client.get(reverse(f"admin:chemistry_{name}_add")).status_code == 403


def test_admin_changes_and_deletes_nothing(adm_client: Client) -> None:
    batch = mixed_batch()
    change = reverse("admin:chemistry_batch_change", args=[batch.pk])
    delete = reverse("admin:chemistry_batch_delete", args=[batch.pk])

    assert adm_client.get(change).status_code == 200
    assert adm_client.post(change, {"code": "X"}).status_code == 403
    assert adm_client.post(delete, {"post": "yes"}).status_code == 403


def test_admin_knows_every_model() -> None:
    models = apps.get_app_config("chemistry").get_models()

    assert [model for model in models if not admin.site.is_registered(model)] == []


def test_of_a_process_only_the_induction_it_asks_for_is_changed(adm_client: Client) -> None:
    process, topic = ProcessFactory(name="Colour negative"), TopicFactory()
    change = reverse("admin:chemistry_process_change", args=[process.pk])

    answer = adm_client.post(change, {"topic": topic.pk, "name": "Anything", "is_bookable": ""})

    process.refresh_from_db()
    assert answer.status_code == 302
    assert (process.topic, process.name, process.is_bookable) == (topic, "Colour negative", True)
