"""What of the light that meets a law goes on: for checks before any tracing."""

import numpy as np

from sim.geometry.mesh import FloatArray
from sim.materials.components import Components
from sim.materials.curve import curve_at, curve_breaks
from sim.materials.law import Law, Leaf, Sheet, law_components
from sim.materials.screen import Screen
from sim.screens.wires import matt_shares

SAMPLES = 31
"""Wavelengths at which laws are looked at."""


def sample_wavelengths(span_nm: tuple[float, float]) -> FloatArray:
    """Return wavelengths spread over a range, ends included, (SAMPLES,) [nm]."""
    return np.linspace(*span_nm, SAMPLES)


def lets_through(law: Law) -> bool:
    """Return whether light can get through a surface of this law."""
    if isinstance(law, Leaf):
        return bool(np.any(curve_at(law.transmittance, np.array(curve_breaks(law.transmittance) or (0.0,))) > 0.0))
    return isinstance(law, Screen | Sheet)


def losses(law: Law, wavelength_nm: FloatArray, is_wall: bool) -> FloatArray:
    """Return the share of diffuse light that a law takes out of an enclosure at each wavelength, (w,).

    Parameters
    ----------
    law : Law
    wavelength_nm : (w,) float [nm]
    is_wall : bool
        Whether what passes the surface is lost, too.
    """
    parts = law_components(law, wavelength_nm)
    if parts.fill is not None:
        back, on = matt_shares(parts.fill, parts.wire_reflectance)
        return np.clip(1.0 - back - (0.0 if is_wall else on), 0.0, 1.0)
    kept = parts.diffuse_reflectance + parts.lobe_reflectance + _mean_over_angles(parts, 0, wavelength_nm)
    if not is_wall:
        kept = kept + parts.diffuse_transmittance + _mean_over_angles(parts, 1, wavelength_nm)
    return np.clip(1.0 - kept, 0.0, 1.0)


def _mean_over_angles(parts: Components, side: int, wavelength_nm: FloatArray) -> FloatArray:
    """Return what a law does by angle, averaged over diffuse light, which arrives as 2 cos d(cos)."""
    if parts.specular is None:
        return np.zeros_like(wavelength_nm)
    cosine = np.linspace(0.0, 1.0, parts.specular.shape[1])
    mean: FloatArray = np.average(parts.specular[:, :, side], axis=1, weights=cosine)
    return mean
