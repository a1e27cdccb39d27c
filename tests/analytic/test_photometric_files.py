"""Readers of photometric files against photompy, a reader under the MIT licence, on the same invented files.

Compared are the directions between the half-planes that a file holds: of those that follow by symmetry photompy 0.3.1
extrapolates some, and of EULUMDAT it reads symmetries 2 to 4 otherwise than the format has them.
"""

from pathlib import Path

import numpy as np
import pytest

from sim.lamps.spot import READERS
from tests.support.photometric_files import cosine, eulumdat, lm63, lopsided, values, written

photompy = pytest.importorskip("photompy", reason="photompy is not installed (the extra dev brings it)")

VERTICAL = [0.0, 10.0, 20.0, 35.0, 50.0, 70.0, 90.0]
PLANES = [30.0 * step for step in range(12)]
HORIZONTAL = {
    "round": [0.0],
    "quadrant": [0.0, 20.0, 90.0],
    "half": [0.0, 60.0, 150.0, 180.0],
    "whole": [0.0, 30.0, 100.0, 250.0, 360.0],
}


def compare(path: Path, last: float) -> None:
    ours = READERS[path.suffix](path)
    reader = photompy.IESFile if path.suffix == ".ies" else photompy.LDTFile
    theirs = reader.read(path).photometry
    rng = np.random.Generator(np.random.PCG64(1))
    polar, azimuth = rng.uniform(0.0, 90.0, 200), rng.uniform(0.0, last, 200)
    expected = [float(theirs.get_intensity(t, p)) for t, p in zip(polar, azimuth, strict=True)]
    found = ours.at(np.radians(polar), np.radians(azimuth))
    assert expected == pytest.approx(found, rel=1e-9, abs=1e-9 * float(found.max()))


@pytest.mark.parametrize("name", HORIZONTAL)
def test_lm63(tmp_path: Path, name: str) -> None:
    horizontal = HORIZONTAL[name]
    text = lm63(values(lopsided, VERTICAL, horizontal), VERTICAL, horizontal, multiplier=2.5)
    compare(written(tmp_path, "lamp.ies", text), horizontal[-1])


def test_eulumdat(tmp_path: Path) -> None:
    text = eulumdat(values(lopsided, VERTICAL, PLANES), VERTICAL, PLANES, symmetry=0, flux=500.0)
    compare(written(tmp_path, "lamp.ldt", text), PLANES[-1])


def test_power_of_a_cosine(tmp_path: Path) -> None:
    """Their sum over rings and our integral, both of chords to 1000 cos at 2.5 degrees: 1000 pi less a little."""
    angles = [2.5 * step for step in range(37)]
    path = written(tmp_path, "lamp.ies", lm63(values(cosine, angles, [0.0]), angles))
    expected = float(photompy.IESFile.read(path).photometry.total_optical_power())
    assert expected == pytest.approx(READERS[".ies"](path).power, rel=2e-4)
    assert expected == pytest.approx(1000.0 * np.pi, rel=1e-3)
