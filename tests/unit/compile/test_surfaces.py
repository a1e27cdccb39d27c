"""The direction of a screen's first wires on every triangle of a scene."""

import numpy as np
import pytest

from sim.compile.surfaces import tangents
from sim.geometry.mesh import Mesh
from sim.materials.surface import Surface
from sim.transport.arrays import F64
from sim.transport.triangles import SURFACE, woven_row
from tests.support.setups import setup_of

TUBE = """
[[lamps]]
name = "tube"
kind = "tube"
from = ["-20 cm", "0 cm", "30 cm"]
to = ["20 cm", "0 cm", "30 cm"]
radius = "1 cm"
spectrum = "uva-phosphor-368"
output = { radiant = "1 W" }
"""
BALL = """
title = "A ball of mesh under a tube"
[[parts]]
name = "ball"
kind = "sphere"
centre = ["0 cm", "0 cm", "0 cm"]
radius = "10 cm"
law = "hardware-cloth-4-mesh"
[[parts]]
name = "upright"
kind = "plate"
corner = ["40 cm", "0 cm", "0 cm"]
edge_u = ["0 cm", "0 cm", "20 cm"]
edge_v = ["0 cm", "20 cm", "0 cm"]
law = "insect-screen-18x16-mesh"
"""


def woven_surface(row: int) -> tuple[F64, F64]:
    """Return wires and normals of the triangles of a surface of a ball of mesh and an upright plate of another."""
    surfaces = setup_of(BALL + TUBE).compiled.model.surfaces
    triangles = np.flatnonzero(surfaces.names[:, SURFACE] == row)
    wires = surfaces.tangent[[woven_row(surfaces, triangle) for triangle in triangles]]
    return wires, surfaces.normal[triangles, :3]


@pytest.mark.parametrize("row", [0, 1])
def test_wires_are_unit_vectors_in_the_plane_of_their_triangle(row: int) -> None:
    along, normal = woven_surface(row)
    assert along.shape == normal.shape
    np.testing.assert_allclose(np.linalg.norm(along, axis=1), 1.0, atol=1e-12)
    np.testing.assert_allclose((along * normal).sum(axis=1), 0.0, atol=1e-12)


def test_wires_of_a_curved_surface_run_along_x_as_far_as_it_lets_them() -> None:
    """No other direction in the plane of a triangle is nearer to x."""
    along, normal = woven_surface(0)
    np.testing.assert_allclose(along[:, 0], np.sqrt(1.0 - normal[:, 0] ** 2), atol=1e-9)


def test_wires_of_a_plate_run_along_its_first_edge() -> None:
    along, _ = woven_surface(1)
    assert len(along)
    np.testing.assert_allclose(along, np.tile([0.0, 0.0, 1.0], (len(along), 1)), atol=1e-12)


@pytest.mark.parametrize("towards", [[1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], [1.0, 1e-9, 0.0]])
def test_where_the_wires_would_stand_upright_they_still_lie_in_the_surface(towards: list[float]) -> None:
    normal = np.array(towards)
    side = np.cross(normal, [0.0, 0.0, 1.0])
    mesh = Mesh(np.stack([np.zeros(3), side, np.cross(normal, side)]), np.array([[0, 1, 2]]))
    (along,) = tangents(Surface("facet", mesh, "black"))
    assert abs(float(along @ mesh.normals[0])) < 1e-12
    assert float(np.linalg.norm(along)) == pytest.approx(1.0, abs=1e-12)


REFLECTOR = """
title = "A reflector"
[[reflectors]]
name = "sheet"
profile = "flat"
lamp = "tube"
width = "9 cm"
above = "2 cm"
law = "{law}"
"""


@pytest.mark.parametrize(("law", "alike"), [("glass-clear-4mm", True), ("leaf", True), ("polished-aluminium", False)])
def test_what_lets_light_through_does_so_both_ways(law: str, alike: bool) -> None:
    setup = setup_of(REFLECTOR.format(law=law) + TUBE)
    front, back = setup.compiled.model.surfaces.law[setup.compiled.surface_names.index("sheet")]
    assert (front == back) == alike
