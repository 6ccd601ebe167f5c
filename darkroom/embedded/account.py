"""Who runs the server: PostgreSQL refuses to run as root, so root lends it another account."""

from __future__ import annotations

import os
import pwd
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from darkroom.embedded.errors import EmbeddedServerError

LENT_ACCOUNTS = ("postgres", "embedded_postgres", "nobody")


@dataclass(frozen=True)
class Account:
    name: str
    uid: int
    gid: int
    is_lent: bool

    def run(
        self, command: Sequence[str | Path], **options: Any
    ) -> subprocess.CompletedProcess[Any]:
        """Run a command as this account, with its group only and none of root's."""
        if self.is_lent:
            options |= {"user": self.uid, "group": self.gid, "extra_groups": []}
        # A plain environment: the server must not depend on the caller's locale or PG variables.
        environment = {"PATH": "/usr/bin:/bin", "LC_ALL": "C", "HOME": "/", "TZ": "UTC"}
        return subprocess.run(  # noqa: S603 - our own programs, no shell
            [str(word) for word in command], cwd="/", env=environment, check=False, **options
        )

    def own(self, path: Path) -> None:
        if self.is_lent:
            os.chown(path, self.uid, self.gid)


def server_account(cluster: Path) -> Account:
    """Whoever owns the cluster, if root asks; a lent account for a new one; else ourselves."""
    uid = os.geteuid()
    if uid != 0:
        return Account(_name_of(uid), uid, os.getegid(), is_lent=False)
    if cluster.exists() and cluster.stat().st_uid != 0:
        status = cluster.stat()
        return Account(_name_of(status.st_uid), status.st_uid, status.st_gid, is_lent=True)
    for name in LENT_ACCOUNTS:
        try:
            entry = pwd.getpwnam(name)
        except KeyError:
            continue
        return Account(name, entry.pw_uid, entry.pw_gid, is_lent=True)
    raise EmbeddedServerError(
        "PostgreSQL does not run as root and none of the accounts "
        f"{', '.join(LENT_ACCOUNTS)} exists. Run as an ordinary user, or set DATABASE_URL."
    )


def owner_of(path: Path) -> str:
    return _name_of(path.stat().st_uid)


def _name_of(uid: int) -> str:
    try:
        return pwd.getpwuid(uid).pw_name
    except KeyError:
        return str(uid)
