"""Fresnel reflection: handbook values, identities, sheets of glass and aluminium."""

import numpy as np
import pytest

from sim.materials.fresnel import interface_reflectance, metal_reflectance, sheet_reflectance_transmittance
from sim.materials.law import Law, law_components
from sim.scene import library
from sim.transport.arrays import F64

ONE = np.ones(1)


def cosine(degrees: float) -> F64:
    return np.array([np.cos(np.radians(degrees))])


# Glass of n = 1.5 in air, unpolarised: M. Born, E. Wolf, Principles of Optics, 7th ed., section 1.5.2; numbers by the
# transfer-matrix package tmm 0.2.0.
INTERFACE = [(0, 0.040000), (30, 0.041523), (45, 0.050240), (60, 0.089187), (75, 0.253061), (80, 0.387704)]


@pytest.mark.parametrize(("degrees", "reflectance"), INTERFACE)
def test_glass_in_air(degrees: float, reflectance: float) -> None:
    r_s, r_p = interface_reflectance(1.5 * ONE, 0.0 * ONE, cosine(degrees))
    assert float(0.5 * (r_s + r_p)[0]) == pytest.approx(reflectance, abs=1e-6)


def test_polarisations_at_45_degrees() -> None:
    """R_p is the square of R_s there, for any lossless index."""
    for n in (1.1, 1.33, 1.5, 2.4):
        r_s, r_p = interface_reflectance(n * ONE, 0.0 * ONE, cosine(45.0))
        assert float(r_p[0]) == pytest.approx(float(r_s[0]) ** 2, abs=1e-12)
    r_s, r_p = interface_reflectance(1.5 * ONE, 0.0 * ONE, cosine(45.0))
    assert (float(r_s[0]), float(r_p[0])) == pytest.approx((0.092013, 0.008466), abs=1e-6)


def test_brewster_angle() -> None:
    r_s, r_p = interface_reflectance(1.5 * ONE, 0.0 * ONE, cosine(float(np.degrees(np.arctan(1.5)))))
    assert (float(r_s[0]), float(r_p[0])) == pytest.approx((0.147929, 0.0), abs=1e-6)


@pytest.mark.parametrize(("n", "reflectance"), [(1.33, 0.065931), (1.5, 0.091778)])
def test_reflectance_for_diffuse_light(n: float, reflectance: float) -> None:
    """Mean over Lambertian light from outside, by Gauss-Legendre in the cosine."""
    nodes, weights = np.polynomial.legendre.leggauss(400)
    z = 0.5 * (nodes + 1.0)
    r_s, r_p = interface_reflectance(np.array(n), np.array(0.0), z)
    assert float((weights * z * 0.5 * (r_s + r_p)).sum()) == pytest.approx(reflectance, abs=1e-6)


# Lossless sheet of n = 1.5: T is the mean over polarisations of (1 - R) / (1 + R), not that of the mean R.
SHEET = [(0, 0.923077), (30, 0.920734), (45, 0.907344), (60, 0.848128), (75, 0.618149)]


@pytest.mark.parametrize(("degrees", "transmittance"), SHEET)
def test_clear_sheet(degrees: float, transmittance: float) -> None:
    reflected, passed = sheet_reflectance_transmittance(1.5 * ONE, 0.0 * ONE, 4e-3, 350.0 * ONE, cosine(degrees))
    assert float(passed[0]) == pytest.approx(transmittance, abs=1e-6)
    assert float((reflected + passed)[0]) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(("n", "transmittance"), [(1.5, 0.850938), (1.55, 0.839736)])
def test_clear_sheet_in_diffuse_light(n: float, transmittance: float) -> None:
    nodes, weights = np.polynomial.legendre.leggauss(400)
    z = 0.5 * (nodes + 1.0)
    _, passed = sheet_reflectance_transmittance(np.array(n), np.array(0.0), 4e-3, np.array(350.0), z)
    assert float((weights * z * passed).sum()) == pytest.approx(transmittance, abs=2e-6)


# 4 mm of clear glass (M. Rubin, Solar Energy Materials 12:275, 1985), incoherent, by tmm 0.2.0.
ABSORBING = [
    (320.0, 1.55137, 1.375e-5, [(0, 0.10482), (45, 0.07867), (60, 0.06099)]),
    (350.0, 1.54495, 1.118e-6, [(0, 0.77654), (45, 0.74729), (60, 0.68677)]),
]


