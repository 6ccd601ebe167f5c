"""Where everything of one embedded cluster lies, and whether its server answers."""

from __future__ import annotations

import hashlib
import os
import socket
from dataclasses import dataclass
from pathlib import Path

from darkroom.embedded.postmaster import read_postmaster

MAJOR = 18
USER = "wetside"
DATABASE = "wetside"
PORT = 5432
SOCKET_NAME = f".s.PGSQL.{PORT}"
SOCKET_PATH_BYTES = 107


@dataclass(frozen=True)
class Layout:
    """The folder carries the major version: a new server does not start on an old one's data."""

    data_dir: Path
    fsync: bool = True

    @property
    def folder(self) -> Path:
        return self.data_dir / f"pg{MAJOR}"

    @property
    def log(self) -> Path:
        return self.folder / "server.log"

    @property
    def lock(self) -> Path:
        return self.data_dir / "database.lock"

    @property
    def socket_dir(self) -> Path:
        """The cluster's folder, or a short one where the system cannot take so long a path."""
        if len(os.fsencode(self.folder / SOCKET_NAME)) <= SOCKET_PATH_BYTES:
            return self.folder
        name = hashlib.sha256(os.fsencode(self.folder)).hexdigest()[:16]
        return Path("/tmp", f"wetside-{name}")  # noqa: S108 - made 0700, its owner is checked

    def is_up(self) -> bool:
        """Ready and answering. A socket that accepts is not enough: recovery may still run."""
        postmaster = read_postmaster(self.folder)
        return postmaster is not None and postmaster.is_ready and self.accepts()

    def accepts(self) -> bool:
        """Whether some server listens, be it one whose process is out of sight."""
        with socket.socket(socket.AF_UNIX) as probe:
            try:
                probe.connect(str(self.socket_dir / SOCKET_NAME))
            except (FileNotFoundError, ConnectionRefusedError):
                return False
            return True
