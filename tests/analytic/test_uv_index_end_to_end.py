"""From a lamp's radiant power and spectrum to the UV index at a meter, all in one.

The lamp: a Gaussian band of 310 nm and 40 nm FWHM, cut below 280 nm, has a UV index of 12.3512 per W/m2 (ISO/CIE
17166:2019 weighting, WHO/SDE/OEH/02.2; see test_uv_index.py). Irradiance: Howell's cylinder, Keitz's line.
"""

from pathlib import Path

import pytest

from tests.support.answers import SCENES, Answer, near, traced, traced_file, traced_text
from tests.support.scene_blocks import point, scene, tube
from tests.support.tube_light import opposite_tube, under_line
from tests.support.woven_wires import under_a_line

PER_WATT = 12.3512


def test_tube() -> None:
    answer = traced_file("uv-index-of-a-tube")
    irradiance = opposite_tube(1.5, 0.013, 0.6, 0.3)
    assert irradiance == pytest.approx(1.09981, abs=6e-6)
    assert irradiance == near(answer.sensor("below"), 0.003)
    assert 13.584 == pytest.approx(PER_WATT * irradiance, rel=1e-4)
    assert PER_WATT * irradiance == near(answer.uvi("below"), 0.004)


def test_thin_tube() -> None:
    expected = PER_WATT * under_line(1.5, 0.6, 0.3)
    assert 13.405 == pytest.approx(expected, rel=1e-4)
    assert expected == near(traced_file("uv-index-of-a-thin-tube").uvi("below"), 0.005)


def test_thin_tube_over_a_mesh() -> None:
    expected = PER_WATT * under_line(1.5, 0.6, 0.3) * under_a_line(0.176, 0.6, 0.3)
    assert 8.907 == pytest.approx(expected, rel=1e-4)
    assert expected == near(traced_file("uv-index-under-a-mesh").uvi("below"), 0.005)


# UV index per W/m2 of other bands, cut below 280 nm, and of two mercury lines by hand: 40 s(l).
@pytest.mark.parametrize(
    ("light", "per_watt"),
    [
        ('bands = [{ peak = "312 nm", fwhm = "2.5 nm", from = "280 nm", to = "400 nm" }]', 1.9839),
        ('bands = [{ peak = "306 nm", fwhm = "40 nm", from = "280 nm", to = "400 nm" }]', 15.3116),
        ('bands = [{ peak = "351 nm", fwhm = "40 nm", from = "280 nm", to = "400 nm" }]', 0.16133),
        ('lines = [{ at = "313.155 nm", weight = 1.0 }]', 40 * 10 ** (0.094 * (298 - 313.155))),
        (
            'lines = [{ at = "296.728 nm", weight = 1.0 }, { at = "365.015 nm", weight = 3.0 }]',
            40 * (0.25 + 0.75 * 10 ** (0.015 * (140 - 365.015))),
        ),
    ],
)
def test_other_spectra(light: str, per_watt: float, tmp_path: Path) -> None:
    lamp = tube((-0.2, 0, 0), (0.2, 0, 0), 0.008, 0.7, light=f"spectrum = {{ {light} }}")
    text = scene("Another spectrum", lamp, point("meter", (0.1, 0, -0.25)), histories=200_000)
    expected = per_watt * opposite_tube(0.7, 0.008, 0.4, 0.25, 0.1)
    assert expected == near(traced_text(text, tmp_path).uvi("meter"), 0.004)


def numbers(answer: Answer) -> list[float]:
    """All numbers of a summary that are proportional to a lamp's power."""
    found = []
    for kind in ("surfaces", "sensors"):
        for row in answer.summary[kind]:
            found += [row[key] for key in sorted(row) if key.startswith(("irradiance", "uvi")) and "where" not in key]
    energy = answer.summary["energy"]
    found += [energy[key] for key in ("emitted_W", "absorbed_W", "escaped_W", "unfinished_W")]
    return [*found, *energy["absorbed_by_W"].values()]


@pytest.mark.parametrize(
    "dimmed",
    [
        ('output = { radiant = "10 W" }', 'output = { radiant = "5 W" }'),
        ('body = "black"', 'body = "black"\nlevel = "50 %"'),
    ],
)
def test_half_the_power_halves_every_number(dimmed: tuple[str, str], tmp_path: Path) -> None:
    # Light is linear in the lamp: with the same seed not a bit is left to chance.
    text = (SCENES / "six-walls-tube.toml").read_text(encoding="utf-8")
    text = text.replace("histories = 2000000", "histories = 100000").replace("uva-phosphor-368", "daylight-mix-uvb")
    text += '\n[[sensors]]\nname = "meter"\nkind = "point"\nat = ["0.5 m", "0.3 m", "0.1 m"]\nnormal = [0, 0, 1]\n'
    assert text.count(dimmed[0]) == 1
    full, half = tmp_path / "full.toml", tmp_path / "half.toml"
    full.write_text(text, encoding="utf-8")
    half.write_text(text.replace(*dimmed), encoding="utf-8")
    whole = numbers(traced(full))
    assert len(whole) > 50
    assert [0.5 * number for number in whole] == numbers(traced(half))
