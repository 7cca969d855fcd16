"""Settings of the random tests: the same examples every time; `--hypothesis-profile long` for more.

Random examples may take any time; a test never looks at a clock.
"""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "fixed",
    max_examples=50,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile(
    "long", parent=settings.get_profile("fixed"), max_examples=1000, derandomize=False
)
settings.register_profile("short", parent=settings.get_profile("fixed"), max_examples=8)
settings.load_profile("fixed")
