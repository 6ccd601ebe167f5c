from __future__ import annotations

import signal
from types import FrameType

ENDING = (signal.SIGTERM, signal.SIGINT, signal.SIGHUP)


class Ending(BaseException):
    """Somebody asked this process to end. Not an ``Exception``: nobody may carry on after it."""


def end_on_signals() -> None:
    for number in ENDING:
        signal.signal(number, _raise)


def ignore_signals() -> None:
    """While everything ends there is nothing more to ask for."""
    for number in ENDING:
        signal.signal(number, signal.SIG_IGN)


def _raise(number: int, frame: FrameType | None) -> None:
    raise Ending
