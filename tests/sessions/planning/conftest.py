import os

from hypothesis import HealthCheck, settings

# A busy machine is not a fault of the sums, so that neither an example nor its making has a limit.
settings.register_profile(
    "planning",
    deadline=None,
    derandomize=bool(os.environ.get("CI")),
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("planning")
