import pytest
from django.core.management import CommandError, call_command

from darkroom.models import HouseRules, Member

pytestmark = pytest.mark.django_db


def test_load_demo_says_why_it_does_not_go_into_a_house(ada: Member) -> None:
    with pytest.raises(CommandError, match="already holds people"):
        call_command("load_demo")

    assert not HouseRules.current().is_demo
    assert list(Member.objects.all()) == [ada]
