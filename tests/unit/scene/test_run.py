import pytest
from pydantic import ValidationError

from sim.scene.animal import Animal
from sim.scene.run import Run
from tests.support.manual import examples


def test_defaults_are_those_of_the_manual_page() -> None:
    assert Run().model_dump() == {
        "histories": 2_000_000,
        "error": None,
        "seed": 1,
        "receiver_size": 0.05,
        "wavelengths": (250.0, 400.0),
        "bands": "auto",
    }
    assert Animal().model_dump() == {"back_height": 0.03, "reach": None}


def test_all_keys_are_read() -> None:
    run = Run.model_validate(
        {
            "histories": 5,
            "error": "2 %",
            "seed": 0,
            "receiver_size": "2 cm",
            "wavelengths": ["280 nm", "0.4 um"],
            "bands": "5 nm",
        }
    )
    assert (run.error, run.receiver_size, run.wavelengths, run.bands) == (0.02, 0.02, (280.0, 400.0), 5.0)


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("histories", 0),
        ("histories", 2e6),
        ("histories", True),
        ("histories", "100"),
        ("error", "0 %"),
        ("error", 1.5),
        ("seed", -1),
        ("seed", 2**63),
        ("receiver_size", "0 cm"),
        ("wavelengths", ["400 nm", "250 nm"]),
        ("wavelengths", ["400 nm", "400 nm"]),
        ("bands", "narrow"),
        ("bands", "0 nm"),
        ("bands", "0.05 nm"),
    ],
)
def test_values_that_make_no_run_are_refused(key: str, value: object) -> None:
    with pytest.raises(ValidationError) as caught:
        Run.model_validate({key: value})
    assert {error["loc"][0] for error in caught.value.errors()} == {key}


def test_examples_of_the_manual_pages_are_valid() -> None:
    assert [Run.model_validate(example["run"]).error for example in examples(Run)] == [0.01]
    assert [Animal.model_validate(example["animal"]).back_height for example in examples(Animal)] == [0.04]
