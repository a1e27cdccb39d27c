"""Every weighting, by table: what must hold for any that is added."""

import itertools
import pickle
from pathlib import Path

import numpy as np
import pytest

from sim.spectra.weighting import WEIGHTINGS, read_weighting

NAMES = {
    "uvi",
    "erythema",
    "erythema-1987",
    "previtamin-d3",
    "actinic",
    "uvb-315",
    "uvb-320",
    "uva",
    "total",
    "below-298",
}


def test_the_promised_names_are_there() -> None:
    assert set(WEIGHTINGS) >= NAMES
    assert all(name == weighting.name for name, weighting in WEIGHTINGS.items())


@pytest.mark.parametrize("name", WEIGHTINGS)
def test_weights_are_finite_in_range_and_zero_outside(name: str) -> None:
    weighting = WEIGHTINGS[name]
    weights = weighting(np.linspace(100, 800, 70001))
    assert np.all(np.isfinite(weights))
    assert np.all((weights >= 0) & (weights <= 1))
    assert weights.max() > 0.9
    outside = [0.0, 100.0, weighting.low_nm - 1e-9, weighting.high_nm + 1e-9, 800.0, 1e5]
    assert weighting(outside).tolist() == [0.0] * 6
    assert weighting((weighting.low_nm + weighting.high_nm) / 2) > 0


@pytest.mark.parametrize("name", WEIGHTINGS)
def test_weights_are_smooth_between_breakpoints(name: str) -> None:
    weighting = WEIGHTINGS[name]
    points = np.array(weighting.breakpoints_nm)
    assert (points[0], points[-1]) == (weighting.low_nm, weighting.high_nm)
    for low, high in itertools.pairwise(points):
        weights = weighting(np.linspace(low + 1e-9, high - 1e-9, 2001))
        step = (high - low) / 2000
        # Steeper than any action spectrum there is would mean a step that is not declared.
        assert np.max(np.abs(np.diff(weights))) <= 0.25 * step + 1e-9


@pytest.mark.parametrize("name", WEIGHTINGS)
def test_a_weighting_says_what_it_is(name: str) -> None:
    weighting = WEIGHTINGS[name]
    assert len(weighting.source) > 10
    assert weighting.unit == ("" if name == "uvi" else "W/m2")
    assert weighting.scale == (40 if name == "uvi" else 1)
    if name != "uvi":
        edges = f"{weighting.low_nm:g}-{weighting.high_nm:g} nm"
        assert edges in weighting.title


@pytest.mark.parametrize("name", WEIGHTINGS)
def test_a_weighting_can_be_sent_to_another_process(name: str) -> None:
    there_and_back = pickle.loads(pickle.dumps(WEIGHTINGS[name]))
    at = np.linspace(240, 410, 171)
    assert there_and_back(at).tolist() == WEIGHTINGS[name](at).tolist()


@pytest.mark.parametrize(
    ("name", "inside", "outside"),
    [
        ("uvb-315", [280.0, 314.999], [279.999, 315.0]),
        ("uvb-320", [280.0, 319.999], [279.999, 320.0]),
        ("uva", [315.0, 400.0], [314.999, 400.001]),
        ("total", [250.0, 400.0], [249.999, 400.001]),
        ("below-298", [250.0, 297.999], [249.999, 298.0]),
    ],
)
def test_adjoining_bands_share_no_wavelength(name: str, inside: list[float], outside: list[float]) -> None:
    assert WEIGHTINGS[name](inside).tolist() == [1.0, 1.0]
    assert WEIGHTINGS[name](outside).tolist() == [0.0, 0.0]


HEAD = 'title = "T, 300-302 nm"\nunit = "W/m2"\nscale = 2\nsource = "S"\nlicence = "L"\n'


def test_a_file_makes_a_weighting(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(HEAD + "table = [[300, 0.5], [302, 1.0]]")
    weighting = read_weighting(path)
    assert (weighting.name, weighting.scale, weighting.breakpoints_nm) == ("mine", 2.0, (300.0, 302.0))
    assert weighting([299.9, 300.0, 301.0, 302.0, 302.1]).tolist() == [0.0, 0.5, 0.75, 1.0, 0.0]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('title = "T"\ntable = [[300, 1], [301, 1]]', "missing key licence, scale, source, unit"),
        (HEAD + "table = [[300, 1]]", "at least two rows"),
        (HEAD + "table = [[300, 1, 2], [301, 1, 2]]", "at least two rows"),
        (HEAD + "table = [[300, 1], [300, 1]]", "must increase"),
        (HEAD + "table = [[300, 1], [301, -1]]", "not negative"),
        (HEAD + "table = [[300, 1], [301, nan]]", "finite"),
    ],
)
def test_a_faulty_file_is_named(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(text)
    with pytest.raises(ValueError, match=rf"mine\.toml.*{message}"):
        read_weighting(path)
