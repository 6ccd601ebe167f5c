"""Stopping a bottle in one tap, and releasing it with a reason."""

from uuid import uuid4

import pytest

from chemistry import changes
from chemistry.checks import WordsWanted
from chemistry.conditions import Condition, verdict
from chemistry.models import Batch
from chemistry.stopping import AlreadyStopped, NotStopped, release_batch, stop_batch
from darkroom.errors import NotAllowed
from darkroom.models import HouseRules
from tests.factories.chemistry import mixed_batch
from tests.factories.darkroom import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def fixer():
    return mixed_batch()


def stop(batch, by, seen="Film did not clear", key=None):
    return stop_batch(batch=batch, seen=seen, key=key or uuid4(), by=by, at=NOW)


def release(batch, by, reason="Clears in 40 s", key=None):
    return release_batch(batch=batch, reason=reason, key=key or uuid4(), by=by, at=NOW)


def condition(batch):
    batch = Batch.objects.for_verdict().get(pk=batch.pk)
    return verdict(batch, at=NOW, rules=HouseRules.current()).condition


@pytest.mark.parametrize("role", ["ada", "ben", "adm"])
def test_any_member_stops_a_bottle(request, fixer, role):
    found = stop(fixer, request.getfixturevalue(role))

    assert (found.seen, condition(fixer)) == ("Film did not clear", Condition.STOPPED)


def test_auditor_stops_nothing(fixer, aud):
    with pytest.raises(NotAllowed):
        stop(fixer, aud)


def test_bottle_is_stopped_once(fixer, ada, cyd):
    stop(fixer, ada)

    with pytest.raises(AlreadyStopped) as info:
        stop(fixer, cyd)
    assert (info.value.code, info.value.status) == ("already_stopped", 409)


def test_press_sent_twice_is_one_stop(fixer, ada):
    key = uuid4()

    assert stop(fixer, ada, key=key) == stop(fixer, ada, key=key)


@pytest.mark.parametrize("words", ["", "  \n ", "x" * 301])
def test_what_was_seen_is_said_in_some_words(fixer, ada, words):
    with pytest.raises(WordsWanted) as info:
        stop(fixer, ada, seen=words)
    assert (info.value.code, info.value.field) == ("words_wanted", "seen")


def test_steward_releases_with_a_reason(fixer, ada, ben):
    stop(fixer, ada)
    released = release(fixer, ben)

    assert (released.released_by, released.release_reason) == (ben, "Clears in 40 s")
    assert condition(fixer) == Condition.FRESH


def test_released_bottle_can_be_stopped_again(fixer, ada, ben):
    stop(fixer, ada)
    release(fixer, ben)
    stop(fixer, ada, seen="Cloudy")

    assert condition(fixer) == Condition.STOPPED


@pytest.mark.parametrize("role", ["ada", "aud"])
def test_only_a_steward_releases(request, fixer, ada, role):
    stop(fixer, ada)

    with pytest.raises(NotAllowed):
        release(fixer, request.getfixturevalue(role))


def test_release_wants_a_reason(fixer, ada, ben):
    stop(fixer, ada)

    with pytest.raises(WordsWanted) as info:
        release(fixer, ben, reason=" ")
    assert info.value.field == "reason"


def test_only_what_is_stopped_is_released(fixer, ben):
    with pytest.raises(NotStopped) as info:
        release(fixer, ben)
    assert (info.value.code, info.value.status) == ("not_stopped", 409)


def test_both_are_told(fixer, ada, ben, monkeypatch):
    told = []
    monkeypatch.setattr(changes, "_callbacks", [lambda ids, *, at: told.append((ids, at))])
    stop(fixer, ada)
    release(fixer, ben)

    assert told == [([fixer.pk], NOW)] * 2
