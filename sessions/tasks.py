"""What the worker does by the clock. Each task may run late or twice without harm."""

from django.utils import timezone
from procrastinate.contrib.django import app

from sessions import alerts, mail, reminding


@app.periodic(cron="* * * * *")
@app.task(queueing_lock="notices", name="sessions.send_notices")
def send_notices(timestamp: int) -> None:
    mail.send_due(at=timezone.now())


@app.periodic(cron="*/5 * * * *")
@app.task(queueing_lock="lookout", name="sessions.look_out")
def look_out(timestamp: int) -> None:
    """Find what the clock or others changed: bottles, sessions, inductions, company."""
    now = timezone.now()
    alerts.out_of_date(at=now)
    alerts.overdue(at=now)
    reminding.inductions(at=now)
    reminding.sessions_lacking(at=now)
    reminding.sessions_alone(at=now)
    reminding.companions(at=now)
