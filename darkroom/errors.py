"""Refusals that a person should read. Everything else that goes wrong is a bug and raises."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from django.db import IntegrityError


class DomainError(Exception):
    """A refusal with a stable code, a sentence for the user and the facts behind it.

    ``field`` names the form field to show the sentence beside, where there is one.
    ``status`` is the HTTP status of a page that answers with this refusal.
    """

    code = "refused"
    status = 422

    def __init__(self, message: str, *, field: str | None = None, **facts: Any) -> None:
        super().__init__(message)
        self.message = message
        self.field = field
        self.facts = facts

    def __str__(self) -> str:
        return self.message


class NotAllowed(DomainError):
    """The member's role does not reach that far."""

    code = "not_allowed"
    status = 403


@contextmanager
def translate_integrity(refusals: Mapping[str, DomainError]) -> Iterator[None]:
    """Turn the violation of a named constraint into our own refusal."""
    try:
        yield
    except IntegrityError as error:
        name = getattr(getattr(error.__cause__, "diag", None), "constraint_name", None) or ""
        if name in refusals:
            raise refusals[name] from error
        raise
