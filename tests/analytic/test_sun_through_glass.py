"""The reference sun of ASTM G173-03 through 4 mm of each packaged glass, against the slab formula for normal incidence.

Slab: incoherent sum of internal reflections, T = (1 - R)^2 a / (1 - R^2 a^2) with Fresnel's R and a = exp(-4 pi k d/l)
(M. Born, E. Wolf, Principles of Optics, ch. 1 and 14). Optical constants: M. Rubin, Sol. Energy Mater. 12 (1985) 275,
and M. R. Vogt, thesis, Hannover 2016, as packaged.
"""

from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from sim.cli import vivray
from sim.materials.curve import curve_at
from sim.materials.law import Sheet
from sim.scene import library
from sim.spectra.weighting import WEIGHTINGS

GLASSES = [name for name in library.material_names() if name.startswith("glass-")]


def slab(law: Sheet, nm: np.ndarray) -> np.ndarray:
    n, k = curve_at(law.n, nm), curve_at(law.k, nm)
    r = ((n - 1) ** 2 + k**2) / ((n + 1) ** 2 + k**2)
    a = np.exp(-4 * np.pi * k * law.thickness / (nm * 1e-9))
    return (1 - r) ** 2 * a / (1 - r**2 * a**2)


def test_four_glasses_are_packaged() -> None:
    assert len(GLASSES) == 4


@pytest.mark.parametrize("name", GLASSES)
def test_sun_through_glass(name: str, tmp_path: Path) -> None:
    pvlib = pytest.importorskip("pvlib")
    table = pvlib.spectrum.get_reference_spectra(standard="ASTM G173-03")["global"]
    nm = table.index.to_numpy(dtype=np.float64)
    nm, sun = nm[nm <= 400], table.to_numpy(dtype=np.float64)[nm <= 400]
    path = tmp_path / "sun.csv"
    np.savetxt(path, np.column_stack([nm, sun]), delimiter=",")
    outcome = CliRunner().invoke(vivray, ["describe", name, "--light", str(path)])
    assert outcome.exit_code == 0, outcome.output
    row = next(line for line in outcome.output.splitlines() if line.split()[:1] == ["UVI"])
    arrives, _, passed = (float(word) for word in row.split()[1:])
    law = library.material_entry(name).law
    assert isinstance(law, Sheet)
    weight = WEIGHTINGS["uvi"].scale * WEIGHTINGS["uvi"](nm) * sun
    assert arrives == pytest.approx(np.trapezoid(weight, nm), rel=1e-3)
    assert passed == pytest.approx(np.trapezoid(weight * slab(law, nm), nm), rel=2e-3)


def test_iron_decides_not_glass() -> None:
    # Common knowledge made a number: the two ends of the iron range differ more than fourfold for a midday sun.
    outcomes = {}
    for name in ("glass-iron-703ppm-4mm", "glass-iron-5ppm-4mm"):
        outcome = CliRunner().invoke(vivray, ["describe", name, "--light", "uvb-phosphor-306"])
        row = next(line for line in outcome.output.splitlines() if line.split()[:1] == ["UVI"])
        outcomes[name] = float(row.split()[3])
    assert outcomes["glass-iron-5ppm-4mm"] > 4.0 * outcomes["glass-iron-703ppm-4mm"]
