"""The five ways to say how strong a lamp is."""

import pytest
from pydantic import ValidationError

from sim.lamps.output import Output
from sim.lamps.reading import METER_ERROR, Reference
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
        ({"readings": [{"at": "30 cm", "uvi": 3}], "setting": "bare"}, "readings"),
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
    assert stated.range_of_power == (1.0, 1.0)
    assert stated.note is not None
    assert stated.note.endswith("the conversion is the scene's, without a range")


def test_guessed_conversion_is_noted_and_used() -> None:
    guessed = output(electrical="24 W", uvb_share="5 %")
    stated = output(electrical="24 W", uvb_share="5 %", conversion="25 %", edge="320 nm")
    assert guessed.radiant_power(LINES, *RUN) == stated.radiant_power(LINES, *RUN)
    assert guessed.note == (
        "UVB is 24 W of electrical power x 0.25 (conversion) x 0.05 (share) = 0.3 W from 280 to 320 nm; the conversion "
        "is a guess of the program, between 0.15 and 0.35, so every irradiance may be 0.60 to 1.40 times that shown"
    )
    assert guessed.range_of_power == pytest.approx((0.6, 1.4))


def test_conversion_between_two_shares() -> None:
    ranged = output(electrical="24 W", uvb_share="5 %", conversion=["20 %", 0.4])
    assert (0.2, 0.4) == ranged.conversion
    # The middle, 30 %, is taken: 24 x 0.3 x 0.05 = 0.36 W of UVB, which is 3 of 8 parts.
    assert ranged.radiant_power(LINES, *RUN) == pytest.approx(0.96)
    assert ranged.range_of_power == pytest.approx((2 / 3, 4 / 3))
    assert ranged.note is not None
    assert "the conversion is given by the scene, between 0.2 and 0.4" in ranged.note


@pytest.mark.parametrize(("share", "warned"), [("30 %", False), ("30.6 %", True)])
def test_more_ultraviolet_than_a_tube_can_give(share: str, warned: bool) -> None:
    # All 300 and 317 nm and also 365 nm lie within 280 to 380 nm: 8/3 of the UVB watts. 0.275 x 8/3 x 30 % = 22 %.
    stated = output(electrical="40 W", uvb_share=share, conversion="27.5 %")
    warning = stated.over_the_ceiling(LINES, *RUN)
    assert warned == (warning is not None)
    assert warning is None or warning.startswith("22% of its electrical power would leave between 280 and 380 nm")


def test_no_ceiling_where_electrical_power_is_not_known() -> None:
    assert output(radiant="100 W").over_the_ceiling(LINES, *RUN) is None


def test_table_of_readings() -> None:
    rows = [{"at": "20 cm", "uvi": 5.2}, {"at": "30 cm", "uvb": "150 uW/cm2", "error": "10 %"}]
    found = output(readings=rows, setting="fixture", edge="315 nm").references()
    assert found[0] == Reference("uvi", 5.2, 0.2, "fixture", METER_ERROR)
    assert found[1] == Reference("uvb-315", 1.5, 0.3, "fixture", 0.1)


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
    readings = output(**keys).references()
    if reference is None:
        assert () == readings
        return
    (found,) = readings
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


ONE_OF = "exactly one of radiant, uvi, uvb, readings, electrical says how strong a lamp is; "


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
        ({"electrical": "24 W", "uvb_share": "5 %", "conversion": [0.0, 0.2]},
         "'conversion' must be above 0; a lamp without output is left out, or has level 0"),
        ({"electrical": "24 W", "uvb_share": "5 %", "conversion": ["30 %", "20 %"]},
         "the lower of two shares comes first, not 0.3 before 0.2"),
        ({"electrical": "24 W", "uvb_share": "5 %", "conversion": ["30 %"]},
         "is one share, such as '25 %', or the two between which it lies, such as ['15 %', '35 %']"),
        ({"readings": [{"at": "30 cm", "uvi": 3}]}, "'readings' needs setting = 'bare' (the lamp alone) or 'fixture' "
         "(with the reflectors attached to it)"),
        ({"readings": [], "setting": "bare"}, "'readings' is empty; write rows such as { at = '30 cm', uvi = 3.1 }"),
        ({"readings": [{"at": "30 cm"}], "setting": "bare"},
         "a reading has either uvi = 3.1 or uvb = '150 uW/cm2'"),
        ({"readings": [{"at": "30 cm", "uvi": 3, "error": 0}], "setting": "bare"},
         "'error' must be above 0, or this reading would outweigh all others"),
        ({"radiant": "0 W"}, "Input should be greater than 0"),
        ({"uvb": 150, "at": "30 cm", "setting": "bare"},
         "irradiance needs a unit: write '150 uW/cm2' (allowed: uW/cm2, mW/cm2, mW/m2, W/m2)"),
    ],
)  # fmt: skip
def test_refusals(keys: dict[str, object], message: str) -> None:
    with pytest.raises(ValidationError) as caught:
        output(**keys)
    assert [message] == [str(error["msg"]).removeprefix("Value error, ") for error in caught.value.errors()]
