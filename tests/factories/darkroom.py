"""A small house: people, formats, vessels. Valid and unsurprising unless told otherwise."""

from __future__ import annotations

from datetime import UTC, datetime, time
from decimal import Decimal

import factory

from darkroom.models import (
    Agitation,
    Equipment,
    EquipmentKind,
    Format,
    HouseRules,
    Member,
    OpeningHours,
    Role,
    VesselAgitation,
    VesselFit,
)

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)
"""A Monday evening; what tests hand down as ``at`` unless the moment matters."""

IN2_MM2 = Decimal("645.16")


def open_daily(opens_at: time, closes_at: time, **rules: object) -> None:
    """A house with these hours on all seven days."""
    HouseRules.objects.update_or_create(pk=1, defaults=rules)
    OpeningHours.objects.update(opens_at=opens_at, closes_at=closes_at)


class MemberFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Member

    email = factory.Sequence(lambda n: f"member{n}@house.example")
    name = factory.Sequence(lambda n: f"Member {n}")
    role = Role.MEMBER
    password = "!"


class StewardFactory(MemberFactory):
    name = factory.Sequence(lambda n: f"Steward {n}")
    role = Role.STEWARD


class AuditorFactory(MemberFactory):
    name = factory.Sequence(lambda n: f"Auditor {n}")
    role = Role.AUDITOR


class FormatFactory(factory.django.DjangoModelFactory):
    """4×5 unless told otherwise; there is one format of a name."""

    class Meta:
        model = Format
        django_get_or_create = ("name",)

    name = "4×5"
    kind = Format.Kind.SHEET
    area_mm2 = 20 * IN2_MM2
    source = "Nominal area; 1 in² = 645.16 mm² exactly."


class EquipmentFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Equipment

    code = factory.Sequence(lambda n: f"E{n}")
    name = "Sink bay"
    kind = EquipmentKind.SINK
    is_in_service = True
    out_reason = factory.LazyAttribute(lambda made: "" if made.is_in_service else "Lid cracked")
    out_since = factory.LazyAttribute(lambda made: None if made.is_in_service else NOW)


class VesselFactory(EquipmentFactory):
    """A daylight tank for inversion up to 500 mL that takes four 4×5, all four advised."""

    class Meta:
        skip_postgeneration_save = True

    name = "Small tank"
    kind = EquipmentKind.TANK
    agitation = factory.RelatedFactory(
        "tests.factories.darkroom.VesselAgitationFactory", factory_related_name="equipment"
    )
    fit = factory.RelatedFactory(
        "tests.factories.darkroom.VesselFitFactory", factory_related_name="equipment"
    )


class VesselAgitationFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = VesselAgitation

    equipment = factory.SubFactory(EquipmentFactory, kind=EquipmentKind.TANK)
    agitation = Agitation.INVERSION
    max_ml = 500


class VesselFitFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = VesselFit

    equipment = factory.SubFactory(EquipmentFactory, kind=EquipmentKind.TANK)
    format = factory.SubFactory(FormatFactory)
    positions = 4
    advised = 4
    min_ml = 400
