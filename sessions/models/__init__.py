from sessions.models.notices import Notice
from sessions.models.runs import Run, RunBath
from sessions.models.sessions import Allotment, Hold, Phase, Session, SessionLine

__all__ = [
    "Allotment",
    "Hold",
    "Notice",
    "Phase",
    "Run",
    "RunBath",
    "Session",
    "SessionLine",
]
