from django.urls import path

from sessions.views import notices, runs, shelf, today, visit

app_name = "sessions"
urlpatterns = [
    path("", today.today, name="today"),
    path("sessions/<uuid:code>/", visit.visit, name="visit"),
    path("sessions/<uuid:code>/record/", runs.record, name="record"),
    path("record/", runs.record_loose, name="record-loose"),
    path("runs/<uuid:code>/", runs.run, name="run"),
    path("runs/<uuid:code>/void/", runs.run_void, name="run-void"),
    path("shelf/", shelf.shelf, name="shelf"),
    path("shelf/<str:code>/", shelf.batch, name="batch"),
    path("notices/", notices.notices, name="notices"),
    path("notices/seen/", notices.notices_seen, name="notices-seen"),
    path("notices/<int:pk>/seen/", notices.notice_seen, name="notice-seen"),
]
