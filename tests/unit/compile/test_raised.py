"""Receivers over surfaces that are not flat have the area, the centre and the spread of what is below them."""

import numpy as np
import pytest

from sim.compile.raised import MOST_LEAVES, leaves, raised_over
from sim.geometry.mesh import Mesh
from sim.geometry.patches import patches
from sim.geometry.solids import sphere
from sim.materials.surface import Surface

RADIUS, SIZE = 0.05, 0.05


@pytest.fixture(scope="module")
def ball() -> Surface:
    mesh = sphere(np.zeros(3), RADIUS, 5)
    return Surface(name="ball", mesh=mesh, law="black", patches=patches(mesh, SIZE), closed=True)


def sheet(count: int = 4) -> Surface:
    """A flat sheet of a tenth of a metre by two, all in one patch."""
    u, v = np.meshgrid(np.linspace(0.0, 0.1, count + 1), np.linspace(0.0, 0.2, count + 1), indexing="ij")
    vertices = np.stack([u.ravel(), v.ravel(), np.full(u.size, 0.3)], axis=1)
    first = (np.arange(count)[:, None] * (count + 1) + np.arange(count)).ravel()
    halves = [
        np.stack([first, first + count + 1, first + 1], 1),
        np.stack([first + count + 2, first + 1, first + count + 1], 1),
    ]
    return Surface(name="sheet", mesh=Mesh(vertices, np.concatenate(halves)), law="black")


def test_a_flat_sheet_is_read_all_over() -> None:
    over = raised_over(sheet(), 0.02)
    assert over.area == pytest.approx([0.02])
    assert over.normal[0] == pytest.approx([0.0, 0.0, 1.0])
    corners = over.origin[0] + np.array([[0, 0], [1, 0], [0, 1], [1, 1]]) @ np.stack([over.edge_u[0], over.edge_v[0]])
    assert corners.min(axis=0) == pytest.approx([0.0, 0.0, 0.32])
    assert corners.max(axis=0) == pytest.approx([0.1, 0.2, 0.32])


@pytest.mark.parametrize("height", [0.0, 0.02])
def test_moments_over_a_ball_are_those_of_half_a_sphere(ball: Surface, height: float) -> None:
    """Means over half a sphere of radius R: z is R / 2, and x squared is R squared over three (Archimedes)."""
    over = raised_over(ball, height)
    radius, share = RADIUS + height, over.area / over.area.sum()
    assert over.area.sum() == pytest.approx(2.0 * np.pi * RADIUS**2, rel=1e-2)
    centre = over.origin + 0.5 * (over.edge_u + over.edge_v)
    assert share @ centre == pytest.approx([0.0, 0.0, 0.5 * radius], abs=5e-3 * radius)
    squares = centre**2 + (over.edge_u**2 + over.edge_v**2) / 12.0
    assert share @ squares == pytest.approx(np.full(3, radius**2 / 3.0), rel=1e-2)


def test_receivers_look_as_the_ball_does_there(ball: Surface) -> None:
    over = raised_over(ball, 0.02)
    centre = over.origin + 0.5 * (over.edge_u + over.edge_v)
    outwards = centre / np.linalg.norm(centre, axis=1)[:, None]
    assert np.einsum("nk,nk->n", outwards, over.normal).min() > 0.995
    assert np.linalg.norm(over.normal, axis=1) == pytest.approx(1.0)
    assert np.abs(np.einsum("nk,nk->n", over.edge_u, over.normal)).max() < 1e-12


def test_no_rectangle_at_no_height_lies_in_its_leaf(ball: Surface) -> None:
    over = raised_over(ball, 0.0)
    low = np.einsum("nk,nk->n", over.origin, over.normal)
    upper = ball.mesh.area_vectors[:, 2] > 1e-6 * ball.mesh.areas
    mesh = Mesh(ball.mesh.vertices, ball.mesh.faces[upper])
    assert ball.patches is not None
    leaf = leaves(mesh, ball.patches[upper])
    assert (np.einsum("mck,mk->mc", mesh.corners, over.normal[leaf]) < low[leaf][:, None]).all()


def test_leaves_are_parts_of_patches_and_not_too_many() -> None:
    rng = np.random.default_rng(1)
    vertices = np.concatenate([rng.random((3000, 2)), 0.3 * rng.random((3000, 1))], axis=1)
    mesh = Mesh(vertices, np.arange(3000).reshape(-1, 3))
    patch = np.arange(1000) // 100
    leaf = leaves(mesh, patch)
    assert leaf.max() + 1 == MOST_LEAVES
    assert np.bincount(leaf).min() > 0
    assert len(np.unique(np.stack([leaf, patch], axis=1), axis=0)) == MOST_LEAVES


def test_what_stands_upright_is_not_below() -> None:
    wall = Mesh(np.array([[0.0, 0, 0], [0.1, 0, 0], [0.1, 1e-12, 0.1]]), np.array([[0, 2, 1], [0, 1, 2]]))
    assert len(raised_over(Surface(name="wall", mesh=wall, law="black"), 0.02).area) == 0
