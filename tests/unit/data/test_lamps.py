"""The packaged lamp spectra: every file is complete and gives the UV index that its phosphor should."""

import tomllib
from pathlib import Path

import pytest

import sim
from sim.spectra.spectrum import Spectrum
from sim.spectra.weighting import WEIGHTINGS

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


def nanometres(text: str) -> float:
    assert text.endswith(" nm")
    return float(text.removesuffix(" nm"))


def spectrum(name: str) -> Spectrum:
    """The spectrum of a file, weights taken as shares of unit power."""
    stated = LAMPS[name]["spectrum"]
    assert set(stated) <= {"bands", "lines"}
    lines = Spectrum.from_lines((nanometres(line["at"]), line["weight"]) for line in stated.get("lines", []))
    bands = [
        (Spectrum.gaussian_band(*(nanometres(band[key]) for key in ("peak", "fwhm", "from", "to"))), band["weight"])
        for band in stated.get("bands", [])
    ]
    return Spectrum.mix([*bands, (lines, 1.0)])


def test_the_wanted_lamps_are_there() -> None:
    assert set(LAMPS) >= WANTED


@pytest.mark.parametrize("name", LAMPS)
def test_a_lamp_says_where_it_comes_from(name: str) -> None:
    data = LAMPS[name]
    assert set(data) == {"title", "source", "kind_of_value", "licence", "note", "spectrum"}
    assert len(data["source"]) > 20
    assert data["kind_of_value"] in {"measured", "computed", "guess"}
    assert (data["kind_of_value"] == "guess") == ("nvented" in data["source"])


@pytest.mark.parametrize("name", LAMPS)
def test_weights_add_up_to_one_within_280_to_400_nm(name: str) -> None:
    assert spectrum(name).power(280, 400) == pytest.approx(1.0, rel=1e-9)
    assert spectrum(name).power(100, 1000) == pytest.approx(1.0, rel=1e-9)


# UV index per W/m2: CIE S 007/E:1998 summed over each Gaussian on a 0.1 nm grid.
@pytest.mark.parametrize(
    ("name", "uvi"), [("uvb-phosphor-306", 15.3116), ("uva-phosphor-351", 0.16133), ("uva-phosphor-368", 0.01588)]
)
def test_uv_index_per_watt_of_a_phosphor(name: str, uvi: float) -> None:
    assert 40 * spectrum(name).weighted(WEIGHTINGS["uvi"]) == pytest.approx(uvi, rel=4e-4)


def test_narrow_uvb_gives_a_sixth_of_the_index_of_broad_uvb() -> None:
    erythema = WEIGHTINGS["erythema"]
    ratio = spectrum("uvb-phosphor-312").weighted(erythema) / spectrum("uvb-narrow-312").weighted(erythema)
    assert 4 < ratio < 7


def test_no_lamp_has_the_line_that_its_wall_absorbs() -> None:
    assert [name for name in LAMPS if spectrum(name).power(250, 260) > 0] == []