@pytest.mark.parametrize(("wavelength_nm", "n", "k", "rows"), ABSORBING)
def test_absorbing_sheet(wavelength_nm: float, n: float, k: float, rows: list[tuple[float, float]]) -> None:
    for degrees, transmittance in rows:
        _, passed = sheet_reflectance_transmittance(n * ONE, k * ONE, 4e-3, wavelength_nm * ONE, cosine(degrees))
        assert float(passed[0]) == pytest.approx(transmittance, abs=2e-5)


def test_a_sheet_of_the_strongest_absorber_reflects_as_its_face_does() -> None:
    reflected, passed = sheet_reflectance_transmittance(1.5 * ONE, 1e-3 * ONE, 4e-3, 350.0 * ONE, cosine(45.0))
    assert float(passed[0]) < 1e-60
    assert float(reflected[0]) == pytest.approx(0.050240, abs=1e-6)


GRAZING = np.linspace(0.0, 1.0, 257)


@pytest.mark.parametrize("n", [1.0, 1.3, 1.53, 2.5])
@pytest.mark.parametrize("k", [0.0, 1e-8, 1e-6, 1e-4, 1e-2])
def test_a_sheet_makes_no_light_at_any_angle(n: float, k: float) -> None:
    reflected, passed = sheet_reflectance_transmittance(np.array(n), np.array(k), 3e-3, np.array(310.0), GRAZING)
    assert np.all(reflected >= 0.0)
    assert np.all(passed >= 0.0)
    assert float((reflected + passed).max()) <= 1.0 + 1e-12
    if k == 0.0:
        np.testing.assert_allclose(reflected + passed, 1.0, atol=1e-12)


# Aluminium at 310 nm, n = 0.2801, k = 3.7086 (A. Rakic, Applied Optics 34:4755, 1995), by tmm 0.2.0.
ALUMINIUM = [(0, 0.92721), (30, 0.92670), (60, 0.91914), (80, 0.92645)]


@pytest.mark.parametrize(("degrees", "reflectance"), ALUMINIUM)
def test_aluminium(degrees: float, reflectance: float) -> None:
    assert float(metal_reflectance(0.2801 * ONE, 3.7086 * ONE, cosine(degrees))[0]) == pytest.approx(
        reflectance, abs=1e-4
    )


def test_aluminium_by_polarisation() -> None:
    r_s, r_p = interface_reflectance(0.2801 * ONE, 3.7086 * ONE, cosine(60.0))
    assert (float(r_s[0]), float(r_p[0])) == pytest.approx((0.96386, 0.87443), abs=1e-4)


def specular(law: Law, wavelength_nm: float, degrees: float, column: int) -> float:
    table = law_components(law, np.array([wavelength_nm])).specular
    assert table is not None
    return float(np.interp(np.cos(np.radians(degrees)), GRAZING, table[0, :, column]))


@pytest.mark.parametrize(("degrees", "reflectance"), ALUMINIUM)
def test_aluminium_of_the_library(degrees: float, reflectance: float) -> None:
    """The table by angle is as good as the formula."""
    assert specular(library.material("polished-aluminium"), 310.0, degrees, 0) == pytest.approx(reflectance, abs=2e-4)


# Normal transmittance of 4 mm: M. Rubin (1985); by iron content M. Vogt et al., IEEE J. Photovoltaics 6:111 (2016).
GLASS_NM = [310.0, 315.0, 320.0, 330.0, 340.0, 350.0, 360.0, 400.0]
GLASS = {
    "glass-clear-4mm": [0.0003, 0.0056, 0.105, 0.349, 0.610, 0.777, 0.846, 0.891],
    "glass-iron-703ppm-4mm": [0.0007, 0.0036, 0.017, 0.165, 0.491, 0.728, 0.815, 0.871],
    "glass-low-iron-4mm": [0.132, 0.275, 0.562, 0.736, 0.833, 0.881, 0.898, 0.909],
    "glass-iron-5ppm-4mm": [0.546, 0.613, 0.686, 0.808, 0.873, 0.899, 0.907, 0.913],
}


@pytest.mark.parametrize("name", GLASS)
def test_glass_of_the_library(name: str) -> None:
    law = library.material(name)
    seen = [specular(law, wavelength_nm, 0.0, 1) for wavelength_nm in GLASS_NM]
    np.testing.assert_allclose(seen, GLASS[name], atol=0.002)
