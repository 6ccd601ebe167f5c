from sessions.models.faults import Fault
from sessions.models.feeds import CalendarFeed
from sessions.models.heat import HeatConstant
from sessions.models.maintenance import Maintenance
from sessions.models.notices import Notice
from sessions.models.runs import Run, RunBath
from sessions.models.sessions import Allotment, Hold, Phase, Session, SessionLine

__all__ = [
    "Allotment",
    "CalendarFeed",
    "Fault",
    "HeatConstant",
    "Hold",
    "Maintenance",
    "Notice",
    "Phase",
    "Run",
    "RunBath",
    "Session",
    "SessionLine",
]
