"""Settings that every test shares."""

import os

from hypothesis import settings

from sim.lamps import tube
from sim.lamps.lamp import SIDES
from tests.support.sizes import sized

# Fixed examples, as every random test here has a fixed seed.
# No deadline: the first call of a kernel compiles it.
settings.register_profile("vivray", derandomize=True, deadline=None)
settings.load_profile("vivray")

# Pictures take seconds each, and most tests look at other things; those that want them say so.
os.environ["VIVRAY_NO_PICTURES"] = "1"

# Plain Python looks at every side of a tube, and a third as many show as much.
setattr(tube, "SIDES", sized(SIDES, 64))  # noqa: B010  # a constant to all others
