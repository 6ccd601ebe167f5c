from sessions.models.feeds import CalendarFeed
from sessions.models.notices import Notice
from sessions.models.runs import Run, RunBath
from sessions.models.sessions import Allotment, Hold, Phase, Session, SessionLine

__all__ = [
    "Allotment",
    "CalendarFeed",
    "Hold",
    "Notice",
    "Phase",
    "Run",
    "RunBath",
    "Session",
    "SessionLine",
]
