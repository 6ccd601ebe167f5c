"""Making a cluster and starting its server. Called under the data folder's lock only."""

from __future__ import annotations

import shlex
import shutil
import subprocess
import time
from pathlib import Path

from darkroom.embedded.account import Account, owner_of
from darkroom.embedded.binaries import usable_bin
from darkroom.embedded.errors import EmbeddedServerError
from darkroom.embedded.layout import DATABASE, PORT, SOCKET_NAME, USER, Layout
from darkroom.embedded.postmaster import is_alive, read_postmaster

START_LIMIT_S = 60.0
RETRY_S = 0.2

SETTINGS = {"listen_addresses": "", "max_connections": "200", "unix_socket_permissions": "0700"}
UNSAFE_BUT_FAST = {"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off"}


def start(layout: Layout, account: Account) -> None:
    """A server that is ready; several tries, for a killed one may still be letting go."""
    _must_enter(account, layout.data_dir)
    programs = usable_bin(account, layout.data_dir)
    if not layout.folder.exists():
        _make_cluster(layout, account, programs)
    _make_socket_folder(layout, account)
    until = time.monotonic() + START_LIMIT_S
    while not layout.is_up():
        postmaster = read_postmaster(layout.folder)
        is_gone = postmaster is None or not is_alive(postmaster.pid, layout.folder)
        # Two servers on one cluster would ruin it: whatever still listens is waited for.
        if is_gone and not layout.accepts():
            _remove_stale_locks(layout)
            _start_once(layout, account, programs)
        if time.monotonic() > until:
            raise EmbeddedServerError(f"The database does not start. See {layout.log}.")
        if not layout.is_up():
            time.sleep(RETRY_S)


def _must_enter(account: Account, folder: Path) -> None:
    if account.run(["test", "-x", folder]).returncode != 0:
        raise EmbeddedServerError(
            f"The account {account.name} that runs the database cannot enter {folder}. "
            "Set WETSIDE_DATA to a folder that everybody may enter, as /var/lib/wetside."
        )


def _make_cluster(layout: Layout, account: Account, programs: Path) -> None:
    """A new cluster with our empty database; it gets its name only when it is complete."""
    unfinished = layout.folder.with_name(layout.folder.name + ".new")
    shutil.rmtree(unfinished, ignore_errors=True)
    unfinished.mkdir(mode=0o700)
    account.own(unfinished)
    # A provider without a library: the same order of text on every machine, whatever its locale.
    locale = ["--locale=C", "--locale-provider=builtin", "--builtin-locale=C.UTF-8", "-E", "UTF8"]
    initdb: list[str | Path] = [
        programs / "initdb",
        "-D",
        unfinished,
        "-U",
        USER,
        "-A",
        "trust",
        *locale,
    ]
    if not layout.fsync:
        initdb.append("--no-sync")
    _must(account.run(initdb, stdin=subprocess.DEVNULL, capture_output=True))
    single: list[str | Path] = [programs / "postgres", "--single", "-D", unfinished, "postgres"]
    create = f"CREATE DATABASE {DATABASE}\n".encode()
    _must(account.run(single, input=create, capture_output=True))
    unfinished.rename(layout.folder)


def _must(answer: subprocess.CompletedProcess[bytes]) -> None:
    if answer.returncode != 0:
        lines = answer.stderr.decode(errors="replace").strip().splitlines() or ["no reason given"]
        raise EmbeddedServerError(f"The database could not be made: {lines[-1]}")


def _make_socket_folder(layout: Layout, account: Account) -> None:
    folder = layout.socket_dir
    if folder == layout.folder:
        return
    try:
        folder.mkdir(mode=0o700)
        account.own(folder)
    except FileExistsError:
        if folder.is_symlink() or folder.stat().st_uid != account.uid:
            raise EmbeddedServerError(
                f"{folder} belongs to {owner_of(folder)}, not to {account.name}: remove it, or "
                "set WETSIDE_DATA to a shorter path."
            ) from None


def _remove_stale_locks(layout: Layout) -> None:
    """PostgreSQL believes in any living process of that number, a zombie or a stranger too."""
    (layout.folder / "postmaster.pid").unlink(missing_ok=True)
    (layout.socket_dir / f"{SOCKET_NAME}.lock").unlink(missing_ok=True)


def _start_once(layout: Layout, account: Account, programs: Path) -> None:
    settings = SETTINGS | {"unix_socket_directories": str(layout.socket_dir), "port": str(PORT)}
    if not layout.fsync:
        settings |= UNSAFE_BUT_FAST
    options = " ".join(f"-c {shlex.quote(f'{name}={value}')}" for name, value in settings.items())
    command: list[str | Path] = [
        programs / "pg_ctl",
        "start",
        "-D",
        layout.folder,
        "-l",
        layout.log,
        "-w",
        "-s",
    ]
    # Never a pipe: the server inherits it, and whoever reads it would wait for ever.
    silent = dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.DEVNULL)
    account.run([*command, "-t", str(int(START_LIMIT_S)), "-o", options], **silent)
