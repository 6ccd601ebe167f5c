"""The developers' page says what is so."""

from __future__ import annotations

import re

from django.apps import apps

from darkroom.settings import BASE_DIR

OUR_APPS = ("darkroom", "chemistry", "bookings")


def constraints_of(label: str) -> set[str]:
    models = apps.get_app_config(label).get_models()
    return {rule.name for model in models for rule in model._meta.constraints}


def test_developers_page_lists_every_constraint() -> None:
    page = (BASE_DIR / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = page.partition("## Constraints")[2].partition("\n## ")[0]

    listed = set(re.findall(r"`([a-z0-9_]+)`", section))

    assert listed == set().union(*map(constraints_of, OUR_APPS))
