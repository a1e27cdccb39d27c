"""Settings that every test shares."""

import os

from hypothesis import settings

# Fixed examples, as every random test here has a fixed seed.
# No deadline: the first call of a kernel compiles it.
settings.register_profile("vivray", derandomize=True, deadline=None)
settings.load_profile("vivray")

# Pictures take seconds each, and most tests look at other things; those that want them say so.
os.environ["VIVRAY_NO_PICTURES"] = "1"
