"""The four ways to say how strong a lamp is."""

import pytest
from pydantic import ValidationError

from sim.lamps.output import CONVERSION, Output, Reference
from sim.spectra.spectrum import Spectrum

LINES = Spectrum.from_lines([(300.0, 1.0), (317.0, 2.0), (365.0, 5.0)])
RUN = (250.0, 400.0)


def output(**keys: object) -> Output:
    return Output.model_validate(keys)


@pytest.mark.parametrize(
    ("keys", "way"),
    [
        ({"radiant": "1 W"}, "radiant"),
        ({"uvi": 3, "at": "30 cm", "setting": "bare"}, "uvi"),
        ({"uvb": "1 W/m2", "at": "30 cm", "setting": "bare"}, "uvb"),
        ({"electrical": "24 W", "uvb_share": "5 %"}, "electrical"),
    ],
)
def test_way_is_the_one_given(keys: dict[str, object], way: str) -> None:
    assert output(**keys).way == way


def test_radiant_power_over_the_run() -> None:
    assert output(radiant="1.5 W").radiant_power(LINES, *RUN) == pytest.approx(1.5)


def test_radiant_power_in_a_band_is_scaled_to_the_run() -> None:
    # 280-320 nm holds 3 of 8 parts, so 1.5 W there are 4 W in all.
    stated = output(radiant="1.5 W", band=["280 nm", "320 nm"])
    assert stated.radiant_power(LINES, *RUN) == pytest.approx(4.0)
    assert stated.radiant_power(LINES.scaled(7.0), *RUN) == pytest.approx(4.0)


@pytest.mark.parametrize(
    ("edge", "watts"),
    [
        # UVB watts 24 x 0.25 x 0.05 = 0.3 W; up to 315 nm that is 1 of 8 parts, up to 320 nm 3 of 8.
        ("315 nm", 2.4),
        ("320 nm", 0.8),
    ],
)
def test_electrical_power_by_conversion_and_share(edge: str, watts: float) -> None:
    stated = output(electrical="24 W", uvb_share="5 %", conversion="25 %", edge=edge)
    assert stated.radiant_power(LINES, *RUN) == pytest.approx(watts)
    assert stated.note is None


def test_guessed_conversion_is_noted_and_used() -> None:
    guessed = output(electrical="24 W", uvb_share="5 %")
    stated = output(electrical="24 W", uvb_share="5 %", conversion=CONVERSION, edge="320 nm")
    assert guessed.radiant_power(LINES, *RUN) == stated.radiant_power(LINES, *RUN)
    assert guessed.note == (
        "the share of electrical power that leaves as radiation is a guess of 25%; at 15% to 35% every irradiance "
        "would be 0.60 to 1.40 times that shown"
    )


@pytest.mark.parametrize(
    ("keys", "reference"),
    [
        ({"uvi": 3.1, "at": "30 cm", "setting": "fixture"}, Reference("uvi", 3.1, 0.3, "fixture")),
        ({"uvb": "150 uW/cm2", "at": "12 in", "setting": "bare"}, Reference("uvb-320", 1.5, 0.3048, "bare")),
        (
            {"uvb": "150 uW/cm2", "at": "1 ft", "setting": "bare", "edge": "315 nm"},
            Reference("uvb-315", 1.5, 0.3048, "bare"),
        ),
        ({"radiant": "1 W"}, None),
        ({"electrical": "24 W", "uvb_share": 0.05}, None),
    ],
)
def test_reference_reading(keys: dict[str, object], reference: Reference | None) -> None:
    found = output(**keys).reference()
    if reference is None or found is None:
        assert reference == found
        return
    assert reference[0::3] == found[0::3]
    assert reference[1:3] == pytest.approx(found[1:3], rel=1e-12)


def test_reading_at_a_distance_gives_no_power_by_itself() -> None:
    with pytest.raises(ValueError, match="'uvi' at a distance gives no power by itself"):
        output(uvi=3, at="30 cm", setting="bare").radiant_power(LINES, *RUN)


@pytest.mark.parametrize(
    ("keys", "low", "high"),
    [
        ({"radiant": "1 W", "band": ["280 nm", "290 nm"]}, 280, 290),
        ({"electrical": "24 W", "uvb_share": "5 %"}, 280, 320),
    ],
)
def test_output_where_the_spectrum_is_dark(keys: dict[str, object], low: int, high: int) -> None:
    message = f"no power between {low} and {high} nm, where its output is stated"
    with pytest.raises(ValueError, match=message):
        output(**keys).radiant_power(Spectrum.from_lines([(365.0, 1.0)]), *RUN)


ONE_OF = "exactly one of radiant, uvi, uvb, electrical says how strong a lamp is; "


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({}, ONE_OF + "found none"),
        ({"at": "30 cm"}, ONE_OF + "found none"),
        ({"uvi": 3, "radiant": "1 W"}, ONE_OF + "found radiant and uvi"),
        ({"uvi": 3, "at": "30 cm"}, "'uvi' needs setting = 'bare' (the lamp alone) or 'fixture' (with the reflectors "
         "attached to it)"),
        ({"uvb": "1 W/m2", "setting": "bare"}, "'uvb' needs at = '30 cm', the distance of that reading from the "
         "lamp's axis"),
        ({"electrical": "24 W"}, "'electrical' needs uvb_share = '5 %', the share of UVB that the box states"),
        ({"uvi": 3, "at": "30 cm", "setting": "bare", "edge": "320 nm"},
         "'uvi' goes with 'at' and 'setting', not with 'edge'"),
        ({"radiant": "1 W", "at": "30 cm", "setting": "bare"},
         "'radiant' goes with 'band', not with 'at' and 'setting'"),
        ({"uvb": "1 W/m2", "at": "30 cm", "setting": "bare", "edge": "318 nm"},
         "edge is '315 nm' (CIE) or '320 nm' (usual among lamp makers), not 318 nm"),
        ({"radiant": "1 W", "band": ["320 nm", "280 nm"]},
         "the wavelengths of 'band' must increase, not 320 to 280 nm"),
        ({"electrical": "24 W", "uvb_share": 0},
         "'uvb_share' must be above 0; a lamp without output is left out, or has level 0"),
        ({"radiant": "0 W"}, "Input should be greater than 0"),
        ({"uvb": 150, "at": "30 cm", "setting": "bare"},
         "irradiance needs a unit: write '150 uW/cm2' (allowed: uW/cm2, mW/cm2, mW/m2, W/m2)"),
    ],
)  # fmt: skip
def test_refusals(keys: dict[str, object], message: str) -> None:
    with pytest.raises(ValidationError) as caught:
        output(**keys)
    assert [message] == [str(error["msg"]).removeprefix("Value error, ") for error in caught.value.errors()]
