from django.db.utils import OperationalError


class EmbeddedServerError(OperationalError):
    """The embedded server cannot be used, said in one line with what to do about it."""
