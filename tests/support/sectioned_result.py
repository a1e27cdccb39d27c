"""A synthetic result with a section."""

import numpy as np

from sim.tally.result import Result
from tests.support.synthetic_result import Patch, make_result, terrarium_patches, tube_field


def sectioned(strength: float = 0.8) -> Result:
    """Return the result of the terrarium with an upright section through its tube."""
    heights = np.arange(12) * 0.05 + 0.025
    strips = [
        Patch(
            "section",
            f"section {row}",
            (0.0, 0.28, z),
            (1.2, 0, 0),
            (0, 0.04, 0),
            (24, 1),
            {"section": "y=0.3000", "axis": 1, "at": 0.3, "row": row, "step": 0.05},
        )
        for row, z in enumerate(heights)
    ]
    return make_result([*terrarium_patches(), *strips], tube_field(strength))
