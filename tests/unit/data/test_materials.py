"""The packaged materials: every file is complete, in range, and as dark or bright as its sources say."""

import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pydantic import TypeAdapter

import sim
from sim.materials.law import Law, law_components

FOLDER = Path(sim.__file__).parent / "data" / "materials"
MATERIALS = {path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(FOLDER.glob("*.toml"))}
WANTED = {
    "anodised-aluminium",
    "black",
    "concrete",
    "cork",
    "galvanised-steel-fresh",
    "galvanised-steel-weathered",
    "glass-clear-4mm",
    "glass-low-iron-4mm",
    "leaf",
    "melamine-white",
    "polished-aluminium",
    "ptfe-bulk",
    "ptfe-membrane",
    "ptfe-pressed",
    "pvc-white",
    "rock",
    "rolled-aluminium",
    "sand-dry",
    "sand-wet",
    "soil",
    "stainless-steel",
    "white-paint-metal-oxide",
    "white-paint-tio2",
    "wood-varnished",
    "wood-weathered",
}
SHARES = [
    (name, key) for name, data in MATERIALS.items() for key in ("reflectance", "transmittance") if key in data["law"]
]


def nanometres(texts: list[str]) -> list[float]:
    assert all(text.endswith(" nm") for text in texts)
    return [float(text.removesuffix(" nm")) for text in texts]


def at(table: dict[str, Any], wavelength_nm: float, column: str = "value") -> float:
    return float(np.interp(wavelength_nm, nanometres(table["wavelength"]), table[column]))


def reflectance(name: str, wavelength_nm: float, column: str = "value") -> float:
    """Reflectance of a matt, glossy or leaf law; that of a metal at normal incidence by Fresnel's equations."""
    law = MATERIALS[name]["law"]
    if law["kind"] == "metal":
        index = complex(at(law["n"], wavelength_nm), at(law["k"], wavelength_nm))
        return abs((index - 1) / (index + 1)) ** 2
    return at(law["reflectance"], wavelength_nm, column)


def test_the_wanted_materials_are_there() -> None:
    assert set(MATERIALS) >= WANTED


@pytest.mark.parametrize("name", MATERIALS)
def test_a_material_says_where_it_comes_from(name: str) -> None:
    data = MATERIALS[name]
    known = {"title", "source", "kind_of_value", "licence", "measured_over", "note", "law"}
    assert set(data) <= known
    assert len(data["title"]) > 3
    assert len(data["source"]) > 20
    assert data["kind_of_value"] in {"measured", "computed", "guess"}
    assert data["licence"].startswith("facts, not protected")
    if data["kind_of_value"] == "measured":
        low, high = nanometres(data["measured_over"])
        assert 200 < low < high < 500


@pytest.mark.parametrize("name", MATERIALS)
def test_a_law_is_one_that_a_scene_can_state_and_keeps_energy(name: str) -> None:
    law = TypeAdapter[Law](Law).validate_python(MATERIALS[name]["law"])
    parts = law_components(law, np.linspace(250.0, 400.0, 151))
    total = parts.diffuse_reflectance + parts.diffuse_transmittance + parts.lobe_reflectance
    if parts.specular is not None:
        total = total[:, None] + parts.specular.sum(axis=-1)
    assert np.all((total >= 0) & (total <= 1 + 1e-12))


@pytest.mark.parametrize(("name", "key"), SHARES)
def test_low_value_and_high_are_in_order_over_280_to_400_nm(name: str, key: str) -> None:
    table = MATERIALS[name]["law"][key]
    wavelength = np.array(nanometres(table["wavelength"]))
    low, value, high = (np.array(table[column]) for column in ("low", "value", "high"))
    assert low.size == value.size == high.size == wavelength.size
    assert np.all(np.diff(wavelength) > 0)
    assert (wavelength[0] <= 280, wavelength[-1] >= 400) == (True, True)
    assert np.all((low >= 0) & (low <= value) & (value <= high) & (high <= 1))


