"""Making up a bottle."""

from tests.factories.chemistry import mixed_batch


def test_bottle_is_full_to_the_mark(ben):
    batch = mixed_batch(by=ben)
    assert batch.account.balance == 1_000_000
