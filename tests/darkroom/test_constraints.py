"""Each constraint of the place by its name, past every form."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from darkroom.models import (
    AccessLink,
    CheckMark,
    ClosedDate,
    Equipment,
    Format,
    HouseCheck,
    HouseRules,
    Induction,
    InductionTopic,
    Member,
    OpeningHours,
    Receipt,
    VesselAgitation,
    VesselFit,
)

AT = datetime(2026, 5, 4, 18, tzinfo=UTC)
TICK = timedelta(microseconds=1)
KEY = "6f1e7f0e-3a0b-4a53-a8a7-0a1a7d1d2a11"


@pytest.fixture
def tank(db: None) -> Equipment:
    return Equipment.objects.create(code="T-1", name="Tank", kind="tank")


@pytest.fixture
def size(db: None) -> Format:
    return Format.objects.create(name="9×12", kind="sheet", area_mm2=10800, source="measured")


def refused_by(row: Any) -> str:
    """The name of the constraint that keeps the row out, written without any validation."""
    with pytest.raises(IntegrityError) as refused, transaction.atomic():
        type(row).objects.bulk_create([row])
    return str(refused.value.__cause__.diag.constraint_name)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"email": "ADA@house.example"}, "member_email_unique"),
        ({"role": "king"}, "member_role_known"),
        ({"name": ""}, "member_name_given"),
    ],
)
def test_member(ada: Member, changes: dict[str, str], name: str) -> None:
    row = Member(**{"email": "dot@house.example", "name": "Dot"} | changes)

    assert refused_by(row) == name


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"id": 2}, "houserules_one_row"),
        ({"carry_out_ml_per_au": Decimal("-0.1")}, "houserules_carry_out_not_negative"),
    ],
)
@pytest.mark.django_db
def test_house_rules(changes: dict[str, Any], name: str) -> None:
    assert refused_by(HouseRules(**{"id": 1} | changes)) == name


@pytest.mark.django_db
def test_format_area() -> None:
    row = Format(name="none", kind="sheet", area_mm2=0, source="x")

    assert refused_by(row) == "format_area_positive"


def test_vessel_agitation(tank: Equipment) -> None:
    row = VesselAgitation(equipment=tank, agitation="rocking", max_ml=0)
    assert refused_by(row) == "vesselagitation_max_positive"

    row.max_ml = 500
    row.save()

    again = VesselAgitation(equipment=tank, agitation="rocking", max_ml=400)
    assert refused_by(again) == "vesselagitation_once"


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"advised": 5}, "vesselfit_advised_within_positions"),
        ({"advised": 0}, "vesselfit_advised_within_positions"),
        ({"min_ml": 0}, "vesselfit_min_positive"),
        ({}, "vesselfit_once"),
    ],
)
def test_vessel_fit(tank: Equipment, size: Format, changes: dict[str, int], name: str) -> None:
    figures = {"equipment": tank, "format": size, "positions": 4, "advised": 4, "min_ml": 450}
    if not changes:
        VesselFit.objects.create(**figures)

    assert refused_by(VesselFit(**figures | changes)) == name


def test_access_link_fits_its_kind(ada: Member) -> None:
    row = AccessLink(kind="bootstrap", member=ada, token_hash="x", created_at=AT, expires_at=AT)

    assert refused_by(row) == "accesslink_member_fits_kind"


def test_receipt_is_given_once(ada: Member) -> None:
    Receipt.objects.create(member=ada, key=KEY, operation="book", digest="d")

    row = Receipt(member=ada, key=KEY, operation="record", digest="e")

    assert refused_by(row) == "receipt_member_key_unique"


@pytest.mark.django_db
def test_topic_is_good_for_some_days() -> None:
    row = InductionTopic(code="reels", name="Reels", about="x", valid_days=0)

    assert refused_by(row) == "inductiontopic_validity_positive"


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({}, "induction_one_current"),
        ({"renewed_at": AT, "expires_at": AT}, "induction_expires_after_giving"),
        ({"renewed_at": AT, "given_at": AT + TICK}, "induction_not_in_the_future"),
        ({"withdrawn_at": AT}, "induction_withdrawn_with_reason"),
        ({"withdrawn_at": AT, "reason": "Spilt."}, "induction_withdrawn_with_reason"),
        ({"renewed_at": AT, "reason": "Spilt."}, "induction_withdrawn_with_reason"),
    ],
    ids=str,
)
def test_induction(ada: Member, ben: Member, changes: dict[str, Any], name: str) -> None:
    topic = InductionTopic.objects.create(code="reels", name="Reels", about="x")
    given = {"member": ada, "topic": topic, "given_by": ben, "given_at": AT, "entered_at": AT}
    Induction.objects.create(**given)

    assert refused_by(Induction(**given | changes)) == name


def test_induction_withdrawn_by_somebody_says_why(ada: Member, ben: Member) -> None:
    topic = InductionTopic.objects.create(code="reels", name="Reels", about="x")
    given = {"member": ada, "topic": topic, "given_by": ben, "given_at": AT, "entered_at": AT}

    row = Induction(**given, withdrawn_at=AT, withdrawn_by=ben)

    assert refused_by(row) == "induction_withdrawn_with_reason"


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"every_days": 0}, "housecheck_every_positive"),
        ({"gates": "doors"}, "housecheck_gates_known"),
    ],
)
@pytest.mark.django_db
def test_house_check(changes: dict[str, Any], name: str) -> None:
    assert refused_by(
        HouseCheck(**{"code": "eyewash", "name": "x", "every_days": 7} | changes)
    ) == (name)


def test_check_mark(ada: Member) -> None:
    check = HouseCheck.objects.create(code="eyewash", name="Eyewash", every_days=7)

    row = CheckMark(house_check=check, at=AT, by=ada, is_good=False)

    assert refused_by(row) == "checkmark_bad_says_what"


@pytest.mark.parametrize(
    ("hours", "name"),
    [
        ({"weekday": 0}, "openinghours_once_a_weekday"),
        ({"weekday": 7}, "openinghours_weekday_known"),
        ({"weekday": 6, "opens_at": time(22)}, "openinghours_opens_before_closing"),
    ],
)
@pytest.mark.django_db
def test_opening_hours(hours: dict[str, Any], name: str) -> None:
    HouseRules.current()
    OpeningHours.objects.filter(weekday=6).delete()

    assert refused_by(OpeningHours(**hours)) == name


@pytest.mark.parametrize(
    ("closed", "name"),
    [
        ({"date": date(2026, 12, 25), "reason": "Holiday"}, "closeddate_once"),
        ({"date": date(2026, 12, 26), "reason": ""}, "closeddate_says_why"),
    ],
)
@pytest.mark.django_db
def test_closed_date(closed: dict[str, Any], name: str) -> None:
    ClosedDate.objects.create(date=date(2026, 12, 25), reason="Holiday")

    assert refused_by(ClosedDate(**closed)) == name


@pytest.mark.parametrize(
    "changes",
    [
        {"is_in_service": False},
        {"is_in_service": False, "out_reason": "Lid cracked"},
        {"is_in_service": False, "out_since": AT},
        {"out_reason": "Lid cracked"},
        {"out_since": AT},
    ],
)
@pytest.mark.django_db
def test_equipment(changes: dict[str, Any]) -> None:
    row = Equipment(**{"code": "T-9", "name": "Tank", "kind": "tank"} | changes)

    assert refused_by(row) == "equipment_out_says_why"
