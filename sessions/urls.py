from django.urls import path

from chemistry import codes  # noqa: F401 (knows the converter of codes)
from sessions.views import (
    calendars,
    checks,
    equipment,
    inductions,
    maintenance,
    notices,
    plan,
    runs,
    shelf,
    today,
    visit,
    visits,
)

app_name = "sessions"
urlpatterns = [
    path("", today.today, name="today"),
    path("plan/", plan.plan, name="plan"),
    path("plan/book/", plan.book, name="book"),
    path("sessions/", visits.visits, name="visits"),
    path("sessions/<uuid:code>/move/", visits.move, name="visit-move"),
    path("sessions/<uuid:code>/cancel/", visits.cancel, name="visit-cancel"),
    path("calendars/", calendars.calendars, name="calendars"),
    path("calendars/make/", calendars.calendar_make, name="calendar-make"),
    path("calendars/<int:pk>/end/", calendars.calendar_end, name="calendar-end"),
    path("calendars/<str:token>.ics", calendars.calendar_feed, name="calendar-feed"),
    path("equipment/", equipment.equipment, name="equipment"),
    path(
        "equipment/maintenance/<int:pk>/end/", maintenance.maintenance_end, name="maintenance-end"
    ),
    path("equipment/<path:code>/out/", maintenance.equipment_out, name="equipment-out"),
    path("equipment/<path:code>/back/", maintenance.equipment_back, name="equipment-back"),
    path("equipment/<path:code>/", equipment.equipment_item, name="equipment-item"),
    path("sessions/<uuid:code>/", visit.visit, name="visit"),
    path("sessions/<uuid:code>/bottles/", visits.fetch, name="visit-bottles"),
    path("sessions/<uuid:code>/end/", visit.visit_end, name="visit-end"),
    path("sessions/<uuid:code>/record/", runs.record, name="record"),
    path("record/", runs.record_loose, name="record-loose"),
    path("runs/<uuid:code>/", runs.run, name="run"),
    path("runs/<uuid:code>/void/", runs.run_void, name="run-void"),
    path("shelf/", shelf.shelf, name="shelf"),
    path("shelf/<code:code>/", shelf.batch, name="batch"),
    path("checks/", checks.checks, name="checks"),
    path("checks/<slug:code>/mark/", checks.check_mark, name="check-mark"),
    path("inductions/", inductions.inductions, name="inductions"),
    path("inductions/person/<int:pk>/", inductions.person, name="induction-person"),
    path("inductions/given/<int:pk>/renew/", inductions.renew, name="induction-renew"),
    path("inductions/given/<int:pk>/withdraw/", inductions.withdraw, name="induction-withdraw"),
    path("inductions/<slug:code>/", inductions.topic, name="induction-topic"),
    path("notices/", notices.notices, name="notices"),
    path("notices/seen/", notices.notices_seen, name="notices-seen"),
    path("notices/<int:pk>/seen/", notices.notice_seen, name="notice-seen"),
]
