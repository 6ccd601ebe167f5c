"""What every operation shares: one transaction, one retry, and an answer given only once."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec, TypeVar
from uuid import UUID

from django.db import OperationalError, transaction

from darkroom.errors import DomainError
from darkroom.models import Member, Receipt

P = ParamSpec("P")
T = TypeVar("T")

DEADLOCK_DETECTED = "40P01"
SERIALIZATION_FAILURE = "40001"


def operation(func: Callable[P, T]) -> Callable[P, T]:
    """Run ``func`` as one durable transaction, once more if the database ended it for a deadlock.

    Operations never call operations: the outermost transaction is the only one there is.
    """

    @wraps(func)
    def run(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            return attempt(*args, **kwargs)
        except OperationalError as error:
            if getattr(error.__cause__, "sqlstate", None) not in {
                DEADLOCK_DETECTED,
                SERIALIZATION_FAILURE,
            }:
                raise
        return attempt(*args, **kwargs)

    def attempt(*args: P.args, **kwargs: P.kwargs) -> T:
        with transaction.atomic(durable=True):
            return func(*args, **kwargs)

    return run


class AlreadySent(DomainError):
    """The same form key came again with other figures."""

    code = "already_sent"
    status = 409


def claim_receipt(member: Member, key: UUID, name: str, figures: Any) -> Receipt:
    """The receipt for this form key; its ``result`` is set when the work was done before.

    Must be the first statement of an operation: a second sender waits here until the first is
    through, then reads its answer.
    """
    digest = hashlib.sha256(json.dumps(figures, sort_keys=True, default=str).encode()).hexdigest()
    Receipt.objects.bulk_create(
        [Receipt(member=member, key=key, operation=name, digest=digest)], ignore_conflicts=True
    )
    receipt = Receipt.objects.select_for_update(no_key=True).get(member=member, key=key)
    if (receipt.operation, receipt.digest) != (name, digest):
        raise AlreadySent(
            "This form was already sent with other figures. Nothing new was recorded; "
            "check what stands there, then enter it again as new if it is."
        )
    return receipt
