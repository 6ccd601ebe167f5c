from django.apps import AppConfig


class SessionsConfig(AppConfig):
    """``sessions`` is the label of Django's own sessions, so ours is ``bookings``."""

    name = "sessions"
    label = "bookings"
    verbose_name = "Bookings"
