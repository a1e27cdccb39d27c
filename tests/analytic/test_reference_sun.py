"""The reference sun of ASTM G173-03 (global, 37 degree tilt, air mass 1.5) as packaged by pvlib."""

from pathlib import Path

import numpy as np
import pytest

from sim.lamps.emission import Emission
from sim.scene import library
from sim.spectra.arrays import FloatArray
from sim.spectra.spectrum import Spectrum
from sim.spectra.weighting import WEIGHTINGS

Sun = tuple[FloatArray, FloatArray]


@pytest.fixture(scope="module")
def sun() -> Sun:
    """Wavelength [nm] and global irradiance [W/m2/nm] up to 400 nm, every 0.5 nm."""
    pvlib = pytest.importorskip("pvlib")
    table = pvlib.spectrum.get_reference_spectra(standard="ASTM G173-03")["global"]
    wavelength = table.index.to_numpy(dtype=np.float64)
    return wavelength[wavelength <= 400], table.to_numpy(dtype=np.float64)[wavelength <= 400]


# Weighted sums of the table by the trapezoidal rule, as ASTM G173 integrates it.
@pytest.mark.parametrize(
    ("name", "expected", "tolerance"),
    [
        ("uvi", 3.68988, 1e-5),
        ("erythema", 0.092247, 1e-6),
        ("previtamin-d3", 0.146422, 1e-6),
        ("actinic", 0.021349, 1e-6),
    ],
)
def test_weights_on_the_table(sun: Sun, name: str, expected: float, tolerance: float) -> None:
    wavelength, irradiance = sun
    weighting = WEIGHTINGS[name]
    total = weighting.scale * np.trapezoid(irradiance * weighting(wavelength), wavelength)
    assert total == pytest.approx(expected, abs=tolerance)


def test_the_superseded_constant_is_not_the_uv_index(sun: Sun) -> None:
    wavelength, irradiance = sun
    total = 40 * np.trapezoid(irradiance * WEIGHTINGS["erythema-1987"](wavelength), wavelength)
    assert total == pytest.approx(3.66186, abs=1e-4)
    assert Spectrum.from_samples(*sun).weighted(WEIGHTINGS["uvi"]) * 40 - total > 0.02


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [(280, 315, 0.68233), (280, 320, 1.52206), (315, 400, 45.4204), (320, 400, 44.5806)],
)
def test_unweighted_bands(sun: Sun, low: float, high: float, expected: float) -> None:
    assert Spectrum.from_samples(*sun).power(low, high) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(("name", "expected"), [("uvb-315", 0.68233), ("uvb-320", 1.52206), ("uva", 45.4204)])
def test_band_weightings(sun: Sun, name: str, expected: float) -> None:
    assert Spectrum.from_samples(*sun).weighted(WEIGHTINGS[name]) == pytest.approx(expected, rel=1e-5)


def test_the_table_read_as_a_spectrum(sun: Sun) -> None:
    # 3.6899: the rows by the trapezoidal rule, and a cubic spline through them.
    spectrum = Spectrum.from_table(*sun)
    uvi = WEIGHTINGS["uvi"].scale * spectrum.weighted(WEIGHTINGS["uvi"])
    assert uvi == pytest.approx(3.6899, abs=2e-3)
    assert sum(WEIGHTINGS["uvi"].scale * spectrum.band_weighted(WEIGHTINGS["uvi"], [280, 297.3, 310, 400])) == (
        pytest.approx(uvi, rel=1e-9)
    )


def test_a_coarser_table_of_the_same_sun(sun: Sun) -> None:
    # Every second row: the straight lines of 1 nm are four times as far off as those of 0.5 nm; the curve is better.
    coarse = tuple(column[::2] for column in sun)
    straight, smooth = (
        WEIGHTINGS["uvi"].scale * spectrum.weighted(WEIGHTINGS["uvi"])
        for spectrum in (Spectrum.from_samples(*coarse), Spectrum.from_table(*coarse))
    )
    assert straight - 3.6899 > 8e-3
    assert abs(smooth - 3.6899) < 0.6 * (straight - 3.6899)


# The trapezoidal rule lies above the convex edge, by 0.04 % of UVB; a smooth curve does not.
@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [(280, 315, 0.68233), (280, 320, 1.52206), (315, 400, 45.4204), (320, 400, 44.5806)],
)
def test_bands_of_the_table_read_as_a_spectrum(sun: Sun, low: float, high: float, expected: float) -> None:
    assert Spectrum.from_table(*sun).power(low, high) == pytest.approx(expected, rel=5e-4)


def test_the_table_as_a_file_of_a_lamp(sun: Sun, tmp_path: Path) -> None:
    path = tmp_path / "sun.csv"
    np.savetxt(path, np.stack(sun, axis=1), delimiter=",", header="wavelength_nm,value", comments="")
    light = Emission.model_validate({"csv": str(path)}, context={"folder": tmp_path})
    spectrum = light.spectrum(library.emission, 280.0, 400.0)
    per_watt = WEIGHTINGS["uvi"].scale * spectrum.weighted(WEIGHTINGS["uvi"])
    assert per_watt * (0.68233 + 45.4204) == pytest.approx(3.6899, abs=2e-3)


def test_linear_interpolation_of_the_table_costs_less_than_a_permille(sun: Sun) -> None:
    # Between 0.5 nm samples the sun's edge is convex: linear interpolation lies above a cubic spline (3.6899).
    uvi = WEIGHTINGS["uvi"].scale * Spectrum.from_samples(*sun).weighted(WEIGHTINGS["uvi"])
    assert uvi == pytest.approx(3.6899, rel=1e-3)
