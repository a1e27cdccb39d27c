import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sim.geometry.mesh import FloatArray, Mesh, joined
from sim.geometry.rectangles import box, rectangle
from sim.geometry.solids import sphere
from sim.scene.crossing import bodies_cross, is_inside, lies_within


def cube(x: float, y: float = 0.0, z: float = 0.0, edge: float = 1.0) -> Mesh:
    return joined(list(box(np.array([x, y, z]), np.full(3, edge)).values()))


@pytest.mark.parametrize(
    ("other", "cross"),
    [
        (cube(0.5, 0.3, 0.2), True),
        (cube(0.99, 0.1, 0.1), True),
        (cube(2.0), False),
        (cube(1.0), False),  # they share a face
        (cube(1.0, 1.0, 1.0), False),  # they share a corner
        (cube(0.25, 0.25, 0.25, 0.5), False),  # one in the other
        (cube(-1.0, -1.0, -1.0, 3.0), False),
        (cube(-0.5, 0.25, 0.25, 0.5), False),  # ends on the face
        (cube(-0.5, 0.25, 0.25, 0.6), True),
        (cube(0.25, 0.25, -0.5, 0.6), True),
    ],
)
def test_cubes(other: Mesh, cross: bool) -> None:
    assert bodies_cross(cube(0.0), other) is cross
    assert bodies_cross(other, cube(0.0)) is cross


def test_a_sheet_through_a_body_crosses_it() -> None:
    sheet = rectangle(np.array([-1.0, -1.0, 0.5]), np.array([3.0, 0.0, 0.0]), np.array([0.0, 3.0, 0.0]))
    assert bodies_cross(cube(0.0), sheet)
    assert bodies_cross(sheet, cube(0.0))
    assert not bodies_cross(cube(0.0), Mesh(sheet.vertices + np.array([0.0, 0.0, 0.6]), sheet.faces))


@given(st.floats(0.0, 3.0), st.tuples(*[st.floats(-1.0, 1.0)] * 3))
def test_spheres_cross_where_their_distance_lies_between_difference_and_sum(distance: float, way: FloatArray) -> None:
    direction = np.array(way)
    norm = float(np.linalg.norm(direction))
    big, small = sphere(np.zeros(3), 1.0), sphere(np.zeros(3), 0.4)
    shift = distance * (direction / norm if norm > 1e-3 else np.array([1.0, 0.0, 0.0]))
    small = Mesh(small.vertices + shift, small.faces)
    # The facets of the larger sphere lie up to a hundredth off it.
    if min(abs(distance - 0.6), abs(distance - 1.4)) > 0.03:
        assert bodies_cross(big, small) is (0.6 < distance < 1.4)
        if not bodies_cross(big, small):
            assert lies_within(small, big) is (distance < 0.6)


def test_inside_and_outside_whichever_way_the_fronts_look() -> None:
    body = cube(0.0)
    for mesh in (body, body.flipped()):
        assert is_inside(np.array([0.5, 0.2, 0.9]), mesh)
        assert not is_inside(np.array([0.5, 0.2, 1.1]), mesh)
    assert lies_within(cube(0.25, 0.25, 0.25, 0.5), body)
    assert not lies_within(cube(2.0), body)
    assert not lies_within(cube(1.0), body)  # they share a face
    assert lies_within(body, body)
    assert not lies_within(body, cube(0.25, 0.25, 0.25, 0.5))
