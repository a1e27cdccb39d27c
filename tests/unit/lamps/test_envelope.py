"""The glass around a lamp."""

import numpy as np
import pytest
from pydantic import ValidationError

from sim.lamps.emission import Emission
from sim.lamps.envelope import Envelope
from sim.scene import library
from sim.spectra.spectrum import Spectrum
from sim.spectra.weighting import WEIGHTINGS

EDGE = {"half": "295 nm", "width": "24 nm"}
BANDS = [{"peak": "306 nm", "fwhm": "40 nm"}]


def envelope(**keys: object) -> Envelope:
    return Envelope.model_validate(keys)


def spectrum(**keys: object) -> Spectrum:
    return Emission.model_validate(keys).spectrum(library.emission, 250.0, 400.0, lambda name: library.material(name))


def test_an_edge_passes_a_tenth_half_and_nine_tenths_where_it_says() -> None:
    nm = np.linspace(250.0, 400.0, 15001)
    passed = envelope(**EDGE).transmittance(nm, None)
    tenth, half, most = np.interp([0.1, 0.5, 0.9], passed, nm)
    assert half == pytest.approx(295.0, abs=1e-3)
    assert most - tenth == pytest.approx(24.0, abs=1e-2)
    assert np.all(np.diff(passed) > 0.0)
    # Far below the edge nothing is left, and nothing overflows.
    assert 0.0 == envelope(half="295 nm", width="0.1 nm").transmittance(np.array([100.0]), None)[0]


# Wall of 0.7 mm of soda-lime glass at right angles, with the optical constants of M. R. Vogt et al., IEEE J.
# Photovolt. 6 (2016) 111, by the incoherent sheet of Born & Wolf: computed with other code than this program's.
@pytest.mark.parametrize(
    ("glass", "expected"),
    [
        ("glass-iron-703ppm-4mm", [0.166, 0.259, 0.344, 0.454]),
        ("glass-iron-5ppm-4mm", [0.804, 0.831, 0.848, 0.866]),
    ],
)
def test_a_wall_by_optical_constants(glass: str, expected: list[float]) -> None:
    wall = envelope(glass=glass, thickness="0.7 mm")
    passed = wall.transmittance(np.array([300.0, 310.0, 315.0, 320.0]), library.material(glass))
    assert passed.tolist() == pytest.approx(expected, abs=2e-3)


def test_a_sheet_spelled_out_has_its_own_thickness() -> None:
    sheet = {"kind": "sheet", "n": 1.5, "k": 1e-6, "thickness": "1 mm"}
    own, doubled = envelope(glass=sheet), envelope(glass=sheet, thickness="2 mm")
    one, two = (wall.transmittance(np.array([310.0]), wall.glass)[0] for wall in (own, doubled))  # type: ignore[arg-type]
    # Beer's law but for light that goes to and fro: exp(-4 pi k d / wavelength) a millimetre.
    assert two / one == pytest.approx(np.exp(-4 * np.pi * 1e-6 * 1e6 / 310.0), rel=2e-4)


def test_glass_and_edge_multiply() -> None:
    glass = library.material("glass-iron-5ppm-4mm")
    nm = np.array([290.0, 310.0])
    both = envelope(glass="glass-iron-5ppm-4mm", **EDGE).transmittance(nm, glass)
    alone = envelope(glass="glass-iron-5ppm-4mm").transmittance(nm, glass), envelope(**EDGE).transmittance(nm, None)
    assert both == pytest.approx(alone[0] * alone[1])


def test_it_filters_bands_lines_and_mixtures_and_power_stays_one() -> None:
    lines = [{"at": "290 nm"}, {"at": "310 nm"}]
    # Weights are shares behind the glass, of lines as of bands.
    assert spectrum(lines=lines, envelope=EDGE).line_power.tolist() == pytest.approx([0.5, 0.5])
    within = spectrum(mix=[{"spectrum": {"lines": lines}}], envelope=EDGE)
    passed = envelope(**EDGE).transmittance(np.array([290.0, 310.0]), None)
    assert within.line_power == pytest.approx(passed / passed.sum())
    assert spectrum(bands=BANDS, envelope=EDGE).power(250, 400) == pytest.approx(1.0)


def test_a_band_behind_an_edge_against_a_fine_sum() -> None:
    found = spectrum(bands=[BANDS[0] | {"from": "280 nm"}], envelope=EDGE)
    nm = np.arange(280.0005, 400.0, 0.001)
    density = 0.5 ** ((nm - 306.0) / 20.0) ** 2 * envelope(**EDGE).transmittance(nm, None)
    expected = (density * WEIGHTINGS["uvi"](nm)).sum() / density.sum()
    assert found.weighted(WEIGHTINGS["uvi"]) == pytest.approx(expected, rel=2e-4)
    assert (0.0, True) == (float(found.density_at([279.9])[0]), found.density_at([280.1])[0] > 0.0)


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({}, "an envelope needs 'glass', the law of a pane, or 'half' and 'width' of an edge"),
        ({"half": "295 nm"}, "'half' and 'width' of an edge go together"),
        ({"thickness": "1 mm", **EDGE}, "'thickness' needs 'glass'"),
    ],
)
def test_refusals(keys: dict[str, object], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        envelope(**keys)


def test_a_wall_is_of_glass() -> None:
    with pytest.raises(ValueError, match="a law of kind sheet, not of kind lambertian"):
        spectrum(bands=BANDS, envelope={"glass": "rock"})
