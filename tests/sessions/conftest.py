from collections.abc import Iterator

import pytest
import time_machine

from tests.sessions.bench import NOW, Bench, bench


@pytest.fixture
def wet(db: None) -> Bench:
    return bench()


@pytest.fixture
def at_now() -> Iterator[None]:
    """The clock of the views stands at ``NOW``."""
    with time_machine.travel(NOW, tick=False):
        yield
