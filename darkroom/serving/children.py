"""The processes that ``up`` keeps running: started again when they fall, ended when it ends."""

from __future__ import annotations

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

LIBC = ctypes.CDLL(None)
PR_SET_PDEATHSIG = 1
FIRST_PAUSE_S, LONGEST_PAUSE_S, STEADY_S = 1.0, 60.0, 60.0
END_LIMIT_S = 0.5
POLL_S = 0.02
MANAGE = str(Path(__file__).resolve().parents[2] / "manage.py")


@dataclass
class Child:
    name: str
    command: Sequence[str]
    pass_fds: Sequence[int] = ()
    says_to: Path | None = None
    process: subprocess.Popen[bytes] | None = field(default=None, init=False)
    pause_s: float = field(default=FIRST_PAUSE_S, init=False)
    started_at_s: float = field(default=0.0, init=False)
    start_again_at_s: float = field(default=0.0, init=False)

    def start(self) -> None:
        parent = os.getpid()
        self.started_at_s = time.monotonic()
        with self._output() as output:
            self.process = subprocess.Popen(  # noqa: S603 - our own programs, no shell
                self.command,
                stdin=subprocess.DEVNULL,
                stdout=output,
                pass_fds=self.pass_fds,
                # A group of its own: it can be ended together with the processes it starts.
                process_group=0,
                preexec_fn=lambda: _end_with(parent),
            )

    def _output(self) -> AbstractContextManager[IO[bytes] | None]:
        if self.says_to is None:
            return contextlib.nullcontext()
        return open(self.says_to, "ab", opener=lambda name, flags: os.open(name, flags, 0o600))

    def look_after(self) -> None:
        """Start it again if it fell, after a pause that doubles while it keeps falling."""
        now_s = time.monotonic()
        if self.process is None:
            if now_s >= self.start_again_at_s:
                self.start()
            return
        if self.process.poll() is None:
            return
        if now_s - self.started_at_s > STEADY_S:
            self.pause_s = FIRST_PAUSE_S
        status, self.process = self.process.returncode, None
        print(f"The {self.name} ended ({status}); again in {self.pause_s:g} s.", file=sys.stderr)
        self.start_again_at_s = now_s + self.pause_s
        self.pause_s = min(self.pause_s * 2, LONGEST_PAUSE_S)

    def ask_to_end(self) -> None:
        if self.process is not None:
            self.process.terminate()

    def make_end(self) -> None:
        """End it and whatever it started; nothing happens where all of it is gone already."""
        if self.process is not None:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()


def end(children: Sequence[Child]) -> None:
    """Ask all to end, and make those end that do not."""
    for child in children:
        child.ask_to_end()
    until = time.monotonic() + END_LIMIT_S
    while any(_is_running(child) for child in children) and time.monotonic() < until:
        time.sleep(POLL_S)
    for child in children:
        child.make_end()


def web(descriptor: int, workers: int = 2) -> Child:
    command = [sys.executable, "-m", "gunicorn", "darkroom.wsgi:application"]
    command += ["--bind", f"fd://{descriptor}", "--workers", str(workers)]
    command += ["--worker-class", "gthread", "--threads", "4", "--graceful-timeout", "1"]
    command += ["--log-level", "warning", "--no-control-socket"]
    command += ["--chdir", str(Path(MANAGE).parent)]
    return Child("web server", command, pass_fds=(descriptor,))


def worker(letters: Path | None) -> Child:
    """The task worker; where letters are only printed, they are printed into a file."""
    command = [sys.executable, MANAGE, "procrastinate", "worker"]
    command += ["--delete-jobs", "successful", "--shutdown-graceful-timeout", "0.3"]
    return Child("task worker", command, says_to=letters)


def _is_running(child: Child) -> bool:
    return child.process is not None and child.process.poll() is None


def _end_with(parent: int) -> None:
    """Have the kernel end this process when its parent is gone, though it was killed outright."""
    LIBC.prctl(PR_SET_PDEATHSIG, signal.SIGTERM)
    for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
        signal.signal(number, signal.SIG_DFL)
    if os.getppid() != parent:
        os._exit(0)
