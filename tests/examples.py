"""Examples of a property test over the database: each in a block that is rolled back."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import transaction


@contextmanager
def rolled_back() -> Iterator[None]:
    """A transaction that leaves nothing behind and in which operations may run.

    Marked as Django's own test case marks its block, or durable operations would refuse.
    """
    block = transaction.atomic()
    block._from_testcase = True
    with block:
        yield
        transaction.set_rollback(True)
