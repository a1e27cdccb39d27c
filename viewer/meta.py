"""What a file that leaves the program says of itself: where its numbers come from, and what they are."""

from typing import Any

from sim.analysis.selection import Selection
from sim.report.cautions import SHORT
from sim.report.wording import QUANTITIES
from sim.spectra.weighting import WEIGHTINGS

EXPORTED = ("uvi", *QUANTITIES)
"""Quantities that go into every file of numbers."""


def provenance(shown: Selection) -> dict[str, Any]:
    """Return origin, lamps and units of a result's numbers, as plain JSON values.

    Parameters
    ----------
    shown : Selection
    """
    meta = shown.result.meta
    levels = shown.levels or (1.0,) * len(shown.result.lamps)
    return {
        "program": "vivray",
        "version": meta.version,
        "title": meta.title,
        "scene": meta.scene,
        "digest": meta.digest,
        "seed": meta.seed,
        "histories": meta.histories,
        "replicates": meta.replicates,
        "lamp_levels": {lamp.name: level for lamp, level in zip(shown.result.lamps, levels, strict=True)},
        "quantity": shown.quantity,
        "units": {name: WEIGHTINGS[name].unit or "1" for name in dict.fromkeys((shown.quantity, *EXPORTED))},
        "length_unit": "m",
        "error": "standard error, one sigma",
        "caution": SHORT,
    }
