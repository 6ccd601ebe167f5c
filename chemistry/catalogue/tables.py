"""Reading one table of a data file: every key is asked for, checked, and none may be left over."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from decimal import Decimal
from typing import Any

from chemistry.catalogue.schema import CatalogueFault


class Table:
    """A TOML table that knows where it stands, for messages that say so."""

    def __init__(self, values: Mapping[str, Any], where: str) -> None:
        self.where = where
        self._left = dict(values)

    def text(self, key: str, default: str | None = None) -> str:
        value = self._take(key, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self.fault(f"{key} must be a text")
        return value.strip()

    def choice(self, key: str, known: Collection[str], default: str | None = None) -> str:
        value = self._take(key, default)
        if value not in known and value != default:
            raise self.fault(f"{key} is {value!r}, not one of {', '.join(sorted(known))}")
        return str(value)

    def choices(self, key: str, known: Collection[str]) -> tuple[str, ...]:
        found = tuple(self.items(key))
        if unknown := [value for value in found if value not in known]:
            raise self.fault(f"{key} has {unknown[0]!r}, not one of {', '.join(sorted(known))}")
        if len(set(found)) < len(found):
            raise self.fault(f"{key} says something twice")
        return found

    def number(self, key: str) -> Decimal:
        value = self.number_or_none(key)
        if value is None:
            raise self.fault(f"{key} is missing")
        return value

    def number_or_none(self, key: str) -> Decimal | None:
        value = self._left.pop(key, None)
        if value is None:
            return None
        return as_decimal(value, f"{self.where}, {key}")

    def flag(self, key: str, *, default: bool) -> bool:
        value = self._left.pop(key, default)
        if not isinstance(value, bool):
            raise self.fault(f"{key} must be true or false")
        return value

    def table(self, key: str) -> Table:
        found = self._left.pop(key, None)
        if not isinstance(found, dict):
            raise self.fault(f"{key} must be a table")
        return Table(found, f"{self.where}, {key}")

    def rows(self, key: str) -> list[Table]:
        found = self._left.pop(key, [])
        if not isinstance(found, list):
            raise self.fault(f"{key} must be a list of tables")
        return [Table(row, f"{self.where}, {key} {n}") for n, row in enumerate(found, start=1)]

    def items(self, key: str) -> list[Any]:
        found = self._left.pop(key, [])
        if not isinstance(found, list):
            raise self.fault(f"{key} must be a list")
        return found

    def done(self) -> None:
        if self._left:
            raise self.fault(f"unknown: {', '.join(sorted(self._left))}")

    def fault(self, what: str) -> CatalogueFault:
        return CatalogueFault(self.where, what)

    def _take(self, key: str, default: str | None) -> Any:
        if key in self._left:
            return self._left.pop(key)
        if default is None:
            raise self.fault(f"{key} is missing")
        return default


def as_decimal(value: object, where: str) -> Decimal:
    """A number of a data file, exactly as it is written there."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        raise CatalogueFault(where, f"{value!r} is no number")
    return Decimal(value)
