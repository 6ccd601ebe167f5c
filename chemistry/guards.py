"""What in the database itself keeps the ledger: triggers, their functions and constraints."""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib import import_module

from django.db import connection

from chemistry.models import Account, LedgerHead, Movement, Use

WRITTEN_IN = "chemistry.migrations.0002_ledger_guards"
TRIGGERS = {
    "movement_chain": ("chemistry_movement", "chemistry_movement_chain"),
    "movement_balance": ("chemistry_movement", "chemistry_movement_balance"),
    "movement_append_only": ("chemistry_movement", "chemistry_append_only"),
    "movement_no_truncate": ("chemistry_movement", "chemistry_append_only"),
    "use_append_only": ("chemistry_use", "chemistry_append_only"),
    "use_no_truncate": ("chemistry_use", "chemistry_append_only"),
    "account_identity": ("chemistry_account", "chemistry_account_identity"),
}
FUNCTION = re.compile(r"CREATE FUNCTION (\w+)\(.*?AS \$\$(.*?)\$\$", re.DOTALL)
FIRES = "O"
"""``tgenabled``: fires in ordinary sessions. Off is D, only on replicas R."""


def missing() -> Iterator[str]:
    """What is not there, not enabled, or not what it was written as."""
    yield from _triggers()
    yield from _functions()
    yield from _constraints()


def _triggers() -> Iterator[str]:
    found = {
        name: (table, function, enabled, definition)
        for name, table, function, enabled, definition in _rows(
            """
            SELECT t.tgname, c.relname, p.proname, t.tgenabled::text, pg_get_triggerdef(t.oid)
            FROM pg_trigger t
            JOIN pg_class c ON c.oid = t.tgrelid
            JOIN pg_proc p ON p.oid = t.tgfoid
            WHERE NOT t.tgisinternal AND c.relnamespace = current_schema()::regnamespace
            """
        )
    }
    for name, (table, function) in TRIGGERS.items():
        if name not in found or found[name][:2] != (table, function):
            yield f"The trigger {name} on {table} is missing."
            continue
        _, _, enabled, definition = found[name]
        if enabled != FIRES:
            yield f"The trigger {name} on {table} is switched off."
        if _plain(definition) not in _written_triggers():
            yield f"The trigger {name} on {table} is not the one that was written."


def _functions() -> Iterator[str]:
    written = dict(FUNCTION.findall(_written()))
    rows = _rows(
        """
        SELECT proname, prosrc FROM pg_proc
        WHERE pronamespace = current_schema()::regnamespace
        """
    )
    found = {row[0]: row[1] for row in rows}
    for name, source in written.items():
        if found.get(name) != source:
            yield f"The function {name} is not the one that was written."


def _constraints() -> Iterator[str]:
    valid = {
        (table, name)
        for table, name in _rows(
            """
            SELECT c.relname, k.conname FROM pg_constraint k
            JOIN pg_class c ON c.oid = k.conrelid
            WHERE k.convalidated AND c.relnamespace = current_schema()::regnamespace
            UNION
            SELECT c.relname, i.relname FROM pg_index x
            JOIN pg_class c ON c.oid = x.indrelid
            JOIN pg_class i ON i.oid = x.indexrelid
            WHERE x.indisunique AND x.indisvalid
              AND c.relnamespace = current_schema()::regnamespace
            """
        )
    }
    for model in (Account, Movement, Use, LedgerHead):
        for constraint in model._meta.constraints:
            if (model._meta.db_table, constraint.name) not in valid:
                yield f"The constraint {constraint.name} is missing."


def _written() -> str:
    statements: str = import_module(WRITTEN_IN).FUNCTIONS
    return statements


def _written_triggers() -> set[str]:
    found = re.findall(r"CREATE TRIGGER .*?;", _written(), re.DOTALL)
    return {_plain(statement.rstrip(";")) for statement in found}


def _plain(definition: str) -> str:
    """However PostgreSQL writes a trigger out: schema, order of events and blanks left aside."""
    words = re.sub(r"\b\w+\.(?=chemistry_)", "", definition).split()
    return " ".join(sorted(words))


def _rows(statement: str) -> list[tuple[str, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(statement)
        rows: list[tuple[str, ...]] = cursor.fetchall()
    return rows
