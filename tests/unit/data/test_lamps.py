"""The packaged lamp spectra: every file is complete and gives the UV index that its phosphor should."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

import sim
from sim.scene import library
from sim.spectra.spectrum import Spectrum
from sim.spectra.weighting import WEIGHTINGS
from tests.support.synthetic_result import reference_erythema

FOLDER = Path(sim.__file__).parent / "data" / "lamps"
LAMPS = {path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(FOLDER.glob("*.toml"))}
WANTED = {
    "daylight-mix-uvb",
    "mercury-lines",
    "uva-phosphor-351",
    "uva-phosphor-368",
    "uvb-narrow-312",
    "uvb-phosphor-306",
    "uvb-phosphor-312",
}


def spectrum(name: str) -> Spectrum:
    """The spectrum of a file with a power of one over the whole ultraviolet."""
    return library.emission(name).spectrum(library.emission, 250.0, 400.0)


def test_the_wanted_lamps_are_there() -> None:
    assert set(LAMPS) >= WANTED


@pytest.mark.parametrize("name", LAMPS)
def test_a_lamp_says_where_it_comes_from(name: str) -> None:
    data = LAMPS[name]
    assert set(data) == {"title", "source", "kind_of_value", "licence", "note", "spectrum"}
    assert len(data["source"]) > 20
    assert data["kind_of_value"] in {"measured", "computed", "guess"}
    assert (data["kind_of_value"] == "guess") == any(word in data["source"] for word in ("nvented", "a guess"))


@pytest.mark.parametrize("name", LAMPS)
def test_next_to_nothing_lies_outside_280_to_400_nm(name: str) -> None:
    assert spectrum(name).power(280, 400) == pytest.approx(1.0, rel=2e-4)


@pytest.mark.parametrize("name", LAMPS)
def test_no_spectrum_steps_below_its_peak(name: str) -> None:
    # Glass has an edge, not a cut: over 0.1 nm no density changes by more than 7 % of the highest.
    found = spectrum(name)
    density = found.density_at(np.arange(250.0, 399.9, 0.1))
    assert not density.size or np.abs(np.diff(density)).max() <= 0.07 * max(density.max(), 1e-9)


def by_hand(peak: float, fwhm: float, half: float | None) -> tuple[float, float]:
    """UV index per W/m2, and the share of it from below 298 nm: sums over a 0.01 nm grid by the formulas alone."""
    nm = np.arange(250.005, 400.0, 0.01)
    density = 0.5 ** ((2.0 * (nm - peak) / fwhm) ** 2)
    if half is not None:
        # 10 % to 90 % in 24 nm: log(log 10 / log 2) - log(log(1 / 0.9) / log 2) = 3.0844 steps of e.
        density *= 0.5 ** np.exp((half - nm) * 3.0844 / 24.0)
    weighted = density * reference_erythema(nm)
    return 40.0 * weighted.sum() / density.sum(), weighted[nm < 298.0].sum() / weighted.sum()


@pytest.mark.parametrize(
    ("name", "peak", "fwhm", "half"),
    [
        ("uvb-phosphor-306", 306.0, 40.0, 295.0),
        ("uvb-phosphor-312", 312.0, 40.0, 295.0),
        ("uva-phosphor-351", 351.0, 40.0, 295.0),
        ("uva-phosphor-368", 368.0, 20.0, None),
    ],
)
def test_uv_index_per_watt_of_a_phosphor(name: str, peak: float, fwhm: float, half: float | None) -> None:
    uvi, below = by_hand(peak, fwhm, half)
    found = spectrum(name)
    erythema = found.weighted(WEIGHTINGS["erythema"])
    assert 40.0 * erythema == pytest.approx(uvi, rel=4e-4)
    assert found.weighted(WEIGHTINGS["erythema"], 250, 298) / erythema == pytest.approx(below, abs=3e-4)


@pytest.mark.parametrize(("name", "uvi", "share"), [("uvb-phosphor-306", 9.1, 0.51), ("uvb-phosphor-312", 6.4, 0.46)])
def test_what_a_note_says_of_its_uv_index(name: str, uvi: float, share: float) -> None:
    assert f"{uvi} of UV index per W/m2, {share:.0%}".replace("%", " %") in LAMPS[name]["note"]
    erythema = spectrum(name).weighted(WEIGHTINGS["erythema"])
    assert round(40.0 * erythema, 1) == uvi
    assert round(spectrum(name).weighted(WEIGHTINGS["erythema"], 250, 298) / erythema, 2) == share


def test_narrow_uvb_gives_a_third_of_the_index_of_broad_uvb() -> None:
    erythema = WEIGHTINGS["erythema"]
    ratio = spectrum("uvb-phosphor-312").weighted(erythema) / spectrum("uvb-narrow-312").weighted(erythema)
    assert 2.5 < ratio < 4.5


def test_no_lamp_has_the_line_that_its_wall_absorbs() -> None:
    assert [name for name in LAMPS if spectrum(name).power(250, 260) > 1e-9] == []