@pytest.mark.parametrize(
    "name", ["white-paint-tio2", "wood-weathered", "wood-varnished", "leaf", "pvc-white", "melamine-white"]
)
def test_what_looks_bright_is_dark_in_the_uvb(name: str) -> None:
    # Janecek, IEEE Trans. Nucl. Sci. 59 (2012) 490; IARC Monograph 55 (1992) Table 4.
    assert reflectance(name, 300) < 0.15


@pytest.mark.parametrize("wavelength", [280, 300, 320, 340, 360, 380, 400])
def test_aluminium_outshines_whites_without_ptfe(wavelength: float) -> None:
    aluminium = min(
        reflectance(name, wavelength) for name in ("polished-aluminium", "rolled-aluminium", "anodised-aluminium")
    )
    whites = ["white-paint-tio2", "white-paint-metal-oxide", "melamine-white", "pvc-white"]
    assert aluminium > max(reflectance(name, wavelength) for name in whites)


@pytest.mark.parametrize("wavelength", [280, 300, 325, 350, 400])
def test_a_leaf_passes_and_returns_little(wavelength: float) -> None:
    law = MATERIALS["leaf"]["law"]
    assert at(law["reflectance"], wavelength, "high") + at(law["transmittance"], wavelength, "high") < 0.12


@pytest.mark.parametrize(
    ("name", "wavelength", "expected"),
    [
        ("polished-aluminium", 310, 0.92721),  # Rakic 1995 by Fresnel's equations
        ("polished-aluminium", 400, 0.923759),
        ("stainless-steel", 300, 0.464677),  # Karlsson & Ribbing 1982 by Fresnel's equations
        ("stainless-steel", 400, 0.554731),
        ("rolled-aluminium", 330, 0.808),  # Spisz et al. 1969
        ("ptfe-pressed", 300, 0.984),  # Weidner & Hsia 1981
        ("sand-dry", 400, 0.24),  # Feister & Grewe 1995
        ("wood-weathered", 300, 0.064),  # IARC 1992, Table 4
        ("leaf", 300, 0.066),  # mean of 35 species
    ],
)
def test_values_are_those_of_their_source(name: str, wavelength: float, expected: float) -> None:
    assert reflectance(name, wavelength) == pytest.approx(expected, abs=1e-5)


# Normal incidence, incoherent sheet, from the constants of Rubin 1985 and Vogt et al. 2016 (310, 320, 340, 360 nm).
@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("glass-clear-4mm", [0.0003, 0.105, 0.610, 0.846]),
        ("glass-low-iron-4mm", [0.132, 0.562, 0.833, 0.898]),
        ("glass-iron-703ppm-4mm", [0.0007, 0.017, 0.491, 0.815]),
        ("glass-iron-5ppm-4mm", [0.546, 0.686, 0.873, 0.907]),
    ],
)
def test_glass_passes_what_its_constants_say(name: str, expected: list[float]) -> None:
    assert [transmittance(name, nm) for nm in (310, 320, 340, 360)] == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize("name", [name for name in MATERIALS if name.startswith("glass")])
def test_glass_grows_darker_below_its_tabulated_range(name: str) -> None:
    assert transmittance(name, 280) < transmittance(name, 290) < transmittance(name, 300) < transmittance(name, 310)


def transmittance(name: str, wavelength_nm: float) -> float:
    """Transmittance of a sheet at normal incidence, all passes summed without interference."""
    law = MATERIALS[name]["law"]
    assert law["thickness"] == "4 mm"
    n, k = at(law["n"], wavelength_nm), at(law["k"], wavelength_nm)
    once = math.exp(-4 * math.pi * k * 4e-3 / (wavelength_nm * 1e-9))
    surface = ((n - 1) / (n + 1)) ** 2
    return (1 - surface) ** 2 * once / (1 - (surface * once) ** 2)
