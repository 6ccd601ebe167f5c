from django.apps import AppConfig


class SessionsConfig(AppConfig):
    """``sessions`` is the label of Django's own sessions, so ours is ``bookings``."""

    name = "sessions"
    label = "bookings"
    verbose_name = "Bookings"

    def ready(self) -> None:
        # Models can be imported only once all apps are loaded.
        from chemistry import changes
        from sessions import alerts

        changes.register(alerts.batches_changed)
