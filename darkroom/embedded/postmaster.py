"""What the lock file of a PostgreSQL says, and whether it still tells the truth."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

PID_LINE, STATUS_LINE = 0, 7


@dataclass(frozen=True)
class Postmaster:
    """``postmaster.pid`` as read: it stays behind when its server is killed."""

    pid: int
    status: str

    @property
    def is_ready(self) -> bool:
        return self.status == "ready"


def read_postmaster(cluster: Path) -> Postmaster | None:
    try:
        lines = (cluster / "postmaster.pid").read_text(encoding="ascii").splitlines()
    except FileNotFoundError:
        return None
    try:
        pid = abs(int(lines[PID_LINE]))
    except (IndexError, ValueError):
        return None
    # While it starts or recovers the line says so: a socket that accepts is not enough.
    return Postmaster(pid, lines[STATUS_LINE].strip() if len(lines) > STATUS_LINE else "")


def is_alive(pid: int, cluster: Path) -> bool:
    """Whether ``pid`` is a living server of this very cluster, not a zombie or somebody else."""
    process = Path("/proc", str(pid))
    try:
        stat = (process / "stat").read_text(encoding="utf-8", errors="replace")
        name, _, rest = stat.partition("(")[2].rpartition(")")
        if name != "postgres" or rest.split()[0] in {"Z", "X"}:
            return False
        return (process / "cwd").resolve(strict=True) == cluster.resolve()
    except (FileNotFoundError, ProcessLookupError, PermissionError):
        return False
