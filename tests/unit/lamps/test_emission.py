"""What a lamp emits by wavelength."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from pydantic import ValidationError

from sim.lamps.emission import Emission
from sim.spectra.weighting import WEIGHTINGS

LOW, HIGH = 250.0, 400.0


def emission(**keys: object) -> Emission:
    return Emission.model_validate(keys)


def lookup_in(named: Mapping[str, Emission]) -> object:
    return lambda name: named[name]


def no_lookup(name: str) -> Emission:
    raise ValueError(f"no spectrum is named '{name}'")


def band(peak: str, fwhm: str = "10 nm", **keys: object) -> dict[str, object]:
    return {"peak": peak, "fwhm": fwhm} | keys


def refusal(keys: dict[str, object], context: dict[str, object] | None = None) -> str:
    with pytest.raises(ValidationError) as caught:
        Emission.model_validate(keys, context=context)
    return "; ".join(str(error["msg"]).removeprefix("Value error, ") for error in caught.value.errors())


def test_power_over_the_run_is_one() -> None:
    spectrum = emission(bands=[band("395 nm", "40 nm")]).spectrum(no_lookup, LOW, HIGH)
    assert spectrum.power(LOW, HIGH) == pytest.approx(1.0, rel=1e-12)


def test_weights_are_shares_of_what_lies_in_the_run() -> None:
    # The band at 400 nm loses half of itself beyond the run, and still has three quarters of the power within.
    spectrum = emission(bands=[band("300 nm", weight=1), band("400 nm", weight=3)]).spectrum(no_lookup, LOW, HIGH)
    assert spectrum.power(LOW, 340.0) == pytest.approx(0.25, rel=1e-9)
    assert spectrum.power(340.0, HIGH) == pytest.approx(0.75, rel=1e-9)


def test_lines_and_bands_share_by_weight_whatever_its_scale() -> None:
    spectrum = emission(lines=[{"at": "313.155 nm", "weight": 20}], bands=[band("350 nm", weight=60)]).spectrum(
        no_lookup, LOW, HIGH
    )
    assert spectrum.line_power.tolist() == pytest.approx([0.25], rel=1e-12)


def test_uv_index_of_a_phosphor_band_per_watt() -> None:
    # Gaussian band, peak 310 nm, FWHM 40 nm, nothing below 280 nm, 1 W/m2 over 280-400 nm: erythema of
    # CIE S 007/E:1998 integrated on a 0.1 nm grid times 40 gives a UV index of 12.3512.
    cut = band("310 nm", "40 nm", **{"from": "280 nm"})
    spectrum = emission(bands=[cut]).spectrum(no_lookup, 280.0, 400.0)
    assert 40.0 * spectrum.weighted(WEIGHTINGS["uvi"], 280.0, 400.0) == pytest.approx(12.3512, rel=1e-4)


def test_mixture_by_name_and_inline() -> None:
    named = {"blue": emission(bands=[band("380 nm")]), "both": emission(mix=[{"spectrum": "blue", "weight": 1}])}
    mixed = emission(
        mix=[
            {"spectrum": "both", "weight": 0.2},
            {"spectrum": {"lines": [{"at": "300 nm"}]}, "weight": 0.8},
        ]
    )
    spectrum = mixed.spectrum(lookup_in(named), LOW, HIGH)  # type: ignore[arg-type]  # a lambda of the same shape
    assert spectrum.power(340.0, HIGH) == pytest.approx(0.2, rel=1e-6)
    assert spectrum.line_power.tolist() == pytest.approx([0.8], rel=1e-12)


def test_table_of_a_file_beside_the_scene(tmp_path: Path) -> None:
    (tmp_path / "lamp.csv").write_text("wavelength_nm,power\n300,0\n310,2\n320,0\n", encoding="utf-8")
    keys = {"csv": "lamp.csv", "csv_weight": 3.0, "lines": [{"at": "365 nm"}]}
    spectrum = Emission.model_validate(keys, context={"folder": tmp_path}).spectrum(no_lookup, LOW, HIGH)
    assert spectrum.power(300.0, 310.0) == pytest.approx(0.375, rel=1e-12)
    assert spectrum.power(360.0, 370.0) == pytest.approx(0.25, rel=1e-12)


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({"lines": [{"at": "404.656 nm"}]}, "line at 404.656 nm has no power between 250 and 400 nm"),
        ({"bands": [band("200 nm", "5 nm")]}, "band at 200 nm has no power between 250 and 400 nm"),
        (
            {"bands": [band("310 nm")], "mix": [{"spectrum": {"lines": [{"at": "500 nm"}]}}]},
            "line at 500 nm has no power between 250 and 400 nm",
        ),
    ],
)
def test_component_beyond_the_run_is_refused(keys: dict[str, object], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        emission(**keys).spectrum(no_lookup, LOW, HIGH)


def test_mixture_of_itself_names_the_chain() -> None:
    named = {
        "a": emission(mix=[{"spectrum": "b"}]),
        "b": emission(mix=[{"spectrum": "c"}]),
        "c": emission(mix=[{"spectrum": "a"}]),
    }
    with pytest.raises(ValueError, match="spectrum 'b' is mixed into itself: 'b' -> 'c' -> 'a' -> 'b'"):
        named["a"].spectrum(lookup_in(named), LOW, HIGH)  # type: ignore[arg-type]  # a lambda of the same shape


def test_same_spectrum_twice_is_no_loop() -> None:
    named = {"a": emission(lines=[{"at": "310 nm"}])}
    twice = emission(mix=[{"spectrum": "a"}, {"spectrum": "a"}])
    spectrum = twice.spectrum(lookup_in(named), LOW, HIGH)  # type: ignore[arg-type]  # a lambda of the same shape
    assert np.sum(spectrum.line_power) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({}, "a spectrum needs at least one of lines, bands, mix, csv"),
        ({"lines": [{"at": "310 nm"}], "csv_weight": 2.0}, "'csv_weight' needs 'csv', the file that it weighs"),
        (
            {"bands": [band("310 nm", **{"from": "320 nm", "to": "300 nm"})]},
            "'from' (320 nm) must lie below 'to' (300 nm)",
        ),
        ({"lines": [{"at": 310}]}, "wavelength needs a unit: write '310 nm' (allowed: nm, um)"),
        ({"lines": [{"at": "310 nm", "weight": 0}]}, "Input should be greater than 0"),
        ({"mix": [{"spectrum": {}}]}, "a spectrum needs at least one of lines, bands, mix, csv"),
    ],
)
def test_refusals(keys: dict[str, object], message: str) -> None:
    assert refusal(keys) == message


def test_missing_table_is_refused(tmp_path: Path) -> None:
    message = refusal({"csv": "gone.csv"}, {"folder": tmp_path})
    assert message == f"file 'gone.csv' not found (looked in {tmp_path})"
