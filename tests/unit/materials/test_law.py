"""Laws that cannot be are refused, each with what is wrong."""

from typing import Any

import pytest
from pydantic import TypeAdapter, ValidationError

from sim.materials.law import Law

LAW: TypeAdapter[Law] = TypeAdapter(Law)
NM = ["300 nm", "400 nm"]

IMPOSSIBLE: list[tuple[dict[str, Any], str]] = [
    ({"kind": "lambertian", "reflectance": 1.01}, "1.01 is outside 0 to 1"),
    ({"kind": "mirror", "reflectance": -0.1}, "-0.1 is outside 0 to 1"),
    ({"kind": "leaf", "reflectance": 0.6, "transmittance": 0.41}, "add up to 1.01"),
    (
        {"kind": "leaf", "reflectance": {"wavelength": NM, "value": [0.2, 0.9]}, "transmittance": 0.2},
        "add up to 1.1 at 400 nm",
    ),
    ({"kind": "sheet", "n": 0.9, "k": 0.0, "thickness": "4 mm"}, "0.9 is below 1"),
    ({"kind": "sheet", "n": 1.5, "k": -1e-6, "thickness": "4 mm"}, "-1e-06 is below zero"),
    ({"kind": "metal", "n": 0.0, "k": 0.0}, "0 is not above zero"),
    ({"kind": "glossy", "reflectance": 0.5, "specular_share": 1.5, "roughness": 0.1}, "less than or equal to 1"),
    ({"kind": "screen", "wire": "1 mm", "pitch": "1 mm"}, "nothing passes"),
    ({"kind": "screen", "wire": "1 mm", "mesh": 26}, "nothing passes"),
    ({"kind": "screen", "wire": "1 mm"}, "needs its pitch"),
    ({"kind": "screen", "wire": "1 mm", "mesh": 16, "pitch": "1.5875 mm"}, "one of them"),
    ({"kind": "screen", "wire": "1 mm", "mesh": [16, 0]}, "greater than 0"),
    ({"kind": "screen", "wire": "1 mm", "mesh": 8, "reflectance": 1.1}, "1.1 is outside 0 to 1"),
    ({"kind": "screen", "wire": "1 mm", "mesh": 8, "weave": "twill"}, "Extra inputs"),
]


@pytest.mark.parametrize(("data", "words"), IMPOSSIBLE)
def test_an_impossible_law_is_refused(data: dict[str, Any], words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        LAW.validate_python(data)


def test_a_leaf_may_return_and_pass_all_light() -> None:
    law = LAW.validate_python({"kind": "leaf", "reflectance": 0.7, "transmittance": 0.3})
    assert law.kind == "leaf"


@pytest.mark.parametrize("wavelengths", [["300 nm"], ["300 nm", "300 nm"], ["400 nm", "300 nm"]])
def test_wavelengths_of_a_table_must_increase(wavelengths: list[str]) -> None:
    table = {"wavelength": wavelengths, "value": [0.1] * len(wavelengths)}
    with pytest.raises(ValidationError, match=r"must increase|at least two"):
        LAW.validate_python({"kind": "lambertian", "reflectance": table})
