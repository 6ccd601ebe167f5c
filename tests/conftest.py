from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from django.db import connection
from django.test import Client

from darkroom.models import Member, Role
from tests import server

PASSWORD = "silver halide 4x5"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--oracles",
        metavar="FILE",
        action="append",
        default=[],
        help="also check the published figures in this TOML file (may be given more than once)",
    )


def pytest_configure(config: pytest.Config) -> None:
    if not hasattr(config, "workerinput"):
        server.open_run()


def pytest_unconfigure(config: pytest.Config) -> None:
    if not hasattr(config, "workerinput"):
        server.close_run()


ELSEWHERE = """
SELECT pg_terminate_backend(pid) FROM pg_stat_activity
WHERE datname = current_database() AND pid <> pg_backend_pid()
"""


@pytest.fixture(scope="session")
def django_db_setup(
    django_db_setup: None, django_db_blocker: pytest.FixtureRequest
) -> Iterator[None]:
    """Let transactional tests empty the ledger; every other guard of it stays.

    At the end the database is dropped, which no connection may hinder that the browser's server
    or its threads still keep.
    """
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(
            """
            SELECT tgrelid::regclass::text, tgname FROM pg_trigger
            WHERE tgrelid IN (to_regclass('chemistry_movement'), to_regclass('chemistry_use'))
              AND NOT tgisinternal AND (tgtype & 32) <> 0
            """
        )
        for table, name in cursor.fetchall():
            cursor.execute(f'ALTER TABLE {table} DISABLE TRIGGER "{name}"')
    yield
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(ELSEWHERE)


def _member(name: str, role: Role) -> Member:
    return Member.objects.create_member(
        email=f"{name.lower()}@house.example", name=name, role=role, password=PASSWORD
    )


@pytest.fixture
def ada(db: None) -> Member:
    return _member("Ada", Role.MEMBER)


@pytest.fixture
def ben(db: None) -> Member:
    return _member("Ben", Role.STEWARD)


@pytest.fixture
def cyd(db: None) -> Member:
    return _member("Cyd", Role.MEMBER)


@pytest.fixture
def aud(db: None) -> Member:
    return _member("Aud", Role.AUDITOR)


@pytest.fixture
def adm(db: None) -> Member:
    return _member("Adm", Role.ADMINISTRATOR)


@pytest.fixture
def signed_in() -> Callable[[Member], Client]:
    """A browser in which this member is signed in."""

    def sign_in(member: Member) -> Client:
        client = Client()
        client.force_login(member)
        return client

    return sign_in


@pytest.fixture
def ada_client(ada: Member, signed_in: Callable[[Member], Client]) -> Client:
    return signed_in(ada)


@pytest.fixture
def ben_client(ben: Member, signed_in: Callable[[Member], Client]) -> Client:
    return signed_in(ben)


@pytest.fixture
def cyd_client(cyd: Member, signed_in: Callable[[Member], Client]) -> Client:
    return signed_in(cyd)


@pytest.fixture
def aud_client(aud: Member, signed_in: Callable[[Member], Client]) -> Client:
    return signed_in(aud)


@pytest.fixture
def adm_client(adm: Member, signed_in: Callable[[Member], Client]) -> Client:
    return signed_in(adm)
