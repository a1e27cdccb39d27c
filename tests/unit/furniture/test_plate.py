import numpy as np
import pytest
from pydantic import ValidationError

from tests.unit.furniture.part_specs import part

PLATE = {
    "kind": "plate",
    "corner": ["10 cm", "10 cm", "40 cm"],
    "edge_u": ["30 cm", "0 cm", "0 cm"],
    "edge_v": ["0 cm", "30 cm", "40 cm"],
}


def test_plate_is_read_on_the_side_of_the_cross_product_of_its_edges() -> None:
    (surface,) = part({**PLATE, "back": "cork"}).surfaces(0.05)
    assert surface.frame is not None
    assert surface.frame.shape == (6, 10)
    np.testing.assert_allclose(surface.frame.normal, [0.0, -0.8, 0.6], atol=1e-15)
    np.testing.assert_allclose(surface.mesh.normals, np.tile([0.0, -0.8, 0.6], (2, 1)), atol=1e-15)
    np.testing.assert_allclose(surface.mesh.areas.sum(), 0.3 * 0.5)
    assert (surface.law, surface.back_law) == ("rock", "cork")
    assert (surface.closed, surface.reachable, surface.measured) == (False, False, True)


def test_wires_of_a_screen_run_along_the_first_edge_and_are_not_read() -> None:
    law = {"kind": "screen", "wire": "0.28 mm", "pitch": "1.5875 mm"}
    (surface,) = part({**PLATE, "edge_u": ["0 cm", "4 cm", "-3 cm"], "law": law}).surfaces(0.05)
    np.testing.assert_allclose(surface.tangent, [0.0, 0.8, -0.6], atol=1e-15)
    assert not surface.measured


@pytest.mark.parametrize(
    ("edges", "message"),
    [
        ({"edge_v": ["10 cm", "30 cm", "0 cm"]}, "must be perpendicular to each other; they meet at 71.6 deg"),
        ({"edge_u": ["0 cm", "0 cm", "0 cm"]}, "'edge_u' has no length"),
        ({"edge_v": ["0 cm", "0 cm", "0 cm"]}, "'edge_v' has no length"),
    ],
)
def test_edges_that_span_no_rectangle_are_refused(edges: dict[str, list[str]], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        part({**PLATE, **edges})
