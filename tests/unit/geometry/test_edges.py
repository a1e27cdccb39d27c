"""Edges as numbers: the same edges, in the same order, as pairs that are sorted."""

import numpy as np

from sim.geometry.closed import edge_uses, merged
from sim.geometry.edges import of_keys, pair_keys, sides
from sim.geometry.mesh import Mesh
from sim.geometry.solids import sphere


def test_keys_are_in_the_order_of_sorted_pairs_and_lead_back_to_them() -> None:
    pairs = np.random.Generator(np.random.Philox(1)).integers(0, 12, (400, 2))
    keys, which = np.unique(pair_keys(pairs, 12), return_inverse=True)
    expected, place = np.unique(np.sort(pairs, axis=1), axis=0, return_inverse=True)
    assert np.array_equal(expected, of_keys(keys, 12))
    assert np.array_equal(place.reshape(-1), which)


def test_sides_follow_the_corners_of_each_triangle() -> None:
    faces = np.array([[0, 1, 2], [2, 1, 0]])
    assert [[0, 1], [1, 2], [2, 0], [2, 1], [1, 0], [0, 2]] == sides(faces).tolist()


def test_each_edge_of_a_sphere_is_used_twice_once_each_way() -> None:
    # Euler: vertices - edges + faces = 2, and 2 edges = 3 faces.
    mesh = sphere(np.zeros(3), 1.0, 2)
    uses, forward = edge_uses(mesh)
    assert len(uses) == len(mesh.vertices) + len(mesh.faces) - 2
    assert np.all(uses == 2)
    assert np.all(forward == 1)


def test_vertices_at_one_place_are_one_and_the_first_of_them_stays() -> None:
    vertices = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 0.0], [-0.0, 0.0, -0.0], [1.0, 0.0, 0.0], [0.0, 2.0, 0.0]])
    found = merged(Mesh(vertices, np.array([[0, 1, 4], [3, 2, 4]])))
    expected, place = np.unique(vertices + 0.0, axis=0, return_inverse=True)
    assert np.array_equal(expected, found.vertices)
    assert np.array_equal(place.reshape(-1)[[[0, 1, 4], [3, 2, 4]]], found.faces)
