"""What a material makes of a given light that arrives along its normal."""

from dataclasses import dataclass

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.materials.law import Law, law_components
from sim.spectra.spectrum import Spectrum
from sim.spectra.weighting import Weighting

STEP_NM = 0.25
"""Width of the bands in which a law acts by its mean; what that leaves out falls with the square of the width."""


@dataclass(frozen=True)
class UnderLight:
    """Amounts of weighted light, in the unit of the weighting for light given in W/m2.

    Attributes
    ----------
    arrives, returned, passed : float
    """

    arrives: float
    returned: float
    passed: float


def under_light(law: Law, light: Spectrum, weighting: Weighting, low_nm: float, high_nm: float) -> UnderLight:
    """Return how much of a light arrives on a material along its normal, comes back and passes, weighted.

    Parameters
    ----------
    law : Law
    light : Spectrum [W/m2]
        Of the light that arrives.
    weighting : Weighting
        Such as that of the UV index.
    low_nm, high_nm : float [nm]
        Wavelengths over which to add up.
    """
    edges = np.linspace(low_nm, high_nm, 1 + round((high_nm - low_nm) / STEP_NM))
    breaks = law_components(law, edges).wavelength_breaks

    def shares(wavelength_nm: FloatArray) -> FloatArray:
        return np.stack(law_components(law, np.asarray(wavelength_nm)).at_normal(), axis=-1)

    arrives = weighting.scale * light.band_weighted(weighting, edges)
    returned, passed = arrives @ light.band_mean(shares, breaks, edges)
    return UnderLight(float(arrives.sum()), float(returned), float(passed))
