"""Settings that every test shares."""

from hypothesis import settings

# Fixed examples, as every random test here has a fixed seed.
# No deadline: the first call of a kernel compiles it.
settings.register_profile("vivray", derandomize=True, deadline=None)
settings.load_profile("vivray")
