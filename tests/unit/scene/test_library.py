import pytest

from sim.scene.library import (
    emission,
    lamp_spectrum_entry,
    lamp_spectrum_names,
    material,
    material_entry,
    material_names,
)
from sim.units import WAVELENGTH, parse_quantity


@pytest.mark.parametrize("name", material_names())
def test_every_material_says_where_it_comes_from(name: str) -> None:
    entry = material_entry(name)
    assert min(len(entry.title), len(entry.source), len(entry.licence)) > 5
    assert material(name) is entry.law
    if entry.measured_over is not None:
        low, high = (parse_quantity(end, WAVELENGTH, "wavelength", "310 nm") for end in entry.measured_over)
        assert 100.0 < low < high < 1000.0


@pytest.mark.parametrize("name", lamp_spectrum_names())
def test_every_lamp_spectrum_is_whole(name: str) -> None:
    entry = lamp_spectrum_entry(name)
    assert min(len(entry.title), len(entry.source), len(entry.licence)) > 5
    assert emission(name).spectrum(emission, 250.0, 400.0).power(250.0, 400.0) == pytest.approx(1.0)


def test_names_are_sorted_and_there_are_some() -> None:
    assert list(material_names()) == sorted(material_names())
    assert {"melamine-white", "sand-dry", "black"} <= set(material_names())
    assert "uvb-phosphor-306" in lamp_spectrum_names()


@pytest.mark.parametrize("name", ["", "no-such", "../lamps/uvb-phosphor-306", "Black", "black.toml"])
def test_unknown_names_are_refused(name: str) -> None:
    with pytest.raises(KeyError):
        material(name)
    with pytest.raises(KeyError):
        emission(name)
