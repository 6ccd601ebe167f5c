"""How the properties are searched."""

import os

from hypothesis import settings

# A busy machine is not a fault of the sums, so that no example has a deadline.
settings.register_profile("sums", deadline=None, derandomize=bool(os.environ.get("CI")))
settings.load_profile("sums")
