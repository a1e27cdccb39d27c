"""Fresnel reflection of dielectrics and metals, and of a plane sheet with internal reflections."""

import numpy as np

from sim.geometry.mesh import FloatArray


def interface_reflectance(n: FloatArray, k: FloatArray, cosine: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the reflectance of an air-material interface for s and p polarisation.

    Parameters
    ----------
    n, k : float arrays that broadcast with `cosine`
        Complex refractive index n + ik.
    cosine : float array
        |cos| of the angle of incidence in air.

    References
    ----------
    M. Born, E. Wolf, Principles of Optics, 7th ed., sections 1.5.2 and 14.2.
    """
    # At grazing incidence on matter of index 1 the formulas are 0 / 0; a hair above it they are not.
    cosine = np.maximum(cosine, 1e-9)
    index = np.asarray(n) + 1j * np.asarray(k)
    inside = np.sqrt(index**2 - (1.0 - cosine**2))
    r_s = (cosine - inside) / (cosine + inside)
    r_p = (index**2 * cosine - inside) / (index**2 * cosine + inside)
    return np.abs(r_s) ** 2, np.abs(r_p) ** 2


def metal_reflectance(n: FloatArray, k: FloatArray, cosine: FloatArray) -> FloatArray:
    """Return the reflectance of a metal for unpolarised light; shapes as in `interface_reflectance`."""
    r_s, r_p = interface_reflectance(n, k, cosine)
    return 0.5 * (r_s + r_p)


def sheet_reflectance_transmittance(
    n: FloatArray, k: FloatArray, thickness_m: float, wavelength_nm: FloatArray, cosine: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return reflectance and transmittance of a thick plane sheet in air for unpolarised light.

    Notes
    -----
    Internal reflections are added as powers (the sheet is much thicker than the coherence length):
    ``T = (1-R)^2 a / (1 - R^2 a^2)`` per polarisation, with ``a = exp(-4 pi k d / (lambda cos))`` along the refracted
    ray, and the mean of the two polarisations taken last. Polarisation is not carried from surface to surface.

    References
    ----------
    M. Born, E. Wolf, Principles of Optics, 7th ed., section 7.6; the incoherent limit.
    """
    inside_cosine = np.sqrt(np.clip(1.0 - (1.0 - cosine**2) / np.asarray(n) ** 2, 1e-12, None))
    passed = np.exp(-4.0 * np.pi * np.asarray(k) * thickness_m * 1e9 / (wavelength_nm * inside_cosine))
    reflected, transmitted = [], []
    for r in interface_reflectance(n, k, cosine):
        through = (1.0 - r) ** 2 * passed / (1.0 - r**2 * passed**2 + 1e-300)
        transmitted.append(through)
        reflected.append(r * (1.0 + passed * through))
    return 0.5 * (reflected[0] + reflected[1]), 0.5 * (transmitted[0] + transmitted[1])
