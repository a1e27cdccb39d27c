import numpy as np
import pytest
from pydantic import ValidationError

from sim.furniture.plant import Plant
from sim.materials.surface import Surface
from tests.unit.furniture.part_specs import part

PLANT = {
    "kind": "plant",
    "corner": ["80 cm", "35 cm", "5 cm"],
    "size": ["30 cm", "20 cm", "40 cm"],
    "leaves": 4000,
    "leaf_size": "6 cm",
}


def plant(**keys: object) -> Surface:
    (surface,) = part({**PLANT, **keys}).surfaces(0.05)
    return surface


def test_leaves_are_flat_diamonds_of_the_given_size() -> None:
    surface = plant(leaf_width="2 cm")
    assert len(surface.mesh.faces) == 2 * 4000
    np.testing.assert_allclose(surface.mesh.areas, 0.5 * 0.5 * 0.06 * 0.02, rtol=1e-9)
    normals = surface.mesh.normals.reshape(-1, 2, 3)
    np.testing.assert_allclose(normals[:, 0], normals[:, 1], atol=1e-9)
    tips = surface.mesh.vertices.reshape(-1, 4, 3)
    np.testing.assert_allclose(np.linalg.norm(tips[:, 0] - tips[:, 2], axis=1), 0.06, rtol=1e-9)
    np.testing.assert_allclose(np.linalg.norm(tips[:, 1] - tips[:, 3], axis=1), 0.02, rtol=1e-9)


def test_leaf_area_is_that_of_the_mesh() -> None:
    spec = part(PLANT)
    assert isinstance(spec, Plant)
    np.testing.assert_allclose(spec.leaf_area, plant().mesh.areas.sum(), rtol=1e-9)


def test_every_leaf_lies_within_the_box_and_they_fill_it() -> None:
    low, high = plant().mesh.bounds
    assert np.all(low >= [0.8, 0.35, 0.05])
    assert np.all(high <= [1.1, 0.55, 0.45])
    np.testing.assert_allclose(high - low, [0.3, 0.2, 0.4], rtol=0.02)


@pytest.mark.parametrize("direction", [[0, 0, 1], [1, 0, 0], [0.6, 0.0, 0.8]])
def test_light_from_any_direction_meets_half_the_leaf_area(direction: list[float]) -> None:
    normals = plant().mesh.normals[::2]
    met = np.abs(normals @ np.array(direction, dtype=np.float64))
    # |cosine| of even directions is uniform on 0 to 1: mean 1/2, variance 1/12; four standard errors.
    assert abs(met.mean() - 0.5) < 4.0 * np.sqrt(1.0 / 12.0 / len(normals))


def test_leaves_are_read_on_their_upper_sides() -> None:
    surface = plant()
    assert np.all(surface.mesh.normals[:, 2] >= 0.0)
    assert not surface.closed


def test_one_receiver_or_layers_of_equal_numbers_from_below() -> None:
    assert set(plant().patches.tolist()) == {0}  # type: ignore[union-attr]
    surface = plant(receivers=3)
    assert surface.patches is not None
    layer, height = surface.patches[::2], surface.mesh.vertices.reshape(-1, 4, 3).mean(axis=1)[:, 2]
    assert np.bincount(layer).tolist() == [1334, 1333, 1333]
    np.testing.assert_array_equal(surface.patches[::2], surface.patches[1::2])
    for lower in range(2):
        assert height[layer == lower].max() <= height[layer == lower + 1].min()


def test_the_same_seed_grows_the_same_plant() -> None:
    np.testing.assert_array_equal(plant(seed=7).mesh.vertices, plant(seed=7).mesh.vertices)
    assert not np.array_equal(plant(seed=7).mesh.vertices, plant(seed=8).mesh.vertices)


def test_law_is_leaf_unless_told_otherwise() -> None:
    keys = {key: value for key, value in PLANT.items() if key != "law"}
    assert Plant.model_validate({"name": "fern", **keys}).law == "leaf"


@pytest.mark.parametrize(
    ("keys", "message"),
    [
        ({"leaf_size": "21 cm"}, "leaves of 21 cm do not fit a box that is only 20 cm"),
        ({"leaves": 3, "receivers": 4}, "'receivers' is 4, but there are only 3 leaves"),
        ({"leaves": 0}, "greater than or equal to 1"),
    ],
)
def test_plants_that_cannot_grow_are_refused(keys: dict[str, object], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        part({**PLANT, **keys})
