import numpy as np
import pytest

from sim.geometry.closed import is_watertight, signed_volume
from tests.unit.furniture.part_specs import body, part

BLOCK = {"corner": ["70 cm", "30 cm", "25 cm"], "size": ["50 cm", "30 cm", "2 cm"]}


@pytest.mark.parametrize("kind", ["box", "ledge"])
def test_block_is_a_closed_body_of_six_named_faces(kind: str) -> None:
    surfaces = part({"kind": kind, **BLOCK}).surfaces(0.05)
    assert [surface.name for surface in surfaces] == [
        "thing.bottom",
        "thing.top",
        "thing.front",
        "thing.back",
        "thing.left",
        "thing.right",
    ]
    assert is_watertight(body(surfaces))
    np.testing.assert_allclose(signed_volume(body(surfaces)), 0.5 * 0.3 * 0.02, rtol=1e-9)
    assert all(surface.closed and surface.measured for surface in surfaces)


def test_top_of_a_ledge_is_read_from_above_in_x_and_y_and_is_where_the_animal_lies() -> None:
    surfaces = {surface.name: surface for surface in part({"kind": "ledge", **BLOCK}).surfaces(0.05)}
    top = surfaces["thing.top"]
    assert top.frame is not None
    assert top.frame.shape == (10, 6)
    np.testing.assert_allclose(top.frame.normal, [0.0, 0.0, 1.0])
    np.testing.assert_allclose(top.frame.origin, [0.7, 0.3, 0.27])
    np.testing.assert_allclose(top.frame.cell_areas.sum(), 0.5 * 0.3)
    assert [name for name, surface in surfaces.items() if surface.reachable] == ["thing.top"]


def test_every_face_is_read_on_the_side_of_its_fronts() -> None:
    for surface in part({"kind": "box", **BLOCK}).surfaces(0.05):
        assert surface.frame is not None
        np.testing.assert_allclose(surface.mesh.normals, np.tile(surface.frame.normal, (2, 1)), atol=1e-15)


def test_nothing_is_reachable_where_the_file_says_so() -> None:
    surfaces = part({"kind": "ledge", "reachable": False, **BLOCK}).surfaces(0.05)
    assert not any(surface.reachable for surface in surfaces)
