"""How much of the UV index comes from wavelengths that the sun does not send to the ground."""

from dataclasses import dataclass, replace

import numpy as np

from sim.analysis.maps import Maps
from sim.spectra.arrays import FloatArray
from sim.spectra.weighting import WEIGHTINGS
from sim.tally.result import Group
from sim.tally.statistics import resampled, t_factor

EDGE_NM = 298.0
"""End of the plateau of the erythema curve (CIE S 007/E:1998), about where the sun's light at the ground ends."""


@dataclass(frozen=True)
class Share:
    """A share, its standard error and the replicates behind it; the first two are NaN of no light at all."""

    value: float
    se: float
    replicates: int

    @property
    def half_width(self) -> float:
        """Half width of the 95 % interval."""
        return t_factor(self.replicates) * self.se


def _below_edge(wavelength_nm: FloatArray) -> FloatArray:
    return np.where(wavelength_nm < EDGE_NM, WEIGHTINGS["uvi"].function(wavelength_nm), 0.0)


UVI_BELOW_298 = replace(
    WEIGHTINGS["uvi"],
    name="uvi-below-298",
    title="UV index from below 298 nm",
    function=_below_edge,
    breakpoints_nm=(250.0, EDGE_NM),
    high_nm=EDGE_NM,
)
"""The part of the UV index below 298 nm. Where a band straddles the edge the lamp's own spectrum parts it."""


def share_below(maps: Maps, group: Group) -> Share:
    """Return the share of the UV index, over a group's area, that arrives below 298 nm.

    Parameters
    ----------
    maps : Maps
    group : Group
    """
    return ratio_share(maps.mean_of(group, UVI_BELOW_298), maps.mean_over(group, maps.uvi))


def ratio_share(part: FloatArray, whole: FloatArray) -> Share:
    """Return the share that a part has of a whole, from the replicates of both, (replicate,)."""
    if not whole.mean() > 0:
        return Share(float("nan"), float("nan"), len(whole))

    def ratio(mean: FloatArray) -> float:
        # A draw of dark replicates alone has no share; zero keeps it finite.
        return float(mean[0] / mean[1]) if mean[1] > 0 else 0.0

    return Share(*resampled(np.stack([part, whole], axis=1), ratio), len(whole))
