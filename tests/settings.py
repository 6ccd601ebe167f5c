"""The house's settings on a database server of this test run's own, thrown away at its end."""

import os
from pathlib import Path

from darkroom.settings import *  # noqa: F403
from darkroom.settings import DATA_DIR, DATABASES, STORAGES

# xdist's workers are children: they inherit the folder that their controller chose.
RUN_DIR = Path(
    os.environ.setdefault("WETSIDE_TEST_RUN", str(DATA_DIR / "tests" / f"{os.getpid()}"))
)
if DATABASES["default"]["ENGINE"] == "darkroom.embedded":
    DATABASES["default"] |= {"DATA_DIR": str(RUN_DIR), "FSYNC": False}

DATA_DIR = RUN_DIR
STATIC_ROOT = RUN_DIR / "static"
STORAGES = STORAGES | {
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
# Nothing is collected for a test; looked up per request, the folder need not be there.
WHITENOISE_AUTOREFRESH = True
