"""One ``up`` for one data folder; a second one finds out where the first one serves."""

from __future__ import annotations

import fcntl
import json
import os
import time
from dataclasses import asdict, dataclass
from pathlib import Path

ADDRESS_LIMIT_S = 20.0
POLL_S = 0.05


@dataclass(frozen=True)
class Serving:
    address: str
    is_demo: bool


class Claim:
    """The lock on a data folder, held until the process ends, however it ends."""

    def __init__(self, data_dir: Path) -> None:
        data_dir.mkdir(parents=True, exist_ok=True)
        self.path = data_dir / "up.lock"
        self._descriptor = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o600)

    def take(self) -> bool:
        try:
            fcntl.flock(self._descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        os.ftruncate(self._descriptor, 0)
        return True

    def tell(self, serving: Serving) -> None:
        os.pwrite(self._descriptor, json.dumps(asdict(serving)).encode(), 0)

    def ask(self) -> Serving | None:
        """Where the holder serves; waits a little, for it may only just have begun."""
        until = time.monotonic() + ADDRESS_LIMIT_S
        while time.monotonic() < until:
            told = self.path.read_bytes()
            if told:
                return Serving(**json.loads(told))
            time.sleep(POLL_S)
        return None

    def release(self) -> None:
        os.ftruncate(self._descriptor, 0)
        os.close(self._descriptor)
