"""The smooth curve through the rows of a table."""

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from sim.spectra.smooth_table import smooth_samples
from sim.spectra.spectrum import Spectrum

TABLES = {
    "bump": ([300.0, 302.0, 305.0, 309.0, 310.0], [0.0, 1.0, 4.0, 2.0, 0.0]),
    "zeros": ([300.0, 305.0, 310.0, 315.0, 320.0], [0.0, 0.0, 1.0, 0.0, 0.0]),
    "edge": ([280.0, 280.5, 281.0, 281.5, 282.0], [1e-20, 1e-15, 1e-9, 1e-3, 1.0]),
    "three rows": ([300.0, 310.0, 320.0], [1.0, 2.0, 1.0]),
    "steep ends": ([300.0, 301.0, 310.0, 311.0], [5.0, 1.0, 2.0, 9.0]),
}


@pytest.mark.parametrize("name", TABLES)
def test_it_is_the_monotone_cubic_of_the_paper(name: str) -> None:
    # scipy's interpolator is by the same paper (Fritsch & Butland 1984), written by others.
    nm, value = (np.array(column) for column in TABLES[name])
    fine, curve = smooth_samples(nm, value)
    assert curve == pytest.approx(PchipInterpolator(nm, value)(fine), rel=1e-12, abs=1e-15)
    assert np.all(np.diff(fine) > 0.0)
    assert np.diff(fine).max() <= 0.25 + 1e-12


@pytest.mark.parametrize("name", TABLES)
def test_rows_are_met_and_nothing_leaves_the_two_that_it_lies_between(name: str) -> None:
    nm, value = (np.array(column) for column in TABLES[name])
    fine, curve = smooth_samples(nm, value)
    assert value.tolist() == [curve[fine == at][0] for at in nm]
    row = np.clip(np.searchsorted(nm, fine, side="right") - 1, 0, len(nm) - 2)
    low, high = np.minimum(value[row], value[row + 1]), np.maximum(value[row], value[row + 1])
    assert np.all((low <= curve) & (curve <= high))


def test_two_rows_are_a_straight_line() -> None:
    spectrum = Spectrum.from_table([300.0, 310.0], [1.0, 3.0])
    assert (2, 20.0) == (spectrum.wavelength_nm.size, pytest.approx(spectrum.power()))
