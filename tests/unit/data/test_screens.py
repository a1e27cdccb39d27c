"""The packaged screens: every file is complete, says what is a guess, and has the open area of its wires and count."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

import sim
from sim.materials.curve import Table
from sim.materials.screen import Screen
from sim.report.guesses import guessed_values
from sim.scene import library
from sim.screens.weave import direct_transmittance

FOLDER = Path(sim.__file__).parent / "data" / "screens"
SCREENS = {path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(FOLDER.glob("*.toml"))}


def law(name: str) -> Screen:
    found = library.material(name)
    assert isinstance(found, Screen)
    return found


# Open area (1 - d/p)^2 with p = 25.4 mm / count (ASTM E2016).
OPEN_AREA = {
    "insect-screen-16-mesh": 0.67898,
    "insect-screen-16-mesh-bright": 0.67898,
    "insect-screen-18x16-mesh": 0.66085,
    "wire-cloth-12-mesh": 0.52705,
    "wire-cloth-8-mesh": 0.60276,
    "hardware-cloth-4-mesh": 0.81000,
    "hardware-cloth-2-mesh": 0.84872,
}


def test_the_library_finds_every_file() -> None:
    assert tuple(sorted(SCREENS)) == library.screen_names()
    assert set(OPEN_AREA) == set(SCREENS)
    assert set(library.law_names()) == {*library.material_names(), *library.screen_names()}
    assert len(library.law_names()) == len(library.material_names()) + len(library.screen_names())


@pytest.mark.parametrize("name", SCREENS)
def test_a_screen_says_where_it_comes_from(name: str) -> None:
    data = SCREENS[name]
    assert set(data) == {"title", "source", "kind_of_value", "licence", "note", "law"}
    assert min(len(data[key]) for key in ("title", "source", "licence", "note")) > 15
    assert data["kind_of_value"] == "guess"
    reflectance = law(name).reflectance
    assert isinstance(reflectance, Table)
    assert reflectance.low is not None
    assert reflectance.high is not None
    assert np.all(np.array(reflectance.low) <= reflectance.value)
    assert np.all(np.array(reflectance.high) >= reflectance.value)


@pytest.mark.parametrize("name", OPEN_AREA)
def test_open_area(name: str) -> None:
    open_area = float(direct_transmittance(law(name).fill, np.array([0.0, 0.0, 1.0])))
    assert OPEN_AREA[name] == pytest.approx(open_area, abs=1e-5)


def test_a_guess_is_told_where_it_is_used() -> None:
    told = guessed_values({"enclosure": {"walls": {"ceiling": "hardware-cloth-4-mesh"}}})
    assert [line for line in told if "the screen 'hardware-cloth-4-mesh'" in line and line.endswith("is a guess")]
    assert list(guessed_values({"enclosure": {"walls": {"ceiling": "black"}}})) == []
