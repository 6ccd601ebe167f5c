import pytest
from django.db import IntegrityError

from darkroom.models import Member


def test_email_is_unique_whatever_its_case(ada: Member) -> None:
    with pytest.raises(IntegrityError, match="member_email_unique"):
        Member.objects.bulk_create([Member(email=ada.email.upper(), name="Other")])


@pytest.mark.parametrize("who", ["ada", "ben", "aud"])
def test_only_the_administrator_is_staff(who: str, request: pytest.FixtureRequest) -> None:
    assert not request.getfixturevalue(who).is_staff


def test_steward_is_not_staff_but_administrator_is(ben: Member, adm: Member) -> None:
    assert (ben.is_steward, ben.is_staff) == (True, False)
    assert (adm.is_steward, adm.is_staff) == (True, True)
