"""The house's settings, with one bare page more to compare with."""

from darkroom.settings import *  # noqa: F403

ROOT_URLCONF = "tests.benchmarks.urls"
EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"
